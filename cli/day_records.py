"""What is cut already, and what waits for an offcut, as the stock store and the records beside the plans tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from panewright.cli.failures import Exit, Failure
from panewright.cli.output import err
from panewright.io.file_names import PLAN_FILE
from panewright.io.problems import Problems, shown
from panewright.io.record_folder import records_in
from panewright.io.store.address import address_of, found_address
from panewright.io.store.engine import open_store
from panewright.io.store.happening import after_of, done_of, standing_plan
from panewright.nesting.day.sheets import SheetKey
from panewright.nesting.plan import Plan
from panewright.nesting.text import tr


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """What is recorded of the plans of a day.

    Parameters
    ----------
    done
        Sheets that are cut, in the order in which they were.
    makers
        Plan id -> sheet number -> plan and sheet that leave the offcut which it is cut from; of the plans that the
        store has.
    """

    done: tuple[SheetKey, ...] = ()
    makers: Mapping[str, Mapping[int, SheetKey]] = field(default_factory=dict)


def recorded(paths: Sequence[Path], plans: Sequence[Plan], stock: str | None) -> Recorded:
    """What the store and the records beside the plans tell, the store first.

    Parameters
    ----------
    paths, plans
        As given on the command line, and read.
    stock
        Address of the store as typed, or None: the one that is found.
    """
    known = {(plan.id, x.number) for plan in plans for x in plan.layouts}
    done: list[SheetKey] = []
    makers: dict[str, dict[int, SheetKey]] = {}
    address = stock or found_address()
    if address is not None:
        if stock is None:
            err(tr("stock: {store}", store=address_of(address)))
        names = [plan.id for plan in plans]
        with open_store(address) as store, store.reading() as connection:
            done += done_of(connection, names)
            for name in names:
                now = standing_plan(connection, name)
                if now is None:
                    continue
                makers[name] = {}
                if now.id != name:
                    err(
                        tr(
                            "WARNING: {text}",
                            text=tr(
                                "plan {plan} stands in the place of plan {old} now; cut after that one",
                                plan=now.id,
                                old=name,
                            ),
                        )
                    )
            for (name, number), maker in after_of(connection, names).items():
                makers[name][number] = maker
    for path, plan in zip(paths, plans, strict=True):
        done += [(plan.id, number) for number in _beside(path, plan)]
    return Recorded(done=tuple(key for key in dict.fromkeys(done) if key in known), makers=makers)


def _beside(path: Path, plan: Plan) -> list[int]:
    if not (path.is_dir() or path.name == PLAN_FILE):
        return []
    problems = Problems()
    found = records_in(path, plan, problems)
    if problems:
        for line in problems.lines():
            err(line)
        raise Failure(
            tr(
                "a record in {folder} cannot be read, so it is not known what has been cut; mend it or take it away",
                folder=shown(found.folder, 300),
            ),
            Exit.INPUT,
        )
    return found.cut_in_order
