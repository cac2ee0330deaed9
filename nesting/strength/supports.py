"""Elastic supports along the top edge of a plate, by the flexibility method.

A support presses over its width as a spring bed does. It is cut into parts of even pressure; the deflections
of the parts under the load and under one another's pressure are sums over the sine terms, each of which
answers to a top load alone. The pressures follow from one small system of equations.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from .levy import Floats, Levy

_ENDS: Final = np.array([0, 1, 3, 6, 9, 11, 12]) / 12
"""Where a support is cut, in parts of its width: finer towards its ends, where the pressure grows."""
PARTS: Final = 6
"""Parts of even pressure of each support."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Support:
    """A spring bed along a part of the top edge.

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


def parts(supports: Sequence[Support]) -> Floats:
    """Ends of all parts, those of one support in a row. Shape (supports x PARTS, 2). [mm]"""
    if not supports:
        return np.zeros((0, 2))
    ends = np.array([s.start + (s.end - s.start) * _ENDS for s in supports])
    return np.stack([ends[:, :-1], ends[:, 1:]], axis=2).reshape(-1, 2)


def reactions(levy: Levy, supports: Sequence[Support]) -> tuple[Floats, Floats]:
    """What the supports do to the plate.

    Returns
    -------
    pressures : Floats
        Of the support on each part, positive where it holds the plate back. Shape (parts,). [N/mm]
    push : Floats
        The same as a line load along the top edge in sine terms, positive outwards. Shape (terms,). [N/mm]
    """
    ends = parts(supports)
    length = ends[:, 1] - ends[:, 0]
    area = np.cos(ends[:, :1] * levy.alpha) - np.cos(ends[:, 1:] * levy.alpha)
    mean = area / (levy.alpha * length[:, None])
    load, unit = levy.constants
    top = levy.at(np.array([levy.plate.height]))
    bare = top.derivative(load, 0)[:, 0]
    flexible = top.derivative(unit, 0)[:, 0] - top.given[0][:, 0]
    spread = (2 / levy.plate.span) * area / levy.alpha
    matrix = (mean * flexible) @ spread.T
    soft = np.repeat([1 / s.stiffness for s in supports], PARTS)
    pressures = np.linalg.solve(matrix + np.diag(soft), mean @ bare)
    return pressures, -(pressures @ spread)
