"""Which flaws of the sheets of a plan are spots: of kinds that a panel of the plan tolerates somewhere."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from .flaws import Flaw, kinds_of
from .panels import Panel
from .plan import Layout


def flaws_of(layout: Layout) -> tuple[Flaw, ...]:
    """All flaws of a sheet, spots included."""
    kinds = layout.flaw_kinds or ("",) * len(layout.flaws)
    return (*(Flaw(*box, kind) for box, kind in zip(layout.flaws, kinds, strict=True)), *layout.spots)


def with_flaws(layout: Layout, flaws: Sequence[Flaw], tolerated: Iterable[str] = ()) -> Layout:
    """The sheet with these flaws, those of tolerated kinds as spots."""
    spots = set(tolerated)
    hard = tuple(f for f in sorted(flaws) if f.kind not in spots)
    return replace(
        layout,
        flaws=tuple(f.box for f in hard),
        flaw_kinds=kinds_of(hard),
        spots=tuple(f for f in sorted(flaws) if f.kind in spots),
    )


def told_apart(layouts: Iterable[Layout], panels: Iterable[Panel]) -> list[Layout]:
    """The sheets with their flaws told apart: those of kinds that one of the panels tolerates are spots."""
    tolerated = sorted({t.kind for p in panels for t in p.tolerates})
    return [with_flaws(x, flaws_of(x), tolerated) if x.flaws or x.spots else x for x in layouts]
