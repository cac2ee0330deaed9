"""Lengths and numbers as people type them, read exactly.

A number that could mean two things is refused with a remedy, never guessed: ``1,203`` may be a
little more than one or twelve hundred and three. Which decimal sign a file uses is settled once per
file (`settle_decimal`) from the cells that leave no doubt.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from math import isfinite
from typing import Final, Literal

from panewright.nesting.text import tr
from panewright.nesting.units import NM_PER_INCH, NM_PER_MM, LengthUnit, to_tick

DecimalSign = Literal["point", "comma", "unknown", "mixed"]

MAX_DIGITS: Final = 12
"""Most digits in one number."""

UNITS: Final = {
    "mm": NM_PER_MM,
    "cm": 10 * NM_PER_MM,
    "m": 1000 * NM_PER_MM,
    "in": NM_PER_INCH,
    "inch": NM_PER_INCH,
    "inches": NM_PER_INCH,
    '"': NM_PER_INCH,
    "ft": 12 * NM_PER_INCH,
    "foot": 12 * NM_PER_INCH,
    "feet": 12 * NM_PER_INCH,
    "'": 12 * NM_PER_INCH,
}
"""Unit words and marks, and their length. [nm]"""

_MARKS: Final = str.maketrans(
    {
        "′": "'",
        "’": "'",
        "‘": "'",
        "ʹ": "'",
        "″": '"',
        "”": '"',
        "“": '"',
        "ʺ": '"',
        "−": "-",
        "–": "-",
        "‐": "-",
        "‑": "-",
        "⁄": "/",
        "∕": "/",
    }
)
_DIGITS = r"[0-9]{1,40}"
_DECIMAL: Final = re.compile(rf"(?P<whole>{_DIGITS})?(?:(?P<sign>[.,])(?P<rest>{_DIGITS}))?")
_AMOUNT: Final = re.compile(
    rf"(?:(?P<mixed>{_DIGITS})(?:\s*-\s*|\s+))?(?P<top>{_DIGITS})\s*/\s*(?P<bottom>{_DIGITS})"
)
_LENGTH: Final = re.compile(r"(?P<amount>[0-9.,/\s-]*[0-9])\s*(?P<unit>[a-z]+|\"|')?")
_FEET: Final = re.compile(r"(?P<feet>[0-9]+)\s*(?:'|ft|feet|foot)\s*-?\s*(?P<rest>[0-9].*)")


class BadValue(ValueError):
    """A text that cannot be read, with a reason and a remedy in the user's words."""

    def __init__(self, reason: str, remedy: str) -> None:
        self.reason, self.remedy = reason, remedy
        super().__init__(reason, remedy)

    def __str__(self) -> str:
        return f"{self.reason}; {self.remedy}"


def number_text(value: float) -> str:
    """A number cell of a spreadsheet as decimal text: 1203.5 is ``1203.5``, 12.0 is ``12``.

    The shortest text that names the binary number is taken; where a computed cell carries binary
    noise (1179.8000000000002) it is cut to twelve significant digits.
    """
    text = repr(value)
    if not isfinite(value):
        return text
    number = Decimal(text)
    if len(number.as_tuple().digits) > MAX_DIGITS:
        number = Decimal(format(value, f".{MAX_DIGITS}g"))
    plain = format(number, "f")
    return plain.rstrip("0").rstrip(".") if "." in plain else plain


def _plain(text: str) -> str:
    """Typographic marks, blanks and fractions in their plain form, lower case."""
    out = []
    for c in text.translate(_MARKS):
        if c.isspace():
            out.append(" ")
        elif unicodedata.category(c) == "No" and "⁄" in unicodedata.normalize("NFKC", c):
            out.append(f" {unicodedata.normalize('NFKC', c).replace('⁄', '/')}")
        else:
            out.append(c)
    return "".join(out).strip().lower().replace("''", '"')


def _doubtful(whole: str, rest: str) -> bool:
    """Whether the sign between these digits may as well group thousands."""
    return len(rest) == 3 and 1 <= len(whole) <= 3 and not whole.startswith("0")


def settle_decimal(cells: Iterable[str], delimiter: str | None = None) -> DecimalSign:
    """The decimal sign of a file, from the number cells that leave no doubt.

    Parameters
    ----------
    cells
        The cells of the columns that hold numbers.
    delimiter
        What separates the cells of the file; None for a spreadsheet.

    Returns
    -------
    DecimalSign
        ``mixed`` where both signs are used beyond doubt; ``unknown`` where no cell tells.
    """
    clear = {".": False, ",": False}
    any_comma = False
    for cell in cells:
        for found in re.finditer(rf"(?<![0-9.,])({_DIGITS})([.,])({_DIGITS})(?![0-9.,])", cell):
            any_comma |= found[2] == ","
            if not _doubtful(found[1], found[3]):
                clear[found[2]] = True
    if clear["."] and clear[","]:
        return "mixed"
    if clear[","]:
        return "comma"
    if clear["."]:
        return "point"
    if delimiter == ";" and any_comma:
        return "comma"
    return "point" if delimiter == "," else "unknown"


def parse_decimal(
    text: str, decimal: DecimalSign = "unknown", *, points_are_decimal: bool = False
) -> Fraction:
    """A plain number, not negative, exactly.

    Parameters
    ----------
    text
        Digits with at most one decimal sign.
    decimal
        Decimal sign of the file.
    points_are_decimal
        A point counts as a decimal sign unless the file is known to use commas.

    Raises
    ------
    BadValue
        When it is no number, or one that can be read in two ways.
    """
    plain = _plain(text)
    found = _DECIMAL.fullmatch(plain)
    if not found or not (found["whole"] or found["rest"]):
        raise _no_number(plain)
    whole, sign, rest = found["whole"] or "", found["sign"] or "", found["rest"] or ""
    if len(whole.lstrip("0")) + len(rest) > MAX_DIGITS:
        raise BadValue(
            tr("the number has more than {count} digits", count=MAX_DIGITS), tr("write it with fewer digits")
        )
    if sign and _doubtful(whole, rest):
        settled = decimal == ("point" if sign == "." else "comma")
        if not settled and not (sign == "." and points_are_decimal and decimal in ("unknown", "mixed")):
            raise BadValue(
                tr("the {sign} may be a decimal sign or group thousands", sign=_name(sign)),
                tr(
                    "write {grouped} for thousands, or one more 0 at the end ({exact}) for a decimal sign",
                    grouped=whole + rest,
                    exact=f"{plain}0",
                ),
            )
    return Fraction(f"{whole or 0}.{rest or 0}")


def _name(sign: str) -> str:
    return tr("comma") if sign == "," else tr("point")


def _no_number(plain: str) -> BadValue:
    if re.fullmatch(r"[0-9]{1,3}(([.,][0-9]{3})+[.,][0-9]*|([., '][0-9]{3})+)", plain):
        return BadValue(
            tr("the number has signs that group thousands"),
            tr("write it without them, as in 1203.5 or 1203,5"),
        )
    if re.fullmatch(r"[+-]?[0-9.,]+e[+-]?[0-9]+", plain):
        return BadValue(tr("the number is written with an exponent"), tr("write its digits out"))
    if plain.startswith("-"):
        return BadValue(tr("the number is negative"), tr("give a number of 0 or more"))
    if re.fullmatch(r"[+-]?(nan|inf|infinity)", plain):
        return BadValue(tr("this is no finite number"), tr("give a number"))
    return BadValue(tr("this is no number"), tr("give a number such as 12 or 12.5"))


def parse_fraction(text: str) -> Fraction | None:
    """``5/8`` or ``23 5/8`` or ``23-5/8`` exactly, or None where the text is no fraction.

    Raises
    ------
    BadValue
        A denominator of 0 or too many digits.
    """
    found = _AMOUNT.fullmatch(_plain(text))
    if not found:
        return None
    digits = "".join(part or "" for part in found.groups())
    if len(digits) > MAX_DIGITS:
        raise BadValue(
            tr("the number has more than {count} digits", count=MAX_DIGITS), tr("write it with fewer digits")
        )
    if not int(found["bottom"]):
        raise BadValue(tr("the fraction divides by 0"), tr("correct the fraction"))
    if found["mixed"] and int(found["top"]) >= int(found["bottom"]):
        raise BadValue(tr("the fraction behind a whole number is not below 1"), tr("write it as in 23 5/8"))
    return int(found["mixed"] or 0) + Fraction(int(found["top"]), int(found["bottom"]))


def has_unit(text: str) -> bool:
    """Whether a length text names its own unit."""
    return bool(re.search(r"[a-z\"']", _plain(text)))


def parse_length(
    text: str, unit: LengthUnit, decimal: DecimalSign = "unknown", *, signed: bool = False
) -> int:
    """A length text in nanometres on the tick lattice.

    Parameters
    ----------
    text
        ``1203.5``, ``1203,5``, ``1200 mm``, ``60 cm``, ``23 5/8``, ``23-5/8"``, ``1'-11 5/8"``,
        ``0.5 in``; typographic fractions and prime marks too.
    unit
        Unit of a bare number.
    decimal
        Decimal sign of the file.
    signed
        Whether a minus sign may stand in front (corner points).

    Returns
    -------
    int
        Rounded once to a multiple of 625 nm; 0.01 mm and 1/64 in stay exact. [nm]

    Raises
    ------
    BadValue
        When it is no length, or one that can be read in two ways.

    Examples
    --------
    >>> parse_length("1'-11 5/8\\"", "mm")
    600075000
    >>> parse_length("1203,5", "mm")
    1203500000
    """
    plain = _plain(text)
    if signed and plain.startswith("-"):
        return -parse_length(plain[1:], unit, decimal)
    feet = _FEET.fullmatch(plain)
    if feet:
        if len(feet["feet"]) > 4:
            raise BadValue(tr("the length has too many feet"), tr("correct the length"))
        rest = feet["rest"] if has_unit(feet["rest"]) else feet["rest"] + '"'
        inches = _LENGTH.fullmatch(rest)
        if not inches or UNITS.get(inches["unit"]) != NM_PER_INCH:
            raise BadValue(tr("only inches may stand behind feet"), tr("write it as in 1'-11 5/8\""))
        amount = _amount(inches["amount"], "in", decimal)
        if amount >= 12:
            raise BadValue(tr("the inches behind feet are not below 12"), tr("write it as in 1'-11 5/8\""))
        return to_tick((12 * int(feet["feet"]) + amount) * NM_PER_INCH)
    found = _LENGTH.fullmatch(plain)
    if not found:
        raise _no_length(plain)
    word = found["unit"] or unit
    if word not in UNITS:
        raise BadValue(tr("the unit {unit} is not known", unit=word[:20]), tr("use mm, cm, m, in or ft"))
    return to_tick(_amount(found["amount"], word, decimal) * UNITS[word])


def _no_length(plain: str) -> BadValue:
    error = _no_number(plain)
    if error.reason == tr("this is no number"):
        return BadValue(tr("this is no length"), tr("write it as in 1203.5, 60 cm or 23 5/8 in"))
    return error


def _amount(text: str, unit: str, decimal: DecimalSign) -> Fraction:
    """The number in front of a unit word."""
    fraction = parse_fraction(text)
    if fraction is None:
        # only millimetres run into thousands: 23.625 in can only be 23 5/8 in
        return parse_decimal(text, decimal, points_are_decimal=unit != "mm")
    if unit in ("mm", "cm", "m"):
        raise BadValue(
            tr("a fraction of a metric unit"),
            tr('write a decimal number, or name the inch: 23 5/8 in or 23-5/8"'),
        )
    return fraction
