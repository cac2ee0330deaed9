"""Elastic supports along the top edge of a plate, by the flexibility method.

A support presses evenly over its width against the mean deflection there. A rigid contact would crowd the
pressure at both ends of a brace; between brace and wall lies silicone, which evens it out (with a bed ten times as
stiff as the built-in one the greatest stress differs by less than 10 % from that of even pressure). The mean
deflections under the load and under one another's pressure are sums over the sine terms, each of which answers to
a top load alone, and the pressures follow from one small system of equations.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .levy import Floats, Levy


@dataclass(frozen=True, slots=True, kw_only=True)
class Support:
    """A spring along a part of the top edge.

    Parameters
    ----------
    start, end
        Along the edge. [mm]
    stiffness
        Force per length of edge and deflection; infinite for a rigid one. [N/mm2]
    """

    start: float
    end: float
    stiffness: float

    @property
    def middle(self) -> float:
        """[mm]"""
        return (self.start + self.end) / 2


def ends_of(supports: Sequence[Support]) -> Floats:
    """Where the supports begin and end. Shape (supports, 2). [mm]"""
    return np.array([(s.start, s.end) for s in supports]).reshape(-1, 2)


def _system(levy: Levy, supports: Sequence[Support]) -> tuple[Floats, Floats, Floats]:
    """Mean deflections without the supports, their change by unit pressures, and these in sine terms."""
    ends = ends_of(supports)
    length = ends[:, 1] - ends[:, 0]
    area = np.cos(ends[:, :1] * levy.alpha) - np.cos(ends[:, 1:] * levy.alpha)
    mean = area / (levy.alpha * length[:, None])
    load, unit = levy.constants
    top = levy.at(np.array([levy.plate.height]))
    bare = top.derivative(load, 0)[:, 0]
    flexible = top.derivative(unit, 0)[:, 0] - top.given[0][:, 0]
    spread = (2 / levy.plate.span) * area / levy.alpha
    return mean @ bare, (mean * flexible) @ spread.T, spread


def reactions(
    levy: Levy, supports: Sequence[Support], other: tuple[Levy, Sequence[Support]] | None = None
) -> tuple[Floats, Floats]:
    """What the supports do to the plate.

    Parameters
    ----------
    levy, supports
        The plate and its supports.
    other
        The plate at the other ends of the supports, with them as it sees them; None where they end at
        something that stands still.

    Returns
    -------
    pressures : Floats
        Of each support, positive where it holds the plate back. Shape (supports,). [N/mm]
    push : Floats
        The same as a line load along the top edge in sine terms, positive outwards. Shape (terms,). [N/mm]
    """
    bare, matrix, spread = _system(levy, supports)
    soft = np.array([1 / s.stiffness for s in supports])
    if other is not None:
        # both plates bow outwards, and the support between them is as soft as both its halves
        their_bare, their_matrix, _ = _system(*other)
        bare, matrix = bare + their_bare, matrix + their_matrix
        soft = soft + np.array([1 / s.stiffness for s in other[1]])
    pressures = np.asarray(np.linalg.solve(matrix + np.diag(soft), bare), dtype=np.float64)
    return pressures, -(pressures @ spread)
