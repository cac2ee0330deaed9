"""What is told of racks and flaws: the racks of order lists, and those of a plan with the sheets that have flaws."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from panewright.io.csv_text import csv_text
from panewright.io.flaw_words import kind_word
from panewright.io.tolerance_text import tolerates_text
from panewright.nesting.flaw_hits import carried
from panewright.nesting.flaws import Flaw
from panewright.nesting.ordered.rack_list import RackPlace, leaves_table, open_racks, racks_in_order
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Layout, Plan
from panewright.nesting.spots import flaws_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Rack:
    """A rack as it is ordered: its name and glass, and its panels in rising order of their slots."""

    name: str
    glass: str
    panels: tuple[Panel, ...]

    @property
    def slots(self) -> str:
        """Its slots: ``1-4`` or ``1-3, 7``."""
        return runs([p.slot or 0 for p in self.panels])


def runs(numbers: Iterable[int]) -> str:
    """Rising whole numbers with what follows without a gap drawn together.

    Examples
    --------
    >>> runs([1, 2, 3, 7, 9, 10])
    '1-3, 7, 9, 10'
    """
    parts: list[list[int]] = []
    for number in numbers:
        if parts and number == parts[-1][-1] + 1:
            parts[-1].append(number)
        else:
            parts.append([number])
    words = []
    for part in parts:
        words += [f"{part[0]}-{part[-1]}"] if len(part) > 2 else [str(n) for n in part]
    return ", ".join(words)


def racks_of(panels: Iterable[Panel]) -> list[Rack]:
    """The racks of panels, in the order in which they are first named."""
    racks: dict[str, list[Panel]] = {}
    for panel in panels:
        if panel.rack:
            racks.setdefault(panel.rack, []).append(panel)
    return [
        Rack(name=name, glass=found[0].glass, panels=tuple(sorted(found, key=lambda p: p.slot or 0)))
        for name, found in racks.items()
    ]


def tolerating(panels: Iterable[Panel]) -> list[tuple[Panel, int]]:
    """The panels that tolerate flaws, equal names with equal words once, and how many of each."""
    counts: dict[tuple[object, ...], int] = {}
    first: dict[tuple[object, ...], Panel] = {}
    for panel in panels:
        if panel.tolerates:
            key = (panel.order, panel.name, panel.glass, panel.tolerates)
            first.setdefault(key, panel)
            counts[key] = counts.get(key, 0) + 1
    return [(panel, counts[key]) for key, panel in first.items()]


def ordered_json(panels: Sequence[Panel]) -> dict[str, Any]:
    """Racks and tolerated flaws of what is ordered, for programs; nothing where there are none."""
    racks = [
        {
            "rack": rack.name,
            "glass": rack.glass,
            "places": [{"slot": p.slot, "panel": p.id} for p in rack.panels],
        }
        for rack in racks_of(panels)
    ]
    taken = [
        {
            "order": panel.order,
            "name": panel.name,
            "quantity": count,
            "tolerates": tolerates_text(panel.tolerates),
        }
        for panel, count in tolerating(panels)
    ]
    return {**({"racks": racks} if racks else {}), **({"tolerates": taken} if taken else {})}


# ---------------------------------------------------------------- of a plan


def flawed(plan: Plan) -> list[Layout]:
    """The sheets of a plan that have flaws."""
    return [layout for layout in plan.layouts if layout.flaws or layout.spots]


def kinds_text(flaws: Iterable[Flaw]) -> str:
    """How many flaws of each kind: ``seed 2, scratch 1``, by the order of their names; a dash where there is none."""
    counts = Counter(f.kind for f in flaws)
    words = [f"{kind_word(kind)} {count}" for kind, count in sorted(counts.items())]
    return ", ".join(words) or "-"


def around(layout: Layout) -> list[Flaw]:
    """The flaws of a sheet that no panel has."""
    waste = [spot for spot, panels in carried(layout) if not panels]
    return [*flaws_of(layout)[: len(layout.flaws)], *waste]


def in_panels(layout: Layout) -> list[Flaw]:
    """The flaws of a sheet that panels have, since their orders tolerate them."""
    return [spot for spot, panels in carried(layout) if panels]


def racks_json(plan: Plan) -> dict[str, Any]:
    """The racks of a plan and its sheets with flaws, for programs; nothing where there are none."""
    places = leaves_table(plan)
    racks = [
        {
            "rack": rack,
            "glass": found[0].glass,
            "panels": len(found),
            "first": _free(min(found, key=_turn)),
            "last": _free(max(found, key=_turn)),
        }
        for rack, found in racks_in_order(places).items()
    ]
    most = max((len(o.racks) for o in open_racks(places)), default=0)
    sheets = [
        {
            "sheet": x.number,
            "stock": x.stock,
            "flaws": len(x.flaws),
            "spots": len(x.spots),
            "kinds": sorted({f.kind for f in flaws_of(x) if f.kind}),
            "in_panels": [
                {"kind": spot.kind, "panel": panel} for spot, panels in carried(x) for panel in panels
            ],
        }
        for x in flawed(plan)
    ]
    return {
        **({"racks": racks, "most_open_racks": most} if racks else {}),
        **({"sheets_with_flaws": sheets} if sheets else {}),
    }


def _turn(place: RackPlace) -> tuple[int, int]:
    """Rising with the time at which it comes free; what is on no sheet comes last."""
    return (1, 0) if place.turn is None else (0, place.turn)


def _free(place: RackPlace) -> dict[str, int] | None:
    if place.sheet is None or place.step is None:
        return None
    return {"sheet": place.sheet, "step": place.step}


def rack_files(plan: Plan) -> dict[str, str]:
    """The list of the racks of a plan, by file name; none where no panel has a rack."""
    text = racks_csv(plan)
    return {f"racks-{plan.id}.csv": text} if text else {}


def racks_csv(plan: Plan) -> str:
    """The places of all racks as CSV, rack by rack, and when each panel comes free; empty without racks.

    Panels with one number under ``leaves as`` are freed by one cut.
    """
    places = leaves_table(plan)
    if not places:
        return ""
    stock = {x.number: x.stock for x in plan.layouts}
    open_at = {(o.sheet, o.step): len(o.racks) for o in open_racks(places)}
    rows: list[list[object]] = []
    for rack, found in racks_in_order(places).items():
        for place in found:
            free = (place.sheet, place.step) if place.sheet is not None and place.step is not None else None
            rows.append(
                [
                    plan.id,
                    rack,
                    place.slot,
                    place.panel,
                    place.order,
                    place.name,
                    place.glass,
                    None if place.day is None else place.day.isoformat(),
                    place.sheet,
                    None if place.sheet is None else stock[place.sheet],
                    place.step,
                    place.turn,
                    None if free is None else open_at[free],
                ]
            )
    return csv_text(_COLUMNS, rows)


_COLUMNS = (
    "plan",
    "rack",
    "slot",
    "panel",
    "order",
    "name",
    "glass",
    "day",
    "sheet",
    "stock",
    "free after step",
    "leaves as",
    "racks open after",
)
