"""What the panels of an order are together: the product that waste and cost are told by."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

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
