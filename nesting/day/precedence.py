"""Sheets that are cut from an offcut which another sheet leaves: that one comes first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from ..errors import NestingError
from ..kept import line_ids
from ..plan import Plan
from ..text import tr
from .sheets import DaySheet, SheetKey

AFTER: Final = "after"
"""Key of a sheet in the plan file: ``PLAN.SHEET``, which leaves the offcut that it is cut from."""


class OffcutsInARing(NestingError, ValueError):
    """Sheets of which each is to be cut from an offcut of the next."""

    def __init__(self, sheets: Sequence[SheetKey]) -> None:
        self.sheets = tuple(sheets)
        super().__init__(self.sheets)

    def __str__(self) -> str:
        return tr(
            "the sheets {sheets} wait for offcuts of each other, so that none of them can be cut; "
            "plan one of them again without --expected",
            sheets=", ".join(f"{plan[:20]}.{number}" for plan, number in self.sheets),
        )


def makers_told(plan: Plan) -> dict[int, SheetKey]:
    """Number of a sheet -> plan and sheet that leave the offcut which it is cut from, as the plan file says."""
    beside = plan.extra.get("sheets")
    out = {}
    for layout in plan.layouts:
        said = beside.get(str(layout.number)) if isinstance(beside, Mapping) else None
        text = said.get(AFTER) if isinstance(said, Mapping) else None
        maker, dot, number = text.rpartition(".") if isinstance(text, str) else ("", "", "")
        if dot and number.isascii() and number.isdecimal() and len(number) <= 6:
            out[layout.number] = (maker, int(number))
    return out


def makers_of(
    plans: Sequence[Plan], known: Mapping[str, Mapping[int, SheetKey]] | None = None
) -> dict[SheetKey, SheetKey]:
    """Sheet -> the sheet that comes first, which is named by the plan that has it now.

    Parameters
    ----------
    plans
        All plans of the day.
    known
        Plan id -> what is known of its sheets by somebody who knows better than the plan file: the store.
    """
    stands: dict[str, str] = {}
    for plan in plans:
        for name in line_ids(plan):
            stands.setdefault(name, plan.id)
    stands |= {plan.id: plan.id for plan in plans}
    out = {}
    for plan in plans:
        told = (known or {}).get(plan.id)
        for number, (maker, sheet) in (makers_told(plan) if told is None else told).items():
            out[plan.id, number] = (stands.get(maker, maker), sheet)
    return out


def refuse_rings(sheets: Sequence[DaySheet]) -> None:
    """Raise `OffcutsInARing` where sheets wait for each other."""
    after = {sheet.key: sheet.after for sheet in sheets}
    for start in after:
        seen = [start]
        while (nearest := after.get(seen[-1])) is not None:
            if nearest in seen:
                raise OffcutsInARing(seen[seen.index(nearest) :])
            seen.append(nearest)


def waiting(sheets: Sequence[DaySheet]) -> list[bool]:
    """Whether each sheet waits for one that nobody here cuts, itself or through others."""
    by_key = {sheet.key: sheet for sheet in sheets}

    def waits(sheet: DaySheet | None) -> bool:
        while sheet is not None:
            if sheet.waits_for is not None:
                return True
            sheet = None if sheet.after is None else by_key.get(sheet.after)
        return False

    return [waits(sheet) for sheet in sheets]


def makers_first(sheets: Sequence[DaySheet], order: Sequence[int]) -> list[list[int]]:
    """An order, changed as little as may be so that every sheet comes after the one that leaves its offcut.

    Parameters
    ----------
    sheets
        Without a ring.
    order
        Indexes.

    Returns
    -------
    list
        One order where none is to be changed; else two: makers brought forward to the sheets that wait for
        them, and those sheets put off until their makers come. In both, sheets that wait for one which nobody
        here cuts stand at the end.
    """
    if all(sheet.after is None and sheet.waits_for is None for sheet in sheets):
        return [list(order)]
    late = waiting(sheets)
    order = [*(i for i in order if not late[i]), *(i for i in order if late[i])]
    at = {sheets[i].key: i for i in order}
    maker = {i: at.get(key) if (key := sheets[i].after) is not None else None for i in order}
    place = {i: k for k, i in enumerate(order)}
    if all(of is None or place[of] < place[i] for i, of in maker.items()):
        return [order]
    return [_forward(order, maker), _back(order, maker)]


def _forward(order: Sequence[int], maker: Mapping[int, int | None]) -> list[int]:
    out: dict[int, None] = {}
    for i in order:
        chain = [i]
        while (of := maker[chain[-1]]) is not None and of not in out:
            chain.append(of)
        out.update(dict.fromkeys(reversed(chain)))
    return list(out)


def _back(order: Sequence[int], maker: Mapping[int, int | None]) -> list[int]:
    out: list[int] = []
    done: set[int] = set()
    held: dict[int, list[int]] = {}
    for start in order:
        ready = [start]
        while ready:
            i = ready.pop(0)
            of = maker[i]
            if of is not None and of not in done:
                held.setdefault(of, []).append(i)
                continue
            out.append(i)
            done.add(i)
            ready = held.pop(i, []) + ready
    return out
