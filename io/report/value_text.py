"""Raw values of a report as text for people: one way for the screen, the page and the PDF."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import isfinite
from typing import Final

from panewright.io.problems import shown
from panewright.io.report.model import Column, Kind, Value
from panewright.nesting.demand.weeks import week_name
from panewright.nesting.text import local_number
from panewright.nesting.units import MONEY, NM2_PER_M2, NM_PER_MM

SCALE: Final[dict[Kind, int]] = {
    "count": 1,
    "number": 1,
    "money": MONEY,
    "m2": NM2_PER_M2,
    "kg": 1000,
    "metres": 1000 * NM_PER_MM,
}
"""How many raw units make one that is shown."""
PLACES: Final[dict[Kind, int]] = {
    "count": 0,
    "number": 2,
    "share": 1,
    "money": 2,
    "m2": 2,
    "kg": 1,
    "metres": 1,
}
"""Decimals that are shown."""
WORDS: Final[frozenset[Kind]] = frozenset(("text", "day", "week"))
"""Kinds that stand to the left."""
LONGEST: Final = 300
"""Of a text from outside. [characters]"""
_PLAIN: Final = 10**18
"""Numbers from here on are shown by their first digits and a power of ten."""


def amount_of(value: Value, kind: Kind) -> Fraction | None:
    """A number in the unit that is shown, exactly; None for anything else.

    Examples
    --------
    >>> amount_of(614_000, "money"), amount_of("none", "money"), amount_of(float("nan"), "number")
    (Fraction(307, 5), None, None)
    """
    if isinstance(value, bool) or not isinstance(value, (int, float, Fraction)) or kind in WORDS:
        return None
    if isinstance(value, float) and not isfinite(value):
        return None
    return Fraction(value) / SCALE.get(kind, 1)


def text_of(value: Value, kind: Kind) -> str:
    """A value as text, with the signs of the language; None is empty, what is no number at all a dash.

    Examples
    --------
    >>> text_of(12_345_678, "money"), text_of(Fraction(7, 8), "share"), text_of(1204, "count")
    ('1,234.57', '87.5 %', '1,204')
    """
    match value:
        case None:
            return ""
        case date():
            return value.isoformat()
        case str():
            return shown(value, LONGEST)
    if kind == "week" and isinstance(value, int):
        return _week(value)
    if kind in WORDS:
        return shown(value, LONGEST)
    amount = amount_of(value, kind)
    if amount is None:
        return "-"
    if kind == "share":
        return f"{decimals(100 * amount, PLACES[kind])} %"
    # a fraction that has come into a column of counts is not made a whole number in silence
    return decimals(amount, PLACES[kind] if kind != "count" or amount.denominator == 1 else 2)


def _week(value: int) -> str:
    try:
        return week_name(value)
    except (ValueError, OverflowError):
        return shown(value, 40)


def decimals(amount: Fraction | int, places: int) -> str:
    """A number with so many decimals, halves away from zero, thousands apart.

    Examples
    --------
    >>> decimals(Fraction(-2469, 2), 0), decimals(Fraction(1, 400), 2), decimals(3 * 10**20, 0)
    ('-1,235', '0.00', '3.000E+20')
    """
    scale = 10**places
    parts = int(abs(amount) * scale + Fraction(1, 2))
    if parts >= _PLAIN * scale:
        return local_number(f"{Decimal(round(amount)):.3E}")
    whole, rest = divmod(parts, scale)
    sign = "-" if amount < 0 and parts else ""
    return local_number(f"{sign}{whole:,}" + (f".{rest:0{places}d}" if places else ""))


def heading(column: Column, currency: str) -> str:
    """The heading of a column, with its unit where it does not say it already.

    Examples
    --------
    >>> heading(Column(name="cost", kind="money"), "EUR"), heading(Column(name="scrap kg", kind="kg"), "EUR")
    ('cost EUR', 'scrap kg')
    """
    name = shown(column.name, LONGEST)
    unit = unit_of(column.kind, currency)
    said = (
        not unit
        or unit in name.replace(",", " ").replace("/", " ").replace("(", " ").replace(")", " ").split()
    )
    return name if said else f"{name} {unit}"


def unit_of(kind: Kind, currency: str) -> str:
    """The unit in which a kind is shown; empty where it has none, or where every value says it."""
    return {"money": currency, "m2": "m2", "kg": "kg", "metres": "m"}.get(kind, "")


def is_sum(values: Iterable[Value], total: Value, kind: Kind) -> bool:
    """Whether a total is exactly the sum of a column of whole numbers or fractions."""
    if kind not in SCALE or isinstance(total, bool) or not isinstance(total, (int, Fraction)):
        return False
    parts = [value for value in values if value is not None]
    if not parts or not all(isinstance(v, (int, Fraction)) and not isinstance(v, bool) for v in parts):
        return False
    return sum(Fraction(v) for v in parts if isinstance(v, (int, Fraction))) == total
