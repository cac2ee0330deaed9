"""What orders are counted by where nobody names a product: few kinds, so that each has numbers to learn from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from ..outlines import is_rectangle
from ..panels import Panel

LEAST_WALLS: Final = 3
"""A base with fewer other panels beside it is a single panel that happens to be called so."""


@dataclass(frozen=True, slots=True)
class Look:
    """What a panel tells of its order: its name, glass, cut area [twice nm2] and whether it is a rectangle."""

    name: str
    glass: str
    cut: int
    rectangle: bool

    @property
    def is_base(self) -> bool:
        """Whether it is the base of a tank; the name of the tank may stand before the word."""
        return self.name.split()[-1:] == ["base"]


def kind_of(panels: Sequence[Look]) -> str:
    """The product of an order whose list names none: shape of the base, and the glass of which most is cut.

    Examples
    --------
    >>> walls = [Look(name, "clear-12", 10, True) for name in ("front", "right", "back", "left")]
    >>> kind_of([*walls, Look("base", "clear-12", 10, True)])
    'rectangle tanks clear-12'
    >>> kind_of(walls[:1])
    'single panels clear-12'
    """
    areas: Counter[str] = Counter()
    for panel in panels:
        areas[panel.glass] += panel.cut
    glass = min(areas, key=lambda name: (-areas[name], name), default="")
    bases = [panel for panel in panels if panel.is_base]
    if not bases or len(panels) <= LEAST_WALLS * len(bases):
        return f"single panels {glass}"
    return f"{'rectangle' if bases[0].rectangle else 'shaped'} tanks {glass}"


def tanks_in(panels: Sequence[Look]) -> int:
    """How many tanks the panels of an order make; 0 where they are single panels."""
    bases = sum(panel.is_base for panel in panels)
    return bases if len(panels) > LEAST_WALLS * bases else 0


def product_of(panels: Sequence[Panel]) -> str:
    """The product of what was ordered together, by its panels alone (see `kind_of`).

    Lists of tanks and plans of the store hold the same panels, so that both give the same product. The words are
    keys, equal in every language.
    """
    return kind_of([Look(p.name, p.glass, p.cut_area2, is_rectangle(p.finished)) for p in panels])


def ordered_together(panels: Iterable[Panel]) -> list[list[Panel]]:
    """The panels of one order by what was ordered together: each tank with all equal ones, each single panel.

    Panels of a tank bear its name in front of their own, those of a tank without a name theirs alone.
    """
    all_panels = list(panels)
    tanks = sorted(
        {_tank(p.name) for p in all_panels if Look(p.name, p.glass, 0, False).is_base},
        key=lambda t: (-len(t), t),
    )
    groups: dict[tuple[str, ...], list[Panel]] = {}
    for panel in all_panels:
        of = next((t for t in tanks if not t or panel.name.startswith(f"{t} ")), None)
        key = (panel.name, panel.glass) if of is None else (of,)
        groups.setdefault(key, []).append(panel)
    return list(groups.values())


def _tank(name: str) -> str:
    """The name of the tank whose base this is."""
    return name.removesuffix("base").rstrip()
