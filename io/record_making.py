"""Events made of what somebody says: sheets cut with their offcuts, panels broken, offcuts, flaws."""

from __future__ import annotations

import secrets
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from difflib import get_close_matches
from typing import Final

from panewright.io.problems import shown
from panewright.io.record_code import Done
from panewright.io.record_file import Event, What
from panewright.nesting.errors import NestingError
from panewright.nesting.flaws import Flaw
from panewright.nesting.happened import AtStep
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.text import tr
from panewright.nesting.units import NM_PER_MM, show, show_size

CASE: Final = "case"
"""Key of an event "sheet cut": the case that it was cut from, where that is another one than the reserved."""
PLACE: Final = "place"
"""Key of an event "offcut kept": where it was put."""
BEGUN: Final = "begun"
"""Key of an event "sheet flawed": the sheet is in the cutting, so that it stays on the table."""
LEAST_FLAW: Final = NM_PER_MM
"""A scratch or a point counts as this wide: a record has no flaw without width and height. [nm]"""
LEAST_START: Final = 4
"""Letters of an event id that name it."""


class NotOfThePlan(NestingError, LookupError):
    """A sheet, panel, offcut or event that the plan does not have.

    Parameters
    ----------
    what
        Worded: ``sheet 7``.
    plan
        Id of the plan; empty for all plans.
    near
        Names that it has and that may be meant.
    """

    missing_input = True

    def __init__(self, what: str, plan: str, near: Sequence[str] = ()) -> None:
        self.what, self.plan, self.near = what, plan, tuple(near)
        super().__init__(what, plan, self.near)

    def __str__(self) -> str:
        if self.near:
            near = ", ".join(shown(n, 80) for n in self.near)
            return tr(
                "plan {plan} has no {what}; did you mean {near}?", plan=self.plan, what=self.what, near=near
            )
        return tr("plan {plan} has no {what}", plan=self.plan, what=self.what)


class CutAlready(NestingError):
    """A sheet that is recorded as cut, of which another case is told now."""

    def __init__(self, number: int) -> None:
        self.number = number
        super().__init__(number)

    def __str__(self) -> str:
        return tr(
            "sheet {number} is recorded as cut; undo that before another case is told (`panewright record list`)",
            number=self.number,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Teller:
    """Who says when what: shared by all events of one call.

    Parameters
    ----------
    at
        When it happened, with its zone.
    who, note
        As typed.
    """

    at: datetime
    who: str = ""
    note: str = ""

    def event(self, what: What, **more: object) -> Event:
        """An event with an id of its own."""
        return Event(
            id=secrets.token_hex(16),
            at=self.at,
            what=what,
            who=self.who,
            note=self.note,
            **more,  # type: ignore[arg-type]
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Offcuts:
    """What becomes of the offcuts of sheets that were cut.

    Parameters
    ----------
    thrown
        Numbers of those that were thrown away; the others are kept.
    later
        Nothing is said of the others yet.
    """

    thrown: Collection[str] = ()
    later: bool = False


def offcuts_by_sheet(plan: Plan) -> dict[str, int]:
    """Number of every offcut that a plan leaves -> its sheet."""
    return {
        leaf.offcut: x.number
        for x in plan.layouts
        for leaf in x.leaves
        if leaf.kind is LeafKind.OFFCUT and leaf.offcut is not None
    }


def panels_by_sheet(plan: Plan) -> dict[str, int]:
    """Id of every panel that a plan cuts -> its sheet."""
    return {leaf.panel: x.number for x in plan.layouts for leaf in x.leaves if leaf.panel is not None}


def cut_events(
    plan: Plan,
    done: Done,
    numbers: Sequence[int],
    teller: Teller,
    *,
    offcuts: Offcuts = Offcuts(),
    case: str | None = None,
) -> list[Event]:
    """Sheets were cut, and their offcuts kept unless something else is said.

    Parameters
    ----------
    plan
        The plan that stands now.
    done
        What is known of it: that gives no event again.
    numbers
        Of the sheets, in the order in which they were cut.
    teller
        Who says it.
    offcuts
        What becomes of their offcuts.
    case
        The case that they were cut from, where it is another one than the reserved.

    Raises
    ------
    NotOfThePlan
        A sheet that the plan does not have, or an offcut that none of these sheets leaves.
    CutAlready
        A case is named, and a sheet is recorded as cut before.
    """
    known = {x.number for x in plan.layouts}
    for number in numbers:
        if number not in known:
            raise NotOfThePlan(tr("sheet {number}", number=number), plan.id)
    left = {name: sheet for name, sheet in offcuts_by_sheet(plan).items() if sheet in set(numbers)}
    for name in offcuts.thrown:
        if name not in left:
            near = get_close_matches(name, left, n=3) or list(left)[:3]
            raise NotOfThePlan(tr("offcut {name} on these sheets", name=name), plan.id, near)
    extra: Mapping[str, object] = {CASE: case} if case else {}
    out = []
    for number in sorted(done.sheets.intersection(numbers)) if case else ():
        raise CutAlready(number)
    for number in dict.fromkeys(numbers):
        if number not in done.sheets:
            out.append(teller.event(What.SHEET_CUT, sheet=number, extra=extra))
        for name, sheet in left.items():
            if sheet != number:
                continue
            thrown = name in offcuts.thrown
            if name in done.offcuts and not (thrown and done.offcuts[name]):
                continue
            if thrown or not offcuts.later:
                what = What.OFFCUT_THROWN if thrown else What.OFFCUT_KEPT
                out.append(teller.event(what, sheet=number, offcut=name))
    return out


def broken_events(plan: Plan, done: Done, panels: Sequence[str], step: AtStep, teller: Teller) -> list[Event]:
    """Panels broke at a work; raises `NotOfThePlan`."""
    where = panels_by_sheet(plan)
    out = []
    for name in dict.fromkeys(panels):
        panel = name if name in where else only_panel(name, where, plan.id)
        if panel not in done.broken:
            out.append(teller.event(What.PANEL_BROKEN, sheet=where[panel], panel=panel, at_step=step))
    return out


def only_panel(name: str, panels: Collection[str], plan: str) -> str:
    """The panel whose id begins with these parts, where it is the only one; raises `NotOfThePlan`."""
    begins = sorted(p for p in panels if p.startswith(f"{name}/"))
    if len(begins) == 1:
        return begins[0]
    near = begins[:5] or get_close_matches(name, panels, n=3)
    raise NotOfThePlan(tr("panel {panel}", panel=shown(name)), plan, near)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What is said of a kept offcut: its size where it differs [nm], and where it was put."""

    size: tuple[int, int] | None = None
    place: str = ""


def offcut_events(
    plan: Plan, done: Done, names: Sequence[str], teller: Teller, *, kept: Measured | None
) -> list[Event]:
    """Offcuts were kept, or thrown away where `kept` is None; raises `NotOfThePlan`."""
    where = offcuts_by_sheet(plan)
    out = []
    for name in dict.fromkeys(names):
        if name not in where:
            near = get_close_matches(name, where, n=3)
            raise NotOfThePlan(tr("offcut {name}", name=shown(name)), plan.id, near)
        says_more = kept is not None and (kept.size is not None or kept.place or teller.note)
        if done.offcuts.get(name) is (kept is not None) and not says_more:
            continue
        if kept is None:
            out.append(teller.event(What.OFFCUT_THROWN, sheet=where[name], offcut=name))
            continue
        extra: Mapping[str, object] = {PLACE: kept.place} if kept.place else {}
        out.append(
            teller.event(What.OFFCUT_KEPT, sheet=where[name], offcut=name, size=kept.size, extra=extra)
        )
    return out


class OffTheSheet(NestingError):
    """A flaw that does not lie on its sheet."""

    def __init__(self, flaw: Flaw, size: tuple[int, int]) -> None:
        self.flaw, self.size = flaw, size
        super().__init__(flaw, size)

    def __str__(self) -> str:
        return tr(
            "the flaw at {x}, {y} does not lie on a sheet of {size}; give x and y from its lower left corner, "
            "then width and height",
            x=show(self.flaw.x),
            y=show(self.flaw.y),
            size=show_size(*self.size),
        )


def flawed_event(
    plan: Plan,
    number: int,
    teller: Teller,
    *,
    size: tuple[int, int] | None = None,
    flaw: Flaw | None = None,
    begun: bool = False,
) -> Event:
    """A sheet cannot be cut as planned.

    Parameters
    ----------
    plan, number
        The sheet.
    teller
        Who says it.
    size
        Its real size, where it is another one. [nm]
    flaw
        Where a flaw lies, and of which kind it is.
    begun
        The sheet is in the cutting.

    Raises
    ------
    NotOfThePlan, OffTheSheet
        The plan has no such sheet; the flaw does not lie on it.
    """
    layout = next((x for x in plan.layouts if x.number == number), None)
    if layout is None:
        raise NotOfThePlan(tr("sheet {number}", number=number), plan.id)
    return teller.event(
        What.SHEET_FLAWED,
        sheet=number,
        size=size,
        flaw=None if flaw is None else _on_sheet(flaw, size or (layout.width, layout.height)),
        kind="" if flaw is None else flaw.kind,
        extra={BEGUN: True} if begun else {},
    )


def _on_sheet(flaw: Flaw, size: tuple[int, int]) -> tuple[int, int, int, int]:
    """Its box, as wide and high as a record wants it; raises `OffTheSheet`."""
    if min(flaw.box) < 0 or flaw.x + flaw.width > size[0] or flaw.y + flaw.height > size[1]:
        raise OffTheSheet(flaw, size)
    width, height = max(flaw.width, LEAST_FLAW), max(flaw.height, LEAST_FLAW)
    x, y = flaw.x - (width - flaw.width) // 2, flaw.y - (height - flaw.height) // 2
    return max(0, min(x, size[0] - width)), max(0, min(y, size[1] - height)), width, height


def undo_event(event: Event, teller: Teller) -> Event:
    """An event did not happen after all."""
    return teller.event(What.UNDONE, sheet=event.sheet, undoes=event.id)
