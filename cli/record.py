"""`panewright record`: what was cut, what broke, what was kept."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

import click

from panewright.cli import options
from panewright.cli.flaw_options import flaw_options
from panewright.cli.stock_options import store_option
from panewright.nesting.happened import AtStep
from panewright.nesting.text import tr

if TYPE_CHECKING:
    from panewright.cli.recording import Telling
    from panewright.io.record_code import Done
    from panewright.io.record_file import Event
    from panewright.nesting.plan import Plan

Decorated = TypeVar("Decorated", bound="Callable[..., Any]")
MOST_NOTE: Final = 400


def _time(ctx: click.Context, parameter: click.Parameter, value: str | None) -> datetime | None:
    from panewright.cli.recording import read_time

    return read_time(ctx, parameter, value)


def _numbers(ctx: click.Context, parameter: click.Parameter, value: str) -> tuple[int, ...]:
    """Sheet numbers such as ``3,1-2``, in the order in which they stand."""
    from panewright.cli.sheet_numbers import numbers_in_order

    return tuple(numbers_in_order(value, ctx, parameter, tr("write sheet numbers as in 3,1-2")))


def _note(ctx: click.Context, parameter: click.Parameter, value: str) -> str:
    if len(value) > MOST_NOTE:
        raise click.BadParameter(tr("longer than {most} characters", most=MOST_NOTE), ctx, parameter)
    return value


def _told(*, note: bool = True) -> Callable[[Decorated], Decorated]:
    """The options of every command here."""

    def add(command: Decorated) -> Decorated:
        more = [
            click.option(
                "--stock",
                "stock",
                metavar="FILE|URL",
                help="The stock store.  [default: what PANEWRIGHT_STOCK names, else stock.db in the working folder]",
            ),
            options.who_option,
            click.option(
                "--on",
                "at",
                callback=_time,
                metavar="TIME",
                help="When it happened, as in 2027-03-08T09:41, 2027-03-08 or 09:41.  [default: now]",
            ),
        ]
        if note:
            more.append(
                click.option(
                    "--note", default="", callback=_note, metavar="TEXT", help="Whatever is worth knowing."
                )
            )
        for option in reversed([*more, options.json_option]):
            command = option(command)
        return command

    return add


_plan_option = click.option(
    "--plan", "plan", metavar="PLAN", help="Id of the plan, its folder or file; needed where several have it."
)


def _telling(given: dict[str, Any]) -> Telling:
    from panewright.cli.recording import telling

    return telling(given["stock"], given["who"], given.get("note", ""), given["at"], given["as_json"])


@click.group("record")
def command() -> None:
    """Tell what really happened: sheets cut, panels broken, offcuts kept or thrown, sheets with a flaw.

    The same told twice changes nothing. A plan is named by its id in the stock store, or by its folder or file;
    without a store the record is kept in the folder of the plan.

    \b
    Example:
      panewright record cut Q7K2-9DMX 1-3
      panewright record broken K-204/front/1 --at edging
      panewright record read table-2.record.json
    """


@command.command("cut", short_help="Sheets were cut as planned.")
@click.argument("plan", metavar="PLAN")
@click.argument("numbers", metavar="NUMBERS", callback=_numbers)
@click.option(
    "--thrown",
    "thrown",
    multiple=True,
    metavar="OFFCUT",
    help="Offcut that was not kept; may be given again.",
)
@click.option("--offcuts-later", "later", is_flag=True, help="Say nothing of the other offcuts yet.")
@click.option("--case", "case", metavar="CASE", help="Case that they were cut from, where it is another one.")
@_told()
@click.pass_context
def cut(
    ctx: click.Context,
    /,
    plan: str,
    numbers: tuple[int, ...],
    thrown: tuple[str, ...],
    later: bool,
    case: str | None,
    **given: Any,
) -> None:
    """Sheets NUMBERS of PLAN were cut as planned, as in 3,1-2; their planned offcuts are kept.

    \b
    Example:
      panewright record cut Q7K2-9DMX 1-3 --thrown Q7K2-9DMX.2.a
    """
    from panewright.cli.recording import place_of, record_events
    from panewright.io.record_making import Offcuts, cut_events

    told = _telling(given)
    what = Offcuts(thrown=thrown, later=later)
    ctx.exit(
        record_events(
            told,
            place_of(plan),
            lambda stands, done: cut_events(stands, done, numbers, told.teller, offcuts=what, case=case),
        )
    )


@command.command("broken", short_help="Panels broke.")
@click.argument("panels", metavar="PANEL...", nargs=-1, required=True)
@click.option(
    "--at",
    "step",
    required=True,
    type=click.Choice([step.value for step in AtStep]),
    help="The work at which they broke.",
)
@_plan_option
@_told()
@click.pass_context
def broken(ctx: click.Context, /, panels: tuple[str, ...], step: str, plan: str | None, **given: Any) -> None:
    """Each PANEL, by its id on the label, broke at a work.

    \b
    Example:
      panewright record broken K-204/front/1 --at edging
    """
    from panewright.cli.record_finding import place_of_panel
    from panewright.cli.recording import record_events
    from panewright.io.record_making import broken_events

    told = _telling(given)
    place = place_of_panel(told, panels[0], plan)
    ctx.exit(
        record_events(
            told, place, lambda stands, done: broken_events(stands, done, panels, AtStep(step), told.teller)
        )
    )


@command.command("kept", short_help="Offcuts were kept.")
@click.argument("offcuts", metavar="OFFCUT...", nargs=-1, required=True)
@click.option("--size", "size", metavar="WxH", help="Measured size, where it differs.")
@click.option("--place", "place", default="", metavar="PLACE", help="Where it was put.")
@_plan_option
@_told()
@click.pass_context
def kept(
    ctx: click.Context,
    /,
    offcuts: tuple[str, ...],
    size: str | None,
    place: str,
    plan: str | None,
    **given: Any,
) -> None:
    """Each OFFCUT, by its number, was kept.

    \b
    Example:
      panewright record kept Q7K2-9DMX.1.a --size 598x300 --place R2
    """
    from panewright.cli.record_finding import place_of_offcut
    from panewright.cli.record_words import size_of
    from panewright.cli.recording import record_events
    from panewright.io.record_making import Measured, offcut_events

    if size is not None and len(offcuts) > 1:
        raise click.UsageError(tr("give --size for one offcut at a time"))
    told = _telling(given)

    def make(stands: Plan, done: Done) -> Sequence[Event]:
        said = Measured(size=size_of(size, stands.length_unit), place=place)
        return offcut_events(stands, done, offcuts, told.teller, kept=said)

    ctx.exit(record_events(told, place_of_offcut(told, offcuts[0], plan), make))


@command.command("thrown", short_help="Offcuts were thrown away.")
@click.argument("offcuts", metavar="OFFCUT...", nargs=-1, required=True)
@_plan_option
@_told()
@click.pass_context
def thrown(ctx: click.Context, /, offcuts: tuple[str, ...], plan: str | None, **given: Any) -> None:
    """Each OFFCUT, by its number, was not made or was thrown away.

    \b
    Example:
      panewright record thrown Q7K2-9DMX.1.a
    """
    from panewright.cli.record_finding import place_of_offcut
    from panewright.cli.recording import record_events
    from panewright.io.record_making import offcut_events

    told = _telling(given)
    ctx.exit(
        record_events(
            told,
            place_of_offcut(told, offcuts[0], plan),
            lambda stands, done: offcut_events(stands, done, offcuts, told.teller, kept=None),
        )
    )


@command.command("flawed", short_help="A sheet has a flaw or is short.")
@click.argument("plan", metavar="PLAN")
@click.argument("number", metavar="SHEET", type=click.IntRange(1, 10**6))
@click.option("--size", "size", metavar="WxH", help="Its real size, where it is short.")
@flaw_options
@click.option("--begun", "begun", is_flag=True, help="It is in the cutting already and stays on the table.")
@_told()
@click.pass_context
def flawed(
    ctx: click.Context,
    /,
    plan: str,
    number: int,
    size: str | None,
    flaws: tuple[str, ...],
    kinds: tuple[str, ...],
    drawing: Path | None,
    begun: bool,
    **given: Any,
) -> None:
    """SHEET of PLAN, not or only half cut, has a flaw or is short.

    Where it is said where flaws lie, the sheet stays in the plan, and `panewright remake` plans what is not cut yet
    around them. Else the plan has lost it, and it is a piece of its own in the rack.

    \b
    Example:
      panewright record flawed Q7K2-9DMX 4 --flaw 900,400,30,20 --kind seed
      panewright record flawed Q7K2-9DMX 4 --drawing sheet-4.dxf --begun
    """
    from panewright.cli.record_flaws import flawed_events
    from panewright.cli.record_words import size_of
    from panewright.cli.recording import place_of, record_events

    if begun and (size is not None or not (flaws or drawing)):
        raise click.UsageError(tr("of a sheet in the cutting say where the flaw lies: --flaw or --drawing"))
    told = _telling(given)

    def make(stands: Plan, _: Done) -> Sequence[Event]:
        said = size_of(size, stands.length_unit)
        return flawed_events(
            stands, number, told, size=said, flaws=flaws, kinds=kinds, drawing=drawing, begun=begun
        )

    ctx.exit(record_events(told, place_of(plan), make))


@command.command("undo", short_help="Something did not happen after all.")
@click.argument("event", metavar="EVENT")
@_plan_option
@_told()
@click.pass_context
def undo(ctx: click.Context, /, event: str, plan: str | None, **given: Any) -> None:
    """EVENT, by its id or the beginning of it, did not happen after all; that may be undone as well.

    \b
    Example:
      panewright record undo 7f0c2a
    """
    from panewright.cli.record_finding import event_to_undo
    from panewright.cli.recording import record_events
    from panewright.io.record_making import undo_event

    told = _telling(given)
    place, found = event_to_undo(told, event, plan)
    ctx.exit(record_events(told, place, lambda *_: [undo_event(found, told.teller)]))


@command.command("list", short_help="What is recorded of a plan.")
@click.argument("plan", metavar="PLAN")
@store_option
@options.json_option
@click.pass_context
def list_(ctx: click.Context, plan: str, stock: str | None, as_json: bool) -> None:
    """Everything that is recorded of PLAN, with the ids of the events.

    \b
    Example:
      panewright record list Q7K2-9DMX
    """
    from panewright.cli.record_finding import tell_events
    from panewright.cli.recording import telling

    tell_events(telling(stock, None, "", None, as_json), plan)


@command.command("read", short_help="Read record files, as the page for the table saves them.")
@click.argument("files", metavar="FILE...", nargs=-1, required=True, type=options.file_path)
@_plan_option
@_told(note=False)
@click.pass_context
def read(ctx: click.Context, /, files: tuple[Path, ...], plan: str | None, **given: Any) -> None:
    """Read record FILEs, or all in a folder: all of them, or on any error none.

    \b
    Example:
      panewright record read table-1.record.json table-2.record.json
    """
    from panewright.cli.record_reading import read_files

    ctx.exit(read_files(_telling(given), files, plan))


@command.command("code", short_help="Take the short code of the page for the table.")
@click.argument("words", metavar="CODE", nargs=-1, required=True)
@_plan_option
@_told(note=False)
@click.pass_context
def code(ctx: click.Context, /, words: tuple[str, ...], plan: str | None, **given: Any) -> None:
    """Take CODE, typed or scanned from the page for the table: what is cut, broken, kept and thrown.

    \b
    Example:
      panewright record code Q7K2-9DMX-1J8G-...
    """
    from panewright.cli.record_reading import read_code

    ctx.exit(read_code(_telling(given), " ".join(words), plan))
