"""Levy's series of a rectangular plate on hinged vertical edges, exact in y for each sine term in x.

The deflection is the sum of Y_n(y) sin(alpha_n x), alpha_n = n pi / span. Each Y_n is a particular
solution of the load and four scaled exponentials, none greater than one, so that nothing overflows. The
conditions at foot and top are solved per term (Timoshenko and Woinowsky-Krieger, Theory of Plates and
Shells, 2nd ed., sections 29 to 31 and 48).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..glass import POISSON, YOUNG

Floats = NDArray[np.float64]

GRAVITY: Final = 9.80665
"""Standard gravity. [m/s2]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """Water pressure, growing downwards from its level.

    Parameters
    ----------
    level
        Above the foot. [mm]
    density
        [kg/m3]
    """

    level: float
    density: float

    @property
    def slope(self) -> float:
        """Pressure per depth. [N/mm3]"""
        return self.density * GRAVITY * 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Uniform:
    """The same pressure everywhere.

    Parameters
    ----------
    pressure
        [N/mm2]
    """

    pressure: float


Load = Water | Uniform


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """A rectangular plate, hinged at its vertical edges and at its foot.

    Parameters
    ----------
    span, height
        Between the vertical edges (x) and from foot to top (y). [mm]
    thickness
        [mm]
    load
        Across the plate, towards positive deflection.
    top
        Bending stiffness of a beam along the top edge that is hinged at its ends: 0 for a free edge,
        infinite for a held one. [N mm2]
    young
        Modulus of elasticity. [N/mm2]
    poisson
        Poisson's ratio.
    """

    span: float
    height: float
    thickness: float
    load: Load
    top: float = math.inf
    young: float = YOUNG
    poisson: float = POISSON

    @property
    def stiffness(self) -> float:
        """Flexural rigidity D. [N mm]"""
        return float(self.young * self.thickness**3 / (12 * (1 - self.poisson**2)))

    @property
    def total(self) -> float:
        """The whole load. [N]"""
        if isinstance(self.load, Uniform):
            return self.load.pressure * self.span * self.height
        h = max(self.load.level, 0.0)
        above = max(h - self.height, 0.0)
        return self.load.slope * self.span * (h * h - above * above) / 2

    def pressure(self, y: Floats) -> Floats:
        """Pressure at the heights `y` [mm]. [N/mm2]"""
        if isinstance(self.load, Uniform):
            return np.full_like(y, self.load.pressure)
        return self.load.slope * np.maximum(self.load.level - y, 0.0)


@dataclass(frozen=True, eq=False)
class Heights:
    """The series at some heights: what all solutions of one plate share there.

    Attributes
    ----------
    y
        Shape (heights,). [mm]
    low, high
        alpha y and alpha (height - y). Shape (terms, heights).
    fall, rise
        Their falling exponentials.
    given
        Particular solution of the load and its first three derivatives, each divided by a power of
        alpha, so that all are lengths. Shape (4, terms, heights). [mm]
    """

    y: Floats
    low: Floats
    high: Floats
    fall: Floats
    rise: Floats
    given: Floats

    def derivative(self, constants: Floats, order: int) -> Floats:
        """The derivative of Y_n in y divided by the same power of alpha. Shape (terms, heights). [mm]"""
        c = constants[:, :, None]
        sign = -1.0 if order % 2 else 1.0
        out: Floats = sign * (c[:, 0] - order * c[:, 1] + c[:, 1] * self.low) * self.fall
        out += (c[:, 2] - order * c[:, 3] + c[:, 3] * self.high) * self.rise
        out += self.given[order]
        return out


@dataclass(frozen=True, eq=False)
class Levy:
    """The terms of one plate.

    Parameters
    ----------
    plate
        What is solved.
    numbers
        The sine terms to take, ascending. Shape (terms,).
    """

    plate: Plate
    numbers: NDArray[np.int64]
    alpha: Floats = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "alpha", self.numbers * (math.pi / self.plate.span))

    def sines(self, x: Floats) -> Floats:
        """Shape (places, terms)."""
        return np.sin(x[:, None] * self.alpha)

    def cosines(self, x: Floats) -> Floats:
        """Shape (places, terms)."""
        return np.cos(x[:, None] * self.alpha)

    def particular(self, y: Floats) -> Floats:
        """Particular solutions of the load as in `Heights.given`. Shape (4, terms, heights). [mm]

        Notes
        -----
        Below the level the water pressure is linear, above it nothing. The kink at the level is met by
        (3 / (4 alpha) + |s| / 4) exp(-alpha |s|), s the distance from it, which makes the solution smooth.
        """
        plate = self.plate
        odd = self.numbers % 2 == 1  # an even load has no other terms
        alpha = self.alpha[odd][:, None]
        scale = 4 / (np.pi * self.numbers[odd][:, None] * plate.stiffness * alpha**4)
        out = np.zeros((4, self.alpha.size, y.size))
        if isinstance(plate.load, Uniform):
            out[0, odd] = scale * plate.load.pressure
            return out
        scale = scale * plate.load.slope
        s = y - plate.load.level
        if plate.load.level >= plate.height:
            out[0, odd] = scale * -s
            out[1, odd] = -scale / alpha
            return out
        below = np.where(s < 0, 1.0, 0.0)
        side = 1 - 2 * below
        far = alpha * np.abs(s)
        fade = np.exp(-far) / 4
        out[0, odd] = scale * (below * -s + (3 + far) * fade / alpha)
        out[1, odd] = scale * (-below - side * (2 + far) * fade) / alpha
        out[2, odd] = scale * (1 + far) * fade / alpha
        out[3, odd] = scale * -side * far * fade / alpha
        return out

    def at(self, y: Floats, terms: int | None = None) -> Heights:
        """The series at the heights `y` [mm], the first `terms` of it alone where that is given."""
        if terms is not None and terms < self.numbers.size:
            return Levy(self.plate, self.numbers[:terms]).at(y)
        low = self.alpha[:, None] * y
        high = self.alpha[:, None] * (self.plate.height - y)
        return Heights(y, low, high, np.exp(-low), np.exp(-high), self.particular(y))

    @cached_property
    def constants(self) -> tuple[Floats, Floats]:
        """Constants of the exponentials under the load, and their change by a top load.

        Returns
        -------
        tuple of Floats
            Each of shape (terms, 4): of the load [mm]; of a line load sin(alpha x) of 1 N/mm along the
            top edge [mm / (N/mm)], nothing where that edge is held.
        """
        plate, alpha = self.plate, self.alpha
        nu, reach = plate.poisson, alpha * plate.height
        e, one, none = np.exp(-reach), np.ones_like(alpha), np.zeros_like(alpha)
        rows = [
            [one, none, e, reach * e],
            [one, -2 * one, e, (reach - 2) * e],
            [(1 - nu) * e, ((1 - nu) * reach - 2) * e, (1 - nu) * one, -2 * one],
        ]
        given = self.particular(np.array([0.0, plate.height]))
        foot, top = given[:, :, 0], given[:, :, 1]
        right = [-foot[0], -foot[2], nu * top[0] - top[2]]
        push = none
        if math.isinf(plate.top):
            rows.append([e, reach * e, one, none])
            right.append(-top[0])
        else:
            # the edge force of the plate and of the beam on it, over D alpha^3 (1 + k)
            k = plate.top * alpha / plate.stiffness
            size = 1 + k
            a = 1 - nu - k
            rows.append(
                [
                    a * e / size,
                    (1 + nu + a * reach) * e / size,
                    -(1 - nu + k) / size,
                    -(1 + nu) / size,
                ]
            )
            right.append(((2 - nu) * top[1] + k * top[0] - top[3]) / size)
            push = -1 / (plate.stiffness * alpha**3 * size)
        matrix = np.array(rows).transpose(2, 0, 1)
        unit = [none, none, none, push]
        both = np.linalg.solve(matrix, np.array([right, unit]).transpose(2, 1, 0))
        return both[:, :, 0], both[:, :, 1]
