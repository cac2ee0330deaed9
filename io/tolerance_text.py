"""Flaws that an order takes, as lists say it: ``seed edge 40; scratch frame 30; rub anywhere``."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from panewright.io.flaw_words import kind_word
from panewright.io.lengths import BadValue, DecimalSign, parse_length
from panewright.io.numbers_text import length
from panewright.nesting.flaws import KINDS, NEVER_TOLERATED, Tolerance, Zone
from panewright.nesting.text import tr
from panewright.nesting.units import LengthUnit, mm, show

DEEPEST: Final = mm(1000)
"""Deeper bands are a slip of the pen: such an order takes the flaw anywhere."""
MAY_BE_TOLERATED: Final = tuple(kind for kind in KINDS if kind not in NEVER_TOLERATED)

_PART: Final = re.compile(r"(?P<kind>[^\W\d_]+)\s*:?\s+(?P<zone>[^\W\d_]+)(?:\s+(?P<depth>\S.*))?", re.DOTALL)


def parse_tolerates(text: str, unit: LengthUnit, decimal: DecimalSign = "unknown") -> tuple[Tolerance, ...]:
    """What a cell tolerates.

    Parameters
    ----------
    text
        Parts set apart by ``;`` or ``|``, each a kind, a zone (``edge``, ``frame`` or ``anywhere``) and, save with
        ``anywhere``, how far from the finished edge the flaw must lie at most.
    unit
        Of bare numbers.
    decimal
        Decimal sign of the file.

    Raises
    ------
    BadValue
        When a part says something else, or two speak of one kind and zone.

    Examples
    --------
    >>> parse_tolerates("seed edge 40; rub anywhere", "mm")[1]
    Tolerance(kind='rub', zone='anywhere', depth=0)
    """
    out: list[Tolerance] = []
    for part in filter(None, (p.strip() for p in re.split(r"[;|]", text))):
        one = _tolerance(part, unit, decimal)
        if any((t.kind, t.zone) == (one.kind, one.zone) for t in out):
            raise BadValue(
                tr("{kind} and {zone} stand twice", kind=one.kind, zone=one.zone), tr("delete one of them")
            )
        out.append(one)
    if not out:
        raise _no_tolerance()
    return tuple(out)


def _no_tolerance() -> BadValue:
    return BadValue(
        tr("this is no kind of flaw with a zone"),
        tr("write it as in {form}", form="seed edge 40; scratch frame 30; rub anywhere"),
    )


def _tolerance(part: str, unit: LengthUnit, decimal: DecimalSign) -> Tolerance:
    found = _PART.fullmatch(part.lower())
    if found is None:
        raise _no_tolerance()
    kind, zone, depth = found["kind"], found["zone"], found["depth"]
    zones = [z.value for z in Zone]
    if kind in NEVER_TOLERATED:
        raise BadValue(
            tr("a flaw of the kind {kind} is never tolerated", kind=kind),
            tr("write one of: {words}", words=", ".join(MAY_BE_TOLERATED)),
        )
    if kind not in KINDS:
        raise BadValue(
            tr("{word} is no kind of flaw", word=kind[:20]),
            tr("write one of: {words}", words=", ".join(MAY_BE_TOLERATED)),
        )
    if zone not in zones:
        raise BadValue(
            tr("{word} is no zone of a panel", word=zone[:20]),
            tr("write one of: {words}", words=", ".join(zones)),
        )
    if zone == Zone.ANYWHERE.value:
        if depth:
            raise BadValue(tr("anywhere has no depth"), tr("write edge or frame, or no number"))
        return Tolerance(kind, zone)
    if not depth:
        raise BadValue(
            tr("the depth of the zone is missing"), tr("write it as in {form}", form=f"{kind} {zone} 40")
        )
    deep = parse_length(depth, unit, decimal)
    if not 0 < deep <= DEEPEST:
        raise BadValue(
            tr("the depth {depth} is not above 0 and up to {most}", depth=show(deep), most=show(DEEPEST)),
            tr("correct it, or write anywhere"),
        )
    return Tolerance(kind, zone, deep)


def tolerates_text(tolerates: Iterable[Tolerance]) -> str:
    """What `parse_tolerates` reads, in millimetres."""
    return "; ".join(
        f"{t.kind} {t.zone}" if t.zone == Zone.ANYWHERE.value else f"{t.kind} {t.zone} {length(t.depth)}"
        for t in tolerates
    )


def tolerates_words(tolerates: Iterable[Tolerance]) -> str:
    """The same for people: ``seed within 40 mm of any edge``."""
    words = []
    for t in tolerates:
        if t.zone == Zone.ANYWHERE.value:
            words.append(tr("{kind} anywhere", kind=kind_word(t.kind)))
        elif t.zone == Zone.EDGE.value:
            words.append(tr("{kind} within {depth} of any edge", kind=kind_word(t.kind), depth=show(t.depth)))
        else:
            words.append(
                tr("{kind} within {depth} of bottom or top", kind=kind_word(t.kind), depth=show(t.depth))
            )
    return ", ".join(words)
