"""Flaws as people list them: ``900,400,30,20 seed`` is x, y, width and height from the lower left corner."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from panewright.io.lengths import UNITS, BadValue, DecimalSign, parse_length
from panewright.io.numbers_text import length
from panewright.nesting.flaws import KINDS, Flaw
from panewright.nesting.text import tr
from panewright.nesting.units import LengthUnit, show, show_size

MAX_FLAWS: Final = 200
"""On one sheet or offcut; a sheet with more of them is thrown away, or planned as offcuts."""

_FORM: Final = "900,400,30,20 seed"
_KIND: Final = re.compile(r"(?P<body>.*?)(?:^|[\s,])(?P<kind>[^\W\d_]+)", re.DOTALL)


def parse_flaw(text: str, unit: LengthUnit, decimal: DecimalSign = "unknown") -> Flaw:
    """One flaw.

    Parameters
    ----------
    text
        Four lengths set apart by commas or by blanks, and the kind where it is known. With decimal commas, or
        fractions of an inch without a hyphen, take whichever of both signs the numbers do not hold.
    unit
        Of bare numbers.
    decimal
        Decimal sign of the file.

    Raises
    ------
    BadValue
        When it is no flaw.

    Examples
    --------
    >>> parse_flaw("900,400,30,20 seed", "mm")
    Flaw(x=900000000, y=400000000, width=30000000, height=20000000, kind='seed')
    >>> parse_flaw("35 1/2, 16, 1 1/4, 0", "in").width
    31750000
    """
    plain = text.strip()
    kind = ""
    found = _KIND.fullmatch(plain)
    if found is not None and found["kind"].lower() not in UNITS:
        kind, plain = found["kind"].lower(), found["body"].strip().rstrip(",").rstrip()
        if kind in ("nan", "inf", "infinity") and len(_four(plain) or ()) != 4:
            raise BadValue(tr("this is no finite number"), tr("give a number"))
        if kind not in KINDS:
            raise BadValue(
                tr("{word} is no kind of flaw", word=kind[:20]),
                tr("write one of: {words}", words=", ".join(KINDS)),
            )
    parts = _four(plain)
    if parts is None:
        raise BadValue(
            tr("this is no x, y, width and height"),
            tr("write them as in {form}, from the lower left corner; flaws are set apart by ;", form=_FORM),
        )
    x, y, width, height = (parse_length(part, unit, decimal) for part in parts)
    return Flaw(x, y, width, height, kind)


def _four(text: str) -> list[str] | None:
    """The four numbers of a flaw; None where there are not four."""
    commas = [part.strip() for part in text.split(",")]
    blanks = [part for part in re.split(r",?\s+", text) if part]
    # a comma with no blank behind it, among blanks that set apart, is a decimal comma: 900,5 400,5 30 20
    ways = [commas, blanks] if not re.search(r",\S", text) or not re.search(r"\s", text) else [blanks, commas]
    return next((way for way in ways if len(way) == 4 and all(way)), None)


def outside(flaw: Flaw, width: int, height: int) -> str | None:
    """Why a flaw does not lie on a sheet of this size [nm]; None where it does."""
    if min(flaw.x, flaw.y, flaw.width, flaw.height) < 0:
        return tr("a flaw has a negative measure")
    if flaw.x + flaw.width <= width and flaw.y + flaw.height <= height:
        return None
    return tr(
        "the flaw ends at {x} | {y}, beyond the sheet of {size}",
        x=show(flaw.x + flaw.width),
        y=show(flaw.y + flaw.height),
        size=show_size(width, height),
    )


def flaw_text(flaw: Flaw) -> str:
    """A flaw as `parse_flaw` reads it, in millimetres."""
    numbers = ",".join(map(length, flaw.box))
    return f"{numbers} {flaw.kind}" if flaw.kind else numbers


def flaws_text(flaws: Iterable[Flaw]) -> str:
    """Flaws as the cell of a list, in millimetres."""
    return "; ".join(map(flaw_text, flaws))


def without_covered(flaws: Iterable[Flaw]) -> tuple[Flaw, ...]:
    """The flaws in order of their places, without those that another one of the same kind covers."""
    out: list[Flaw] = []
    # the larger ones first: of two equal ones one stays
    for flaw in sorted(set(flaws), key=lambda f: (-f.width - f.height, f)):
        if not any(_covers(other, flaw) for other in out):
            out.append(flaw)
    return tuple(sorted(out))


def _covers(one: Flaw, other: Flaw) -> bool:
    return (
        one.kind == other.kind
        and one.x <= other.x
        and one.y <= other.y
        and other.x + other.width <= one.x + one.width
        and other.y + other.height <= one.y + one.height
    )
