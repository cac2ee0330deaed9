"""Options that several commands share, one decorator each, and the choice of the shop file."""

from __future__ import annotations

import math
import re
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

import click

from panewright.cli.output import err
from panewright.nesting.text import tr

if TYPE_CHECKING:
    from collections.abc import Callable

    from panewright.cli.from_store import FromStore
    from panewright.io.problems import Problems
    from panewright.nesting.shop import Shop

Decorated = TypeVar("Decorated", bound="Callable[..., Any]")

SHOP_NAME: Final = "shop.toml"
DEFAULT_SECONDS: Final = 20.0


MOST_NUMBERS: Final = 100_000
"""More sheet numbers than this are no list of sheets."""


def sheet_numbers(
    ctx: click.Context, parameter: click.Parameter, value: str | None
) -> tuple[int, ...] | None:
    """The numbers of a text such as ``1-4, 7``; empty for ``all``."""
    if value is None:
        return None
    if value.strip().lower() == "all":
        return ()
    numbers: set[int] = set()
    for part in value.split(","):
        first, dash, last = (word.strip() for word in part.partition("-"))
        ends = [first, last] if dash else [first]
        if not all(e.isascii() and e.isdecimal() and len(e) <= 6 and int(e) for e in ends):
            raise click.BadParameter(tr("write sheet numbers as in 1-4,7, or all"), ctx, parameter)
        low, high = int(ends[0]), int(ends[-1])
        if low > high or high - low >= MOST_NUMBERS:
            raise click.BadParameter(tr("{part} is no range of sheets", part=part.strip()), ctx, parameter)
        numbers.update(range(low, high + 1))
    return tuple(sorted(numbers))


def _a_number(ctx: click.Context, parameter: click.Parameter, value: float | None) -> float | None:
    """Refuse ``nan``, which no range holds and no clock reaches."""
    if value is not None and math.isnan(value):
        raise click.BadParameter(tr("nan is no number of seconds"), ctx, parameter)
    return value


file_path = click.Path(path_type=Path)

shop_option = click.option(
    "--shop",
    "shop_path",
    type=file_path,
    metavar="FILE",
    help=f"Shop file; default: {SHOP_NAME} in the working folder, else the built-in values.",
)
stock_option = click.option(
    "--stock",
    "stock_text",
    metavar="FILE|URL",
    help="Stock list (CSV, XLSX), or the stock store: a file such as stock.db, or a database URL. Default: the "
    "store that PANEWRIGHT_STOCK names, else stock.db in the working folder, else the sizes of the shop file.",
)
expected_option = click.option(
    "--expected",
    is_flag=True,
    help="Take offcuts too that plans in the store will leave: their sheets are cut first.",
)
commit_option = click.option(
    "--commit", is_flag=True, help="Reserve in the stock store what the plan uses, if it is still free."
)
keep_option = click.option(
    "--keep",
    "keep_path",
    type=file_path,
    metavar="PLAN",
    help="Earlier plan of which sheets stay as they are (--sheets says which).",
)
sheets_option = click.option(
    "--sheets",
    callback=sheet_numbers,
    metavar="NUMBERS",
    help="Sheets of --keep that stay, as in 1-4,7 or all; the rest is planned anew.",
)
leave_out_option = click.option(
    "--leave-out",
    "left_out",
    multiple=True,
    metavar="STOCK",
    help="Take no sheet of this stock size, or not this offcut; may be given again.",
)


def _who(ctx: click.Context, parameter: click.Parameter, value: str | None) -> str | None:
    """A name that the store can keep."""
    from panewright.cli.stock_options import a_word

    who: str | None = a_word(80)(ctx, parameter, value)
    return who


who_option = click.option(
    "--who",
    callback=_who,
    metavar="NAME",
    help="Who does it, for the store.  [default: PANEWRIGHT_WHO, else the user of the system]",
)


def _pins(
    ctx: click.Context, parameter: click.Parameter, value: tuple[str, ...]
) -> tuple[tuple[str, str], ...]:
    """Pairs of panel and stock from texts such as ``K-204/front=R-107``."""
    pairs = []
    for text in value:
        panel, _, stock = (word.strip() for word in text.rpartition("="))
        if not panel or not stock:
            raise click.BadParameter(tr("write PANEL=STOCK, as in K-204/front=R-107"), ctx, parameter)
        pairs.append((panel, stock))
    return tuple(pairs)


pin_option = click.option(
    "--pin",
    "pins",
    multiple=True,
    callback=_pins,
    metavar="PANEL=STOCK",
    help="Cut this panel from this stock only, as the column from stock says; may be given again.",
)
any_order_option = click.option(
    "--any-order",
    "any_order",
    is_flag=True,
    help="Let the cost alone decide: due days put the sheets in order, and nothing more.",
)
orders_as_racks_option = click.option(
    "--orders-as-racks",
    "orders_as_racks",
    is_flag=True,
    help="Every order without racks of its own is a rack: its panels leave the table in the order of the list.",
)
open_racks_option = click.option(
    "--open-racks",
    "open_racks",
    type=click.IntRange(1, 10_000),
    metavar="N",
    help="Begin no more than N racks at once: the next one when one of them is full.",
)
few_open_option = click.option(
    "--few-open",
    "few_open",
    type=click.Choice(["best", "1", "2", "3", "4", "5"]),
    metavar="best|1-5",
    help="Nest so that few orders are open on the racks at once and few are late: point 1 (cost alone) to "
    "5 (due day by due day) of a curve, or the best of them for at most 3 % more glass.",
)
own_blanks_option = click.option(
    "--own-blanks",
    "own_blanks",
    is_flag=True,
    help="Cut every angled panel from a blank of its own; else several share one where that saves glass.",
)


def read_day(ctx: click.Context, parameter: click.Parameter, value: str | None) -> date | None:
    """A day as in 2027-03-08."""
    if value is None:
        return None
    text = value.strip()
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is None and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        raise click.BadParameter(tr("the calendar has no such day: {day}", day=text), ctx, parameter)
    if day is None:
        raise click.BadParameter(tr("write a day as in 2027-03-08"), ctx, parameter)
    if not 2000 <= day.year < 2200:
        raise click.BadParameter(tr("give a day from 2000 to 2199"), ctx, parameter)
    return day


from_option = click.option(
    "--from",
    "start_day",
    callback=read_day,
    metavar="DAY",
    help="First cutting day: every sheet gets a day by what the shop file says the table cuts on one.",
)
fillers_option = click.option(
    "--fillers",
    "fillers_path",
    type=file_path,
    metavar="FILE",
    help="List of stock items that may be cut from waste, with the worth of a piece and the most wanted.",
)
spares_option = click.option(
    "--spares",
    is_flag=True,
    help="Cut spares from waste, of the panels for which the breakage of the shop makes them worth it.",
)
breakage_option = click.option(
    "--breakage",
    "breakage_path",
    type=file_path,
    metavar="FILE",
    help="List of counts: step, glass, size, panels done and broken; default: what the stock store has on record.",
)
replace_option = click.option(
    "--replace", is_flag=True, help="Replace another plan in the out folder; other files there are kept."
)
json_option = click.option("--json", "as_json", is_flag=True, help="One JSON object instead of tables.")
seed_option = click.option(
    "--seed",
    type=click.IntRange(0, 2**31 - 1),
    default=0,
    show_default=True,
    metavar="N",
    help="Seed of the search.",
)
sheets_alone_option = click.option(
    "--no-panel-drawings", "sheets_alone", is_flag=True, help="Draw the sheets alone, not every panel."
)
waste_option = click.option(
    "--waste", "show_waste", is_flag=True, help="Show the waste figures by sheet, glass and order too."
)
why_option = click.option(
    "--why",
    "ask_why",
    is_flag=True,
    help="Say why it costs so much: fewer sheets, waste that no plan avoids, the price of rules and panels.",
)
print_option = click.option(
    "--print",
    "printed",
    is_flag=True,
    help="Write the cut book, the labels and the page for the table too, as `panewright draw` makes them.",
)
steps_option = click.option(
    "--steps", "show_steps", is_flag=True, help="Show the cut sequence on the screen too, sheet by sheet."
)
seconds_option = click.option(
    "--seconds",
    type=click.FloatRange(0, 7 * 86_400),
    callback=_a_number,
    metavar="S",
    help="Search this long.",
)
effort_option = click.option(
    "--effort",
    type=click.IntRange(0, 10**9),
    metavar="N",
    help="Search this many steps instead: the same input gives the same plan.",
)


def out_option(default: str | None = None) -> Callable[[Decorated], Decorated]:
    """The option `--out`; required where there is no default."""
    # click 8.3 takes `default=None` for a value, and nothing would be required
    given: Any = {"required": True} if default is None else {"default": Path(default), "show_default": True}
    return click.option(
        "--out",
        "out_path",
        type=file_path,
        metavar="DIR",
        help="Folder for everything that is written.",
        **given,
    )


def one_limit(seconds: float | None, effort: int | None) -> None:
    """Refuse `--seconds` together with `--effort`."""
    if seconds is not None and effort is not None:
        raise click.UsageError(tr("give --seconds or --effort, not both"))


def keep_with_sheets(keep: Path | None, sheets: tuple[int, ...] | None) -> None:
    """Refuse `--keep` without `--sheets`, and the other way round."""
    if (keep is None) != (sheets is None):
        raise click.UsageError(tr("give --keep and --sheets together"))


def breakage_with_spares(breakage: Path | None, spares: bool) -> None:
    """Refuse `--breakage` without `--spares`."""
    if breakage is not None and not spares:
        raise click.UsageError(tr("give --breakage together with --spares"))


def choose_shop(path: Path | None, problems: Problems) -> Shop:
    """The shop of this run, and a line on stderr that says where it came from.

    Parameters
    ----------
    path
        From `--shop`; None: `shop.toml` in the working folder, else the built-in values.
    problems
        Collects what is wrong with the file.
    """
    from panewright.cli.language import of_the_shop
    from panewright.io.problems import shown
    from panewright.io.shop_file import default_shop, read_shop

    if path is None and Path(SHOP_NAME).is_file():
        path = Path(SHOP_NAME)
    if path is None:
        err(
            tr(
                "shop: the built-in values (no {name} here; `panewright shop write` makes one)",
                name=SHOP_NAME,
            )
        )
        return default_shop()
    shop = read_shop(path, problems, speak=of_the_shop)
    err(tr("shop: {path}", path=shown(path, 300)))
    return shop


def stock_source(
    text: str | None, *, expected: bool, commit: bool, who: str | None
) -> tuple[Path | None, FromStore | None]:
    """The stock list, or the stock store, of this run; none of both: the sizes of the shop file.

    A line on stderr names a store that the command line does not.
    """
    from panewright.io.store.address import found_address, is_store

    given = text
    if text is None:
        text = found_address()
    if text is not None and (given is None or is_store(text)):
        from panewright.cli.from_store import from_store

        store = from_store(text, expected=expected, commit=commit, who=who)
        if given is None:
            err(tr("stock: {store}", store=store.address))
        return None, store
    for name, wanted in (("--commit", commit), ("--expected", expected), ("--who", who is not None)):
        if wanted:
            raise click.UsageError(tr("{option} needs a stock store; give --stock stock.db", option=name))
    return None if text is None else Path(text), None
