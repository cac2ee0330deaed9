"""One sheet of a plan of sheets in a given order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..optimizer.flawed import Filled
from ..optimizer.instance import Instance
from .laid import Laid, Span


@dataclass(frozen=True, slots=True)
class Slot:
    """One sheet of a plan: its stock, its filling, what it yields and the share of it that is used."""

    sheet: int
    filled: Filled
    uses: Mapping[int, int]
    share: float


Plan = tuple[Slot, ...]


def all_waste(instance: Instance, sheet: int) -> Laid:
    """A sheet of which nothing is used."""
    return Laid(sheet, 0, (Span(instance.sheets[sheet].width),))
