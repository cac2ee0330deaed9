"""What the commands of `panewright stock` share: the store and the shop that they work with, who, why, JSON."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import date, datetime
from functools import update_wrapper
from typing import TYPE_CHECKING, Any

import click

from panewright.cli import options
from panewright.cli.failures import Exit, Failure, reason_of
from panewright.cli.output import err, out_json
from panewright.nesting.errors import NestingError
from panewright.nesting.text import tr, tr_count

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from sqlalchemy import Connection

    from panewright.io.problems import Problems
    from panewright.io.store.engine import Store
    from panewright.io.store.ledger import Because
    from panewright.io.store.moving import Changed
    from panewright.nesting.shop import Shop


def a_word(longest: int) -> Callable[[click.Context, click.Parameter, Any], Any]:
    """A callback that takes printable text of one line, or several such texts."""

    def read(ctx: click.Context, parameter: click.Parameter, value: Any) -> Any:
        from panewright.io.lengths import BadValue
        from panewright.io.store.words import checked_word

        if value is None:
            return None
        try:
            if isinstance(value, tuple):
                return tuple(checked_word(text, longest) for text in value)
            return checked_word(value, longest)
        except BadValue as error:
            raise click.BadParameter(str(error), ctx, parameter) from None

    return read


store_option = click.option(
    "--stock",
    "stock",
    metavar="FILE|URL",
    help="Stock store; default: environment PANEWRIGHT_STOCK, else stock.db in the working folder.",
)
who_option = options.who_option
why_option = click.option("--why", "why", default="", callback=a_word(400), metavar="TEXT", help="Why.")
why_needed = click.option(
    "--why", "why", required=True, callback=a_word(400), metavar="TEXT", help="Why; it stays in the history."
)
day_option = click.option(
    "--day",
    "day",
    callback=options.read_day,
    metavar="DAY",
    help="Day on which the age of offcuts is counted; default: today.",
)
glass_option = click.option(
    "--glass", "glass", callback=a_word(60), metavar="GLASS", help="Only this glass or kind: clear-10, clear."
)
kind_option = click.option(
    "--kind", "kind", type=click.Choice(["sheet", "offcut"]), help="Only sheets, or only offcuts."
)
place_option = click.option(
    "--place",
    "place",
    callback=a_word(80),
    metavar="PLACE",
    help="Only what stands at places that begin with this.",
)


class Desk:
    """What a command works with.

    Parameters
    ----------
    ctx
        Of the command.
    stock
        Address of the store as given, or None.
    shop
        The shop file of the run.
    problems
        Of the shop file and of lists.
    as_json
        One JSON object instead of tables.
    who, why
        As given.
    now
        The moment of the call, with the zone of the system.
    """

    def __init__(
        self,
        ctx: click.Context,
        stock: str | None,
        shop: Shop,
        problems: Problems,
        *,
        as_json: bool,
        who: str | None,
        why: str,
        now: datetime,
    ) -> None:
        self.ctx, self.shop, self.problems, self.as_json = ctx, shop, problems, as_json
        self.now, self.why = now, why
        self._stock, self._who = stock, who
        self._stack = ExitStack()

    @property
    def today(self) -> date:
        """The day of the call."""
        return self.now.date()

    def store(self, *, create: bool = False) -> Store:
        """The open store; it is closed with the command."""
        from panewright.io.store.address import DEFAULT_NAME, found_address, is_store
        from panewright.io.store.engine import open_store

        where = self._stock or found_address() or DEFAULT_NAME
        if create and not is_store(where):
            raise Failure(
                tr("--stock {name} is no name of a store; give one such as stock.db", name=_shown(where)),
                Exit.USAGE,
            )
        found = self._stack.enter_context(open_store(where, create=create))
        if self._stock is None:
            err(tr("stock: {store}", store=_shown(found)))
        return found

    def because(self) -> Because:
        """When, who and why, for the movements of this call."""
        from panewright.cli.from_store import user
        from panewright.io.store.ledger import Because

        return Because(at=self.now, who=self._who or user(), why=self.why)

    def stop_at_errors(self) -> None:
        """Leave where the shop file or the lists hold errors."""
        if not self.problems:
            return
        if self.as_json:
            out_json({"exit_code": int(Exit.INPUT), **self.problems.to_json()})
        self.say_problems()
        err(tr("errors: {count}; nothing was changed", count=self.problems.error_count))
        self.ctx.exit(Exit.INPUT)

    def say_problems(self) -> None:
        """Say on stderr what was found in the shop file and the lists."""
        for line in self.problems.lines():
            err(line)

    def close(self) -> None:
        """Let the store go."""
        self._stack.close()


def at_the_store(*, changes: bool = False, why: Callable[[Any], Any] | None = None) -> Callable[[Any], Any]:
    """Give a command the options of the store, and a `Desk` as its first argument.

    Parameters
    ----------
    changes
        It changes the store: `--who` and `--why` too.
    why
        The option `--why`, where it is not the usual one.
    """

    def wrap(function: Callable[..., Any]) -> Callable[..., Any]:
        def run(
            ctx: click.Context,
            stock: str | None,
            shop_path: Path | None,
            as_json: bool,
            who: str | None = None,
            why: str = "",
            **given: Any,
        ) -> None:
            with _answered(as_json):
                desk = _desk(ctx, stock, shop_path, as_json=as_json, who=who, why=why)
                try:
                    code = function(desk, **given)
                finally:
                    desk.close()
            ctx.exit(code or Exit.DONE)

        # the options of the function are those of the command
        out: Any = update_wrapper(run, function)
        shared = [store_option, options.shop_option, options.json_option]
        if changes:
            shared = [who_option, why or why_option, *shared]
        for option in reversed(shared):
            out = option(out)
        return click.pass_context(out)

    return wrap


def _desk(
    ctx: click.Context, stock: str | None, shop_path: Path | None, *, as_json: bool, who: str | None, why: str
) -> Desk:
    from panewright.io.problems import Problems
    from panewright.nesting.units import use_style

    problems = Problems()
    shop = options.choose_shop(shop_path, problems)
    use_style(shop.length_style)
    now = datetime.now().astimezone()
    desk = Desk(ctx, stock, shop, problems, as_json=as_json, who=who, why=why, now=now)
    desk.stop_at_errors()
    desk.say_problems()
    desk.problems = Problems()
    return desk


@contextmanager
def _answered(as_json: bool) -> Iterator[None]:
    """With `--json` an error is an object too."""
    try:
        yield
    except BrokenPipeError:
        raise
    except (Failure, NestingError, OSError) as error:
        if as_json:
            reason = error.format_message() if isinstance(error, Failure) else reason_of(error)
            code = error.code if isinstance(error, Failure) else Exit.INPUT
            out_json({"exit_code": int(code), "error": reason})
        raise


def _shown(value: object) -> str:
    from panewright.io.problems import shown

    return shown(value, 100)


def say_served(served: Iterable[tuple[str, int]]) -> None:
    """Say which sheets of plans have their glass now."""
    for plan, numbers in _by_plan(served):
        err(tr("plan {plan}: sheets {numbers} have their glass now", plan=_shown(plan), numbers=numbers))


def say_changed(one: Changed, *, done: bool = True) -> Exit:
    """Say what a change of the rack means for plans, and what to do; the exit code.

    Parameters
    ----------
    one
        The change.
    done
        It is set down; else it is only looked at.
    """
    say_served(one.served if done else ())
    for plan, number, name in one.instead:
        err(
            tr(
                "plan {plan}: sheet {number} is cut from case {name} now",
                plan=_shown(plan),
                number=number,
                name=_shown(name),
            )
            if done
            else tr(
                "plan {plan}: sheet {number} would be cut from case {name}",
                plan=_shown(plan),
                number=number,
                name=_shown(name),
            )
        )
    if done:
        return say_without(one.stranded)
    for plan, numbers in _by_plan(one.stranded):
        err(
            tr_count(
                "WARNING: plan {plan}: sheet {numbers} would be without glass",
                "WARNING: plan {plan}: sheets {numbers} would be without glass",
                numbers.count(",") + 1,
                plan=_shown(plan),
                numbers=numbers,
            )
        )
    return Exit.DONE


def say_without(stranded: Iterable[tuple[str, int]]) -> Exit:
    """Say which sheets of plans are without glass now, and what to do; the exit code."""
    code = Exit.DONE
    for plan, numbers in _by_plan(stranded):
        code = Exit.LEFT_OVER
        err(
            tr_count(
                "WARNING: plan {plan}: sheet {numbers} is without glass now; plan it again: panewright remake {plan}",
                "WARNING: plan {plan}: sheets {numbers} are without glass now; plan them again: "
                "panewright remake {plan}",
                numbers.count(",") + 1,
                plan=_shown(plan),
                numbers=numbers,
            )
        )
    return code


def changed_json(one: Changed) -> dict[str, object]:
    """What a change of the rack means for plans, for programs."""
    return {
        "in_rack": one.on_hand,
        "reserved_for": sheets_json(one.served),
        "from_other_cases": [{"plan": p, "sheet": n, "case": case} for p, n, case in one.instead],
        "without_glass": sheets_json(one.stranded),
    }


def _by_plan(sheets: Iterable[tuple[str, int]]) -> list[tuple[str, str]]:
    found: dict[str, list[int]] = {}
    for plan, number in sheets:
        found.setdefault(plan, []).append(number)
    return [(plan, ", ".join(map(str, sorted(found[plan])))) for plan in sorted(found)]


def sheets_json(sheets: Iterable[tuple[str, int]]) -> list[dict[str, object]]:
    """Plan and number of sheets, for programs."""
    return [{"plan": plan, "sheet": number} for plan, number in sheets]


def known_plan(connection: Connection, name: str) -> str:
    """The id of a plan as the store has it: people type it in small letters too."""
    from panewright.io.store.plan_lists import line_of

    return name if line_of(connection, name) else name.upper()
