"""Bending of a plate: deflection, moments, principal stress and edge reactions from Levy's series.

Moments are positive where they pull on the face away from the load (the dry face of a tank's wall). Stresses are
those of the faces, 6 M / t2; the greatest one is the absolute value of the principal moment, so that both
faces count. Edge reactions are Kirchhoff's; at the corners lie single forces besides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Final

import numpy as np

from .levy import Floats, Heights, Levy, Plate
from .supports import Support, ends_of, reactions

_ROWS: Final = 41
_COLUMNS: Final = 48
_REGION: Final = 17
_DEEP_TERMS: Final = 80
"""Terms above this one are felt near the top edge alone."""


@dataclass(frozen=True, slots=True)
class Peak:
    """A greatest value and where it is found.

    Parameters
    ----------
    value
        Deflection [mm], stress [N/mm2] or force per length [N/mm].
    x, y
        [mm]
    """

    value: float
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Moments:
    """Moments per length at the places `x` and heights `y`. Arrays of shape (places, heights). [N mm/mm]"""

    mx: Floats
    my: Floats
    mxy: Floats

    @property
    def principal(self) -> Floats:
        """The greatest principal moment, as an absolute value. Shape (places, heights). [N mm/mm]"""
        return np.abs((self.mx + self.my) / 2) + np.hypot((self.mx - self.my) / 2, self.mxy)


@dataclass(frozen=True, slots=True)
class _Series:
    """The terms of a plate with its grid of heights, kept for all layouts of supports."""

    levy: Levy
    deep: Heights
    near: Heights | None


def _terms(plate: Plate, supports: tuple[Support, ...]) -> int:
    """Sine terms that a plate with these supports needs."""
    finest = min(s.end - s.start for s in supports) / 6
    return min(max(math.ceil(3 * plate.span / finest), 120), 400)


@lru_cache(maxsize=32)
def _series(plate: Plate, terms: int) -> _Series:
    """`terms` = 0: the odd terms that an even load has, else all up to that one."""
    if not terms:
        odd = np.arange(1, 80 + 20 * min(math.ceil(plate.span / plate.height), 20), 2)
        levy = Levy(plate, odd)
        return _Series(levy, levy.at(np.linspace(0.0, plate.height, _ROWS)), None)
    levy = Levy(plate, np.arange(1, terms + 1))
    y = np.linspace(0.0, plate.height, _ROWS)
    reach = min(8 * plate.span / (_DEEP_TERMS * math.pi), plate.height)
    deep = y[y < plate.height - reach]
    near = np.union1d(y[deep.size :], plate.height - reach * np.linspace(0, 1, 9)[:-1] ** 2)
    return _Series(levy, levy.at(deep, _DEEP_TERMS), levy.at(near))


@lru_cache(maxsize=32)
def _places(levy: Levy, ends: tuple[tuple[float, float], ...]) -> tuple[Floats, Floats, Floats]:
    """Places of the grid with the sines and cosines there; `ends` are those of the supports. [mm]"""
    span = levy.plate.span
    if ends:
        # a support's ends and middle, and where the moment falls off within it
        cuts = np.array(
            [[(a + (b - a) * k / 6, a + (b - a) * (k + 1) / 6) for k in range(6)] for a, b in ends]
        ).reshape(-1, 2)
        inner = [cuts.ravel(), cuts.mean(axis=1), np.linspace(0.0, span, _COLUMNS + 1)]
        x = np.unique(np.clip(np.concatenate(inner), 0.0, span))
    else:
        x = np.linspace(0.0, span / 2, _COLUMNS // 2 + 1)
    return x, levy.sines(x), levy.cosines(x)


class Bending:
    """The solution of one plate.

    Parameters
    ----------
    plate
        What is solved.
    supports
        Elastic supports along its top edge; they do nothing at an edge that is held anyway.
    other
        The plate that they lead to, with them as it sees them, in the same order; None where they end at
        something that stands still, as between two equal plates.

    Notes
    -----
    Without supports the solution is symmetric, and places are looked for in the left half alone.
    """

    def __init__(
        self,
        plate: Plate,
        supports: tuple[Support, ...] = (),
        other: tuple[Plate, tuple[Support, ...]] | None = None,
    ) -> None:
        self.plate, self.supports = plate, supports
        held = math.isinf(plate.top)
        terms = _terms(plate, supports) if supports and not held else 0
        self._series = _series(plate, terms)
        self._levy = self._series.levy
        load, unit = self._levy.constants
        self._constants, self._push = load, np.zeros_like(self._levy.alpha)
        self._pressures = np.zeros(len(supports))
        if terms:
            beyond = None
            if other is not None:
                beyond = _series(other[0], _terms(*other)).levy, other[1]
            self._pressures, self._push = reactions(self._levy, supports, beyond)
            self._constants = load + self._push[:, None] * unit

    @cached_property
    def _grid(self) -> tuple[Floats, Floats, Floats]:
        ends = tuple((s.start, s.end) for s in self.supports) if np.any(self._push) else ()
        return _places(self._levy, ends)

    @property
    def x(self) -> Floats:
        """Places of the grid. [mm]"""
        return self._grid[0]

    @property
    def _rows(self) -> list[Heights]:
        return [h for h in (self._series.deep, self._series.near) if h is not None]

    @cached_property
    def y(self) -> Floats:
        """Heights of the grid. [mm]"""
        return np.concatenate([h.y for h in self._rows])

    @cached_property
    def _known(self) -> dict[tuple[int, int], Floats]:
        return {}

    def _derivative(self, heights: Heights, order: int) -> Floats:
        """As `Heights.derivative`, worked out once for the rows of the grid."""
        key = id(heights), order
        found = self._known.get(key)
        if found is None:
            found = heights.derivative(self._constants[: heights.low.shape[0]], order)
            if any(heights is rows for rows in self._rows):
                self._known[key] = found
        return found

    def _moments(self, sines: Floats, cosines: Floats, heights: Heights) -> Moments:
        n = heights.low.shape[0]
        nu = self.plate.poisson
        scale = (self.plate.stiffness * self._levy.alpha[:n] ** 2)[:, None]
        still, curved = scale * self._derivative(heights, 0), scale * self._derivative(heights, 2)
        slope = (scale * (nu - 1)) * self._derivative(heights, 1)
        return Moments(
            sines[:, :n] @ (still - nu * curved),
            sines[:, :n] @ (nu * still - curved),
            cosines[:, :n] @ slope,
        )

    def moments(self, x: Floats, y: Floats) -> Moments:
        """Moments at all places `x` [mm] and heights `y` [mm]."""
        return self._moments(self._levy.sines(x), self._levy.cosines(x), self._levy.at(y))

    def deflections(self, x: Floats, y: Floats) -> Floats:
        """Deflection at all places `x` and heights `y` [mm]. Shape (places, heights). [mm]"""
        return self._levy.sines(x) @ self._levy.at(y).derivative(self._constants, 0)

    @cached_property
    def field(self) -> Moments:
        """Moments on the grid of `x` and `y`."""
        found = [self._moments(*self._grid[1:], rows) for rows in self._rows]
        return Moments(
            np.hstack([m.mx for m in found]),
            np.hstack([m.my for m in found]),
            np.hstack([m.mxy for m in found]),
        )

    @cached_property
    def stress(self) -> Peak:
        """The greatest principal bending stress on either face. [N/mm2]"""
        return _peak(self.field.principal * self._per_moment, self.x, self.y)

    @cached_property
    def deflection(self) -> Peak:
        """The greatest deflection, as an absolute value. [mm]"""
        low = min(_DEEP_TERMS, self._levy.alpha.size)  # the finer terms add nothing that a rule could measure
        sines = self._grid[1][:, :low]
        found = [sines @ self._derivative(h, 0)[:low] for h in self._rows]
        return _peak(np.abs(np.hstack(found)), self.x, self.y)

    @property
    def _per_moment(self) -> float:
        return 6 / self.plate.thickness**2

    def stress_in(self, x0: float, y0: float, x1: float, y1: float) -> Peak:
        """The greatest principal bending stress in a rectangle or, where its sides are equal, at a point.

        Parameters
        ----------
        x0, y0, x1, y1
            Its sides within the plate. [mm]

        Returns
        -------
        Peak
            [N/mm2]
        """
        x = np.linspace(x0, x1, _REGION) if x1 > x0 else np.array([x0])
        y = np.linspace(y0, y1, _REGION) if y1 > y0 else np.array([y0])
        return _peak(self.moments(x, y).principal * self._per_moment, x, y)

    @cached_property
    def edge_curvature(self) -> float:
        """Greatest curvature of the top edge along it. [1/mm]"""
        top = self._levy.at(np.array([self.plate.height])).derivative(self._constants, 0)[:, 0]
        sines = self._grid[1]
        n = sines.shape[1]
        return float(np.abs(sines @ (self._levy.alpha[:n] ** 2 * top[:n])).max())

    @cached_property
    def hogging(self) -> tuple[float, ...]:
        """Greatest pull on the face towards the load over each support, along the top edge. [N/mm2]"""
        out = []
        for s in self.supports:
            over = (self.x >= s.start - 1e-9) & (self.x <= s.end + 1e-9)
            pull = -self.field.mx[over, -1].min() if over.any() else 0.0
            out.append(max(float(pull), 0.0) * self._per_moment)
        return tuple(out)

    @cached_property
    def forces(self) -> tuple[float, ...]:
        """Force of each support, positive where it holds the plate back. [N]"""
        ends = ends_of(self.supports)
        return tuple(float(f) for f in self._pressures * (ends[:, 1] - ends[:, 0]))

    def foot_reaction(self, x: Floats) -> Floats:
        """Force per length of the foot on the plate, positive where it holds it back. [N/mm]"""
        return self._levy.sines(x) @ self._cross(self._levy.at(np.zeros(1)))[:, 0]

    def top_reaction(self, x: Floats) -> Floats:
        """Force per length of a held top edge or of the beam along it, without supports. [N/mm]"""
        top = self._levy.at(np.array([self.plate.height]))
        return self._levy.sines(x) @ (self._push - self._cross(top)[:, 0])

    def top_hold(self, x: Floats) -> Floats:
        """Force per length of all that holds the top edge, supports included. [N/mm]"""
        return self._levy.sines(x) @ -self._cross(self._levy.at(np.array([self.plate.height])))[:, 0]

    def _cross(self, heights: Heights) -> Floats:
        """Kirchhoff's shear across the height, in sine terms. Shape (terms, heights). [N/mm]"""
        scale = self.plate.stiffness * self._levy.alpha[:, None] ** 3
        return -scale * (
            heights.derivative(self._constants, 3)
            - (2 - self.plate.poisson) * heights.derivative(self._constants, 1)
        )

    def joint_reactions(self, y: Floats) -> tuple[Floats, Floats]:
        """Force per length of the left and the right edge on the plate at the heights `y` [mm]. [N/mm]"""
        return self._joints(self._levy.at(y))

    def _joints(self, heights: Heights) -> tuple[Floats, Floats]:
        n = heights.low.shape[0]
        alpha, numbers = self._levy.alpha[:n], self._levy.numbers[:n]
        shear = (self.plate.stiffness * alpha**3)[:, None] * (
            self._derivative(heights, 0) - (2 - self.plate.poisson) * self._derivative(heights, 2)
        )
        odd = numbers % 2 == 1
        # what the terms left out would add to the strips across the span, whose reaction is p a / 2
        rest = self.plate.span / 2 - float((4 / (np.pi * numbers[odd] * alpha[odd])).sum())
        even = self.plate.pressure(heights.y) * rest
        return shear.sum(axis=0) + even, np.where(odd, 1.0, -1.0) @ shear + even

    @cached_property
    def foot(self) -> Peak:
        """The greatest reaction along the foot. [N/mm]"""
        value = self._grid[1] @ self._cross(self._levy.at(np.zeros(1)))
        return _peak(value, self.x, np.zeros(1))

    @cached_property
    def joints(self) -> Peak:
        """The greatest reaction along the two vertical edges. [N/mm]"""
        found = [np.array(self._joints(rows)) for rows in self._rows]
        return _peak(np.hstack(found), np.array([0.0, self.plate.span]), self.y)

    @cached_property
    def corners(self) -> tuple[float, float, float, float]:
        """Single forces at the corners, positive where the plate is held down against the load's direction.

        Returns
        -------
        tuple of float
            Left foot, right foot, left top, right top. [N]
        """
        ends = np.array([0.0, self.plate.span]), np.array([0.0, self.plate.height])
        twist = 2 * self.moments(*ends).mxy
        return -float(twist[0, 0]), float(twist[1, 0]), float(twist[0, 1]), -float(twist[1, 1])


def _peak(values: Floats, x: Floats, y: Floats) -> Peak:
    i, j = np.unravel_index(int(np.argmax(values)), values.shape)
    return Peak(float(values[i, j]), float(x[i]), float(y[j]))


@lru_cache(maxsize=64)
def solve(
    plate: Plate,
    supports: tuple[Support, ...] = (),
    other: tuple[Plate, tuple[Support, ...]] | None = None,
) -> Bending:
    """The solution of a plate (see `Bending`); equal plates are solved once."""
    return Bending(plate, supports, other)
