"""Planning on the stock store: what it offers, and the plan's taking of it."""

from __future__ import annotations

import getpass
import os
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Final

from panewright.cli.output import err
from panewright.io.held_plan import HeldPlan
from panewright.io.out_folder import cut_refusal
from panewright.io.problems import Problems, shown
from panewright.io.record_file import Record
from panewright.io.store.address import Address, address_of
from panewright.io.store.commit import commit_plan
from panewright.io.store.engine import open_store
from panewright.io.store.errors import NotTaken, StoreError
from panewright.io.store.ledger import Because
from panewright.io.store.offering import Offered, offered
from panewright.io.store.plan_lists import cut_sheets
from panewright.io.store.taken import Taken, taken_of
from panewright.nesting.happened import Happened
from panewright.nesting.kept import line_ids
from panewright.nesting.plan import Plan
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece
from panewright.nesting.text import tr

WHO: Final = "PANEWRIGHT_WHO"
MOST_WHO: Final = 80
AFTER: Final = "after"
"""Key of a sheet in the plan file: plan and sheet that leave the offcut which it is cut from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FromStore:
    """How a plan uses the store.

    Parameters
    ----------
    address
        Where it is.
    expected
        Offcuts that other plans will leave count too.
    commit
        Reserve what the plan uses.
    who
        Who does it.
    """

    address: Address
    expected: bool = False
    commit: bool = False
    who: str = ""


def from_store(text: str, *, expected: bool, commit: bool, who: str | None) -> FromStore:
    """The wish of a command line; raises `StoreError` for no address."""
    return FromStore(address=address_of(text), expected=expected, commit=commit, who=who or user())


def user() -> str:
    """Who works here: as the environment says, else the user of the system."""
    given = os.environ.get(WHO, "").strip()
    try:
        name = given or getpass.getuser()
    except (OSError, KeyError, ImportError):
        name = ""
    return "".join(c for c in name if c.isprintable())[:MOST_WHO]


def now() -> datetime:
    """The time, with the zone of this machine."""
    return datetime.now().astimezone()


def read_offer(
    source: FromStore, shop: Shop, earlier: Plan | None, start_day: date | None, problems: Problems
) -> Offered:
    """What the planner may take from the store; nothing, with a problem, where it cannot be read.

    Parameters
    ----------
    source
        The store.
    shop
        Sizes to buy, trims, worth of offcuts.
    earlier
        The plan that the new one stands in for, or None: its sheets count as free.
    start_day
        The first cutting day; the age of offcuts counts from it, else from today.
    problems
        Collects what is wrong.
    """
    line = () if earlier is None else line_ids(earlier)
    try:
        with open_store(source.address) as store, store.reading() as connection:
            found = offered(
                connection,
                shop,
                day=start_day or now().date(),
                line=line,
                expected=source.expected,
                by=start_day,
            )
        if found.unpriced:
            problems.note(
                source.address,
                tr("no price is known of {glasses}; it counts as 1 a m2", glasses=", ".join(found.unpriced)),
                tr("give it in the shop file, or with `panewright stock adjust`"),
            )
        return found
    except StoreError as error:
        problems.add(error.where, error.reason, error.remedy)
        return Offered([], {})


def check_not_cut(source: FromStore | None, folder: Path) -> None:
    """Refuse an out folder of which the store knows that sheets are cut; raises `OutFolderRefused`."""
    if source is None or not folder.is_dir():
        return
    held = HeldPlan.look(folder).plan_id
    if held is None:
        return
    with open_store(source.address) as store, store.reading() as connection:
        count = cut_sheets(connection, held)
    if count:
        raise cut_refusal(folder, held, count)


def with_order(plan: Plan, expected: dict[str, tuple[str, int]]) -> Plan:
    """The plan, which says of each sheet from an expected offcut after which sheet it is cut."""
    mine = {x.number: expected[x.stock] for x in plan.layouts if x.is_offcut and x.stock in expected}
    if not mine:
        return plan
    beside = plan.extra.get("sheets")
    sheets = {str(k): dict(v) for k, v in beside.items()} if isinstance(beside, dict) else {}
    for number, (maker, sheet) in mine.items():
        sheets.setdefault(str(number), {})[AFTER] = f"{maker}.{sheet}"
    return replace(plan, extra={**plan.extra, "sheets": sheets})


@dataclass(frozen=True, slots=True)
class Remade:
    """What the commit of a remake needs besides: the plan before, what was told and recorded, pieces on the table."""

    earlier: Plan
    told: Happened
    on_table: Sequence[StockPiece] = ()
    records: Sequence[Record] = ()


@contextmanager
def taking(source: FromStore | None) -> Iterator[Taking]:
    """A place for the plan to take its glass in, which is kept only where the block ends well.

    The store is asked late and let go last: the files of the plan are in place before the transaction ends,
    so that no glass is reserved for a plan that nobody has.
    """
    with ExitStack() as stack:
        yield Taking(source, stack)


class Taking:
    """See `taking`."""

    def __init__(self, source: FromStore | None, stack: ExitStack) -> None:
        self._source, self._stack = source, stack

    def take(self, plan: Plan, remade: Remade | None = None) -> Taken | None:
        """Reserve what the plan uses, where that is wished; raises `NotTaken`, `NotRecorded` and `StoreError`.

        Of a remake, what was told of the table is set down with it, and pieces on the table come in first.
        """
        source = self._source
        if source is None or not source.commit:
            return None
        store = self._stack.enter_context(open_store(source.address))
        connection = self._stack.enter_context(store.writing())
        because = Because(at=now(), who=source.who)
        if remade is None:
            return commit_plan(connection, plan, because)
        from panewright.io.remake_store import pieces_to_store
        from panewright.io.remake_telling import tell_after, tell_before

        pieces_to_store(connection, remade.on_table, because, because.at.date())
        tell_before(connection, remade.earlier, remade.told, because, remade.records)
        taken = commit_plan(connection, plan, because)
        tell_after(connection, plan, remade.told, because)
        now_so = taken_of(connection, plan.id)
        return replace(now_so, stranded=taken.stranded, again=taken.again)


def tell_not_taken(error: NotTaken) -> None:
    """Say why the plan could not take its glass, and what to do."""
    for reason in error.reasons:
        err(tr("not free any more: {reason}", reason=shown(reason, 300)))
    err(
        tr(
            "plan {plan} was not written and nothing is reserved: somebody took glass of it meanwhile. "
            "Run the command again; it plans on what is free now.",
            plan=error.plan,
        )
    )


def taken_lines(taken: Taken | None, source: FromStore | None, *, later: bool = True) -> list[str]:
    """What a plan has taken from the store, line by line; `later` where a plan file can take it after the fact."""
    if source is None:
        return []
    if taken is None and not later:
        return [tr("Nothing is reserved, and no piece from the table is in the store: `--commit` does both.")]
    if taken is None:
        return [tr("Nothing is reserved: `--commit` does that, or `panewright stock reserve` later.")]
    out = []
    if taken.again:
        out.append(tr("Plan {plan} has its glass already; nothing was changed.", plan=taken.plan))
    if taken.reserved:
        pieces = ", ".join(
            tr("sheet {number} from {name}", number=n, name=shown(name, 60))
            for n, name in sorted(taken.reserved.items())
        )
        out.append(tr("Reserved: {pieces}.", pieces=pieces))
    if taken.to_buy:
        numbers = ", ".join(map(str, taken.to_buy))
        out.append(tr("No glass yet, to be bought: sheets {numbers}.", numbers=numbers))
    for number, (maker, sheet) in sorted(taken.waits_for.items()):
        out.append(
            tr(
                "Sheet {number} is cut from an offcut of sheet {sheet} of plan {maker}, and comes after it.",
                number=number,
                sheet=sheet,
                maker=maker,
            )
        )
    for plan, number in taken.stranded:
        out.append(
            tr(
                "Sheet {number} of plan {plan} has lost its offcut: panewright remake {plan}",
                number=number,
                plan=plan,
            )
        )
    return out


def taken_json(taken: Taken | None) -> dict[str, object]:
    """The same for programs."""
    if taken is None:
        return {"committed": False}
    return {
        "committed": True,
        "again": taken.again,
        "reserved": {str(n): name for n, name in sorted(taken.reserved.items())},
        "to_buy": list(taken.to_buy),
        "after": {str(n): f"{plan}.{sheet}" for n, (plan, sheet) in sorted(taken.waits_for.items())},
        "without_glass": [f"{plan}.{number}" for plan, number in taken.stranded],
    }
