"""The sheets of a plan of sheets in a given order, and how they are filled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from ..optimizer.flawed import Filled, FlawedSheets
from ..optimizer.instance import Instance
from .laid import Laid, Span

LEANS: Final = (0.01, 0.03, 0.05)
CHOICES: Final = (3, 6, 12)
"""Blocks tried for a row or a strip: few, and others for every node, do more than many."""


@dataclass(frozen=True, slots=True, eq=False)
class Slot:
    """One sheet of a plan: its stock, its filling, its panels of each type and the share of it that they take."""

    sheet: int
    filled: Filled
    uses: Any
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Stay:
    """Strips that stay: at the near side, at the far side from `stop` on, in which frame, and their panels."""

    near: tuple[Span, ...]
    far: tuple[Span, ...]
    stop: int | None
    frame: int
    uses: Any


Plan = tuple[Slot, ...]


class Filler:
    """Fills sheets of one instance and counts the nodes.

    Parameters
    ----------
    instance
        What is cut.
    frames
        Bit 0: first cut vertical; bit 1: horizontal.

    Attributes
    ----------
    area
        Of a panel of each type. [search units squared]
    rect_area
        Of each rectangle, in units of the largest.
    lean, some
        Of the beam (see `FlawedSheets.fill`); whoever searches draws them.
    """

    def __init__(self, instance: Instance, frames: int) -> None:
        self.instance = instance
        self.nodes = 0
        self.lean, self.some = LEANS[1], CHOICES[1]
        self.area = np.array(instance.type_area, dtype=np.int64)
        area = instance.arrays.area.astype(np.float64)
        self.rect_area = area / area.max()
        self._frames = frames
        self._kernel = FlawedSheets(instance)

    def none(self) -> Any:
        """No panels of any type."""
        return np.zeros(len(self.area), dtype=np.int64)

    def unused(self, sheet: int) -> Slot:
        """A sheet of which nothing is used."""
        strips = (Span(self.instance.sheets[sheet].width),)
        return Slot(sheet, Filled(lambda: Laid(sheet, 0, strips), 0.0, 0, self.none()), self.none(), 0.0)

    def fill(
        self,
        sheet: int,
        rest: Any,
        value: Any,
        width: int,
        stay: Stay | None = None,
    ) -> Slot | None:
        """Most value of the rest on a sheet, beside strips that stay."""
        how: dict[str, Any] = {"frames": self._frames}
        if stay is not None and (stay.near or stay.far):
            how = {"frames": 1 << stay.frame, "kept": stay.near, "beyond": stay.far, "stop": stay.stop}
        filled, nodes = self._kernel.fill(
            sheet, rest, value=value, width=width, lean=self.lean, some=self.some, **how
        )
        self.nodes += nodes
        if filled is None:
            return None
        return self._slot(sheet, filled, filled.uses if stay is None else filled.uses + stay.uses)

    def all_on(self, sheet: int, rest: Any, value: Any, width: int, upto: int | None = None) -> Slot | None:
        """All of the rest on one sheet, as little of it as can be."""
        if int(self.area @ rest) > self.instance.sheets[sheet].area:
            return None
        filled, nodes = self._kernel.fill(
            sheet, rest, value=value, width=width, frames=self._frames, lean=self.lean, some=self.some,
            whole=True, upto=upto,
        )  # fmt: skip
        self.nodes += nodes
        return None if filled is None else self._slot(sheet, filled, filled.uses)

    def _slot(self, sheet: int, filled: Filled, uses: Any) -> Slot:
        return Slot(sheet, filled, uses, int(self.area @ uses) / self.instance.sheets[sheet].area)

    def flaws(self, sheet: int, frame: int) -> Any:
        """(F, 5) flaws of a sheet in a frame. [search units]"""
        return self._kernel.flaws(sheet, frame)

    def uses_of(self, strip: Span) -> Any:
        """Panels of each type in a strip."""
        out = self.none()
        for t, n in Laid(0, 0, (strip,)).uses(self.instance).items():
            out[t] += n
        return out
