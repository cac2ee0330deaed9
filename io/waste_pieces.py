"""What a waste report needs of a plan file: its panels with their areas, where they lie, and the bounds."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any

from panewright.io.plan_reader import loads
from panewright.nesting.demand.products import Look
from panewright.nesting.outlines import Outline, area2, is_rectangle
from panewright.nesting.panels import Purpose
from panewright.nesting.plan import Plan
from panewright.nesting.remake.history import REMAKES
from panewright.nesting.units import MONEY, NM_PER_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """A panel; areas twice nm2, thickness nm.

    `product` is empty where the file names none; `again` says that it is made in the place of one that broke.
    """

    order: str
    name: str
    product: str
    purpose: Purpose
    glass: str
    thickness: int
    cut: int
    finished: int
    rectangle: bool
    again: bool = False

    @property
    def look(self) -> Look:
        """What it tells of its order."""
        return Look(self.name, self.glass, self.cut, self.rectangle)


@dataclass(slots=True)
class PlanPieces:
    """Panels of a plan by id, those of each sheet, and the lower bounds of its cost by glass."""

    panels: dict[str, Facts] = field(default_factory=dict)
    on: dict[int, list[str]] = field(default_factory=dict)
    bounds: dict[str, int] = field(default_factory=dict)

    def thickness(self, glass: str) -> int:
        """Nominal thickness of a glass. [nm]"""
        return next((p.thickness for p in self.panels.values() if p.glass == glass), 0)


def pieces_of(plan: Plan) -> PlanPieces:
    """The same of a plan that is read."""
    beside = plan.extra.get("panels")
    said = beside if isinstance(beside, dict) else {}
    out = PlanPieces()
    for p in plan.panels:
        more = said.get(p.id)
        more = more if isinstance(more, dict) else {}
        out.panels[p.id] = Facts(
            order=p.order,
            name=p.name,
            product=p.product,
            purpose=p.purpose,
            glass=p.glass,
            thickness=p.thickness,
            cut=area2(p.cut),
            finished=area2(p.finished),
            rectangle=is_rectangle(p.finished),
            again=REMAKES in more,
        )
    for x in plan.layouts:
        out.on[x.number] = [leaf.panel for leaf in x.leaves if leaf.panel is not None]
    out.bounds = {glass: outcome.bound.cost for glass, outcome in plan.outcomes.items()}
    return out


def pieces_in(text: str, source: str) -> PlanPieces:
    """The same of the text of a plan file that was checked before it came into the store: in a tenth of the time.

    Raises
    ------
    PlanFileError
        It is no plan file after all.
    """
    try:
        return _of(json.loads(text))
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError, RecursionError):
        # somebody has been at the database: the whole reader says what is wrong
        return pieces_of(loads(text, source=source))


def _of(data: Any) -> PlanPieces:
    out = PlanPieces()
    for p in data["panels"]:
        cut, finished = _outline(p["cut"]), _outline(p["finished"])
        told = p.get("product")
        out.panels[p["id"]] = Facts(
            order=p["order"],
            name=p["name"],
            product=told if isinstance(told, str) else "",
            purpose=Purpose(p.get("purpose", Purpose.ORDER.value)),
            glass=p["glass"],
            thickness=_nm(p["thickness"]),
            cut=area2(cut),
            finished=area2(finished),
            rectangle=is_rectangle(finished),
            again=REMAKES in p,
        )
    for x in data["sheets"]:
        out.on[x["number"]] = [leaf["panel"] for leaf in x["leaves"] if leaf.get("panel") is not None]
    for glass, found in data["figures"]["by_glass"].items():
        if "lower_bound" in found:
            out.bounds[glass] = round(found["lower_bound"]["cost"] * MONEY)
    return out


def _nm(value: Any) -> int:
    # exact: below 100 m a float in mm is within 1e-11 mm of the six decimals of the file
    out: int = round(value * NM_PER_MM)
    return out


def _outline(points: Any) -> Outline:
    return tuple((_nm(x), _nm(y)) for x, y in points)
