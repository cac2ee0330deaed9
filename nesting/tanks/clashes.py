"""Interior panels that would lie in each other, seen from above."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from ..outlines import Outline


def clash(footprints: Sequence[tuple[str, Outline]]) -> tuple[str, str] | None:
    """The first two names whose convex footprints overlap, or None; touching is no overlap. [nm]"""
    for (one, a), (other, b) in combinations(footprints, 2):
        if not (_apart(a, b) or _apart(b, a)):
            return one, other
    return None


def _apart(a: Outline, b: Outline) -> bool:
    """Whether a side of `a` has all of `b` outside (separating axis of convex outlines)."""
    for i, (ax, ay) in enumerate(a):
        bx, by = a[(i + 1) % len(a)]
        if all((bx - ax) * (y - ay) - (by - ay) * (x - ax) <= 0 for x, y in b):
            return True
    return False
