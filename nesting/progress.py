"""How far a search has come, glass by glass."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class GlassProgress:
    """How far the search of one glass has come; money in 1/10,000 of the currency."""

    glass: str
    cost: int
    sheets: int
    bound: int
    steps: int
    done: bool
