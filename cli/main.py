"""The command line: a table of commands that are imported only when they run."""

from __future__ import annotations

import difflib
import importlib
import signal
import sys
from collections.abc import Sequence
from typing import Any, Final, NoReturn

import click

from panewright.cli import failures, output
from panewright.cli.language import ask, language_option, spoken
from panewright.cli.translated import translated
from panewright.nesting.text import ENGLISH, tr

COMMANDS: Final = {
    "demo": ("panewright.cli.demo", "Plan the sample week of an invented shop, to see what comes out."),
    "shop": ("panewright.cli.shop", "Write a shop file, check it, or fit its times to cuts that were timed."),
    "orders": ("panewright.cli.orders", "Write an order list to fill in, or check order lists."),
    "panels": ("panewright.cli.panels", "Show the panels of tanks, with thickness check and drawings."),
    "plan": ("panewright.cli.plan", "Plan order lists on stock: layouts, cut sequence, waste, drawings."),
    "check": ("panewright.cli.check", "Replay a plan file cut by cut and check it against its rules."),
    "draw": (
        "panewright.cli.draw",
        "Draw a plan file again: DXF, SVG, cut book, labels, page for the table.",
    ),
    "day": ("panewright.cli.day", "Say what to cut on a day, where it waits, and what is late."),
    "stock": (
        "panewright.cli.stock",
        "Keep the stock store: receive, list, count, move, scrap, value, history.",
    ),
    "record": ("panewright.cli.record", "Tell what was cut, what broke, and what was kept."),
    "remake": (
        "panewright.cli.remake",
        "Plan again what broke, was flawed, cancelled or ordered besides.",
    ),
    "waste": (
        "panewright.cli.waste",
        "Tell what glass was wasted in a period, what no plan avoids, and what orders cost.",
    ),
    "forecast": (
        "panewright.cli.forecast",
        "Foretell the sheets that the next weeks need, and how sure that is.",
    ),
    "sizes": (
        "panewright.cli.sizes",
        "Say which sheet sizes to stock, and at which price each is worth buying.",
    ),
    "buy": ("panewright.cli.buy", "Say what to buy, when and from whom, and why."),
    "bench": ("panewright.cli.bench", "Measure the optimizer on published problems."),
}
"""Name -> (module that holds `command`, line for the list of commands)."""
ENGLISH_ONLY: Final = "bench"
"""Speaks English whatever is asked for: it is for whoever changes the program."""


class LazyGroup(click.Group):
    """A group that imports a command's module when the command is called, never for `--help`."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in the order of the table."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of this name, imported now."""
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(COMMANDS[cmd_name][0])
        command = module.command
        if not isinstance(command, click.Command):
            raise TypeError(f"{module.__name__}.command is no command")
        if cmd_name == ENGLISH_ONLY:
            ask(ENGLISH.code)
        return translated(command)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, or say which name is nearest."""
        name = args[0]
        if name not in COMMANDS and not name.startswith("-"):
            near = difflib.get_close_matches(name.lower(), COMMANDS, n=1)
            hint = tr("did you mean {name}?", name=near[0]) if near else _all_names()
            ctx.fail(tr("there is no command {name!r}; {hint}", name=name, hint=hint))
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from the table, without importing them."""
        with formatter.section(tr("Commands")):
            formatter.write_dl([(name, tr(line)) for name, (_, line) in COMMANDS.items()])

    def main(
        self, args: Sequence[str] | None = None, prog_name: str | None = None, *_: Any, **extra: Any
    ) -> NoReturn:
        """Run, and leave with the exit code of `failures.Exit`."""
        extra["standalone_mode"] = False
        state: dict[str, bool] = {}
        with spoken(sys.argv[1:] if args is None else args):
            code = failures.guard(
                # `copy` keeps the class, and with it the table of commands
                lambda: click.Group.main(
                    translated(self), args, prog_name or "panewright", obj=state, **extra
                ),
                debug=lambda: state.get("debug", False),
            )
        raise SystemExit(int(code))


def _all_names() -> str:
    return tr("the commands are {names}", names=", ".join(COMMANDS))


def _show_version(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted and not ctx.resilient_parsing:
        output.out(failures.program())
        ctx.exit()


def _set_debug(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted:
        ctx.ensure_object(dict)["debug"] = True


@click.group(
    "panewright",
    cls=LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Exit codes: 0 done; 1 done, something is unplaced or late, or a check fails; 2 wrong call; "
    "3 errors in the input, nothing written; 4 internal fault, nothing written; 130 interrupted.",
)
@click.option(
    "--debug",
    is_flag=True,
    expose_value=False,
    is_eager=True,
    callback=_set_debug,
    help="Show the trace of an error.",
)
@language_option
@click.option(
    "--version",
    is_flag=True,
    expose_value=False,
    is_eager=True,
    callback=_show_version,
    help="Show the version and leave.",
)
def app() -> None:
    """Cutting plans for custom glass tanks: from tank orders to scores, breaks and drawings.

    \b
    Example:
      panewright demo
      panewright plan monday.csv --stock rack.csv --out monday
    """


def main() -> NoReturn:
    """Entry point of the program."""
    output.prepare_streams()
    try:
        app.main()
    finally:
        # all is said and written: a Ctrl-C while the interpreter packs up changes nothing
        signal.signal(signal.SIGINT, signal.SIG_IGN)


if __name__ == "__main__":
    main()
