"""Least thickness of nominal float glass: strength counts the least, mass and joints the nominal."""

from __future__ import annotations

from typing import Final

from ..errors import NoLeastThickness
from ..glass import designation
from ..shop_tanks import ThicknessLimits
from ..units import mm

EN_DEVIATIONS: Final = {
    mm(nominal): mm(deviation)
    for nominal, deviation in {
        "2": "0.2",  # from memory
        "3": "0.2",
        "4": "0.2",
        "5": "0.2",
        "6": "0.2",
        "8": "0.3",
        "10": "0.3",
        "12": "0.3",
        "15": "0.5",
        "19": "1.0",
        "20": "1.0",
        "25": "1.0",  # from memory
    }.items()
}
"""Limit deviations of float glass, either way. [nm] (EN 572-2, as printed on a processor's page)"""

ASTM_LEAST: Final = {
    mm(nominal): mm(least)
    for nominal, least in {
        "2.5": "2.16",
        "2.7": "2.59",
        "3": "2.92",
        "4": "3.78",
        "5": "4.57",
        "6": "5.56",
        "8": "7.42",
        "10": "9.02",
        "12": "11.91",
        "16": "15.09",  # from memory
        "19": "18.26",
        "25": "24.61",  # from memory
    }.items()
}
"""Least thickness. [nm] (ASTM C1036, as quoted on a training page of a film association)"""


def least_thickness(nominal: int, limits: ThicknessLimits = ThicknessLimits.LOWER) -> int:
    """The least thickness that glass of a nominal thickness may have.

    Parameters
    ----------
    nominal
        [nm]
    limits
        Whose limits count; where that standard has no such glass, the other one's.

    Returns
    -------
    int
        [nm]

    Raises
    ------
    NoLeastThickness
        Neither standard has such glass.

    Examples
    --------
    >>> least_thickness(12_000_000, ThicknessLimits.ASTM)
    11910000
    >>> least_thickness(12_000_000)
    11700000
    """
    deviation = EN_DEVIATIONS.get(nominal)
    european = None if deviation is None else nominal - deviation
    american = ASTM_LEAST.get(nominal)
    if european is None or american is None:
        only = american if european is None else european
        if only is None:
            raise NoLeastThickness(designation(nominal))
        return only
    if limits is ThicknessLimits.LOWER:
        return min(european, american)
    return european if limits is ThicknessLimits.EN else american
