"""Whole numbers as decimal text and back, for files: no float on the way."""

from __future__ import annotations

import json
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any

from panewright.nesting.text import local_number
from panewright.nesting.units import MONEY, NM2_PER_M2


class Raw(str):
    """Text that stands in JSON as it is: a number."""

    __slots__ = ()


def decimal(value: int, places: int) -> Raw:
    """``value / 10**places`` without trailing zeros: ``decimal(1203500000, 6) == "1203.5"``."""
    whole, rest = divmod(abs(value), 10**places)
    text = f"{whole}.{rest:0{places}d}".rstrip("0") if rest else str(whole)
    return Raw(f"-{text}" if value < 0 else text)


def length(nm: int) -> Raw:
    """A length [nm] in mm, up to six decimals."""
    return decimal(nm, 6)


def money(amount: int) -> Raw:
    """Money [1/10,000] with up to four decimals."""
    return decimal(amount, len(str(MONEY)) - 1)


def ratio(value: Fraction | None, places: int = 6) -> Raw | None:
    """A fraction rounded to `places` decimals, halves to even."""
    return None if value is None else decimal(round(value * 10**places), places)


def square_metres(twice: int | Fraction, places: int = 6) -> Raw:
    """Twice an area [nm2] in m2."""
    return decimal(round(Fraction(twice) * 10**places / (2 * NM2_PER_M2)), places)


def said_metres(twice: int | Fraction, places: int = 2) -> str:
    """Twice an area [nm2] in m2, for people: with the decimal sign of the language."""
    return local_number(square_metres(twice, places))


def kilograms(grams: int) -> Raw:
    """A mass [g] in kg."""
    return decimal(grams, 3)


_quoted = json.JSONEncoder(ensure_ascii=False).encode
_key = lru_cache(maxsize=1000)(_quoted)


def compact(value: Any) -> str:
    """JSON on one line; `Raw` text is a number, keys keep their order."""
    # a plan of 60 sheets has 200,000 values: the common types first, the text of a key made once
    kind = type(value)
    if kind is Raw:
        return value  # type: ignore[no-any-return]
    if kind is str:
        return _quoted(value)
    if isinstance(value, Mapping):
        return "{" + ", ".join([f"{_key(str(k))}: {compact(v)}" for k, v in value.items()]) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join([compact(v) for v in value]) + "]"
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, float):
        raise TypeError("no float goes into a file of ours")
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def spread(value: Any, depth: int, indent: str = "") -> str:
    """JSON with one line an entry down to `depth`, compact below."""
    deeper = indent + " "
    if depth > 0 and value and isinstance(value, Mapping):
        rows = [f"{deeper}{_key(str(k))}: {spread(v, depth - 1, deeper)}" for k, v in value.items()]
        return "{\n" + ",\n".join(rows) + f"\n{indent}}}"
    if depth > 0 and value and isinstance(value, (list, tuple)):
        return "[\n" + ",\n".join(deeper + spread(v, depth - 1, deeper) for v in value) + f"\n{indent}]"
    return compact(value)
