"""What orders are counted by where nobody names a product: few kinds, so that each has numbers to learn from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Final

from ..outlines import is_rectangle
from ..panels import Panel

LEAST_WALLS: Final = 3
"""A base with fewer other panels beside it is a single panel that happens to be called so."""


def product_of(panels: Sequence[Panel]) -> str:
    """The product of what was ordered together, by its panels alone.

    Lists of tanks and plans of the store hold the same panels, so that both give the same product: the shape
    of the base and the glass of which most is cut. The words are keys, equal in every language.

    Examples
    --------
    ``rectangle tanks clear-12``, ``shaped tanks clear-10``, ``single panels clear-6``.
    """
    glass = main_glass(panels)
    bases = [p for p in panels if _is_base(p.name)]
    if len(panels) <= LEAST_WALLS * len(bases) or not bases:
        return f"single panels {glass}"
    kind = "rectangle" if is_rectangle(bases[0].finished) else "shaped"
    return f"{kind} tanks {glass}"


def main_glass(panels: Iterable[Panel]) -> str:
    """The glass of which most is cut; of equals the first by name."""
    areas: Counter[str] = Counter()
    for panel in panels:
        areas[panel.glass] += panel.cut_area2
    return min(areas, key=lambda glass: (-areas[glass], glass), default="")


def ordered_together(panels: Iterable[Panel]) -> list[list[Panel]]:
    """The panels of one order by what was ordered together: each tank with all equal ones, each single panel.

    Panels of a tank bear its name in front of their own, those of a tank without a name theirs alone.
    """
    all_panels = list(panels)
    tanks = sorted({_tank(p.name) for p in all_panels if _is_base(p.name)}, key=lambda t: (-len(t), t))
    groups: dict[tuple[str, ...], list[Panel]] = {}
    for panel in all_panels:
        of = next((t for t in tanks if not t or panel.name.startswith(f"{t} ")), None)
        key = (panel.name, panel.glass) if of is None else (of,)
        groups.setdefault(key, []).append(panel)
    return list(groups.values())


def _is_base(name: str) -> bool:
    return name == "base" or name.endswith(" base")


def _tank(name: str) -> str:
    """The name of the tank whose base this is."""
    return name.removesuffix("base").rstrip()
