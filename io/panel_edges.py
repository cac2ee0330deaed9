"""Edgework words and corner lists of a panel list."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from panewright.io.lengths import BadValue, DecimalSign, parse_decimal, parse_length
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.outlines import Outline, Point, Traced, box, is_rectangle
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr
from panewright.nesting.units import LengthUnit

WORK_WORDS: Final = {
    "cut": Work.CUT,
    "as cut": Work.CUT,
    "seamed": Work.SEAMED,
    "seam": Work.SEAMED,
    "arrissed": Work.SEAMED,
    "ground": Work.GROUND,
    "polished": Work.POLISHED,
    "polish": Work.POLISHED,
    "pencil": Work.PENCIL,
    "bevel": Work.BEVEL,
    "bevelled": Work.BEVEL,
    "mitre": Work.MITRE,
    "mitred": Work.MITRE,
    "miter": Work.MITRE,
}
"""Words for edgework in lists."""

SIDES: Final = ("bottom", "right", "top", "left")
"""Columns for the single edges of a rectangle, in the order of its edges."""

MAX_CORNERS: Final = 60
MAX_MITRE: Final = 80


def parse_edge(text: str, shop: Shop, thickness: int, decimal: DecimalSign = "unknown") -> Edge:
    """The edge behind an edgework word: ``polished``, ``mitre 22.5``, ``mitre 22.5 up``.

    Parameters
    ----------
    text
        The word; a mitre is followed by its angle from square in degrees and, if wanted, by the side
        (``up`` or ``down``) on which the panel is smaller.
    shop
        Gives the allowance.
    thickness
        Nominal thickness. [nm]
    decimal
        Decimal sign of the file.

    Raises
    ------
    BadValue
        When the word is not known or the angle is missing or out of range.
    """
    words = text.strip().lower().split()
    face = words.pop() if words and words[-1] in ("up", "down") else None
    angle = ""
    if words and re.match(r"[0-9.,]", words[-1]):
        angle = words.pop().rstrip("°")
    work = WORK_WORDS.get(" ".join(words))
    if work is None:
        raise BadValue(
            tr("this edgework is not known"),
            tr("the words are {words}", words=", ".join(w.value for w in Work)),
        )
    if work is not Work.MITRE:
        if angle or face:
            raise BadValue(tr("only a mitre has an angle or a side"), tr("leave them out"))
        return Edge(work=work, allowance=shop.allowance(work, thickness, 0))
    remedy = tr("write it as in mitre 22.5, the angle measured from square in degrees")
    if not angle:
        raise BadValue(tr("the angle of the mitre is missing"), remedy)
    degrees = parse_decimal(angle, decimal, points_are_decimal=True)
    if not 0 < degrees < MAX_MITRE:
        raise BadValue(tr("the angle of a mitre lies between 0 and {most} degrees", most=MAX_MITRE), remedy)
    mitre = degrees * 1000
    if mitre.denominator != 1:
        raise BadValue(tr("the angle has more than three decimals"), remedy)
    return Edge(
        work=work,
        mitre=int(mitre),
        allowance=shop.allowance(work, thickness, int(mitre)),
        small_face=face,
    )


def parse_corners(text: str, unit: LengthUnit, decimal: DecimalSign) -> list[Point]:
    """The corners ``0 0 | 600 0 | 600 250``, each with x and y. [nm]

    Where a length holds blanks itself, x and y are set apart by a semicolon: ``23 5/8; 0``.

    Raises
    ------
    BadValue
        When a corner cannot be read.
    """
    parts = [part.strip() for part in text.strip().strip("|").split("|")]
    if len(parts) > MAX_CORNERS:
        raise BadValue(tr("the outline has more than {limit} corners", limit=MAX_CORNERS), tr("simplify it"))
    corners = []
    for number, part in enumerate(parts, start=1):
        lengths = [p.strip() for p in part.split(";")] if ";" in part else part.split()
        if len(lengths) != 2 or not all(lengths):
            raise BadValue(
                tr("corner {number} is not one x and one y", number=number),
                tr("write corners as in 0 0 | 600 0 | 600 250, or with blanks in a length as in 23 5/8; 0"),
            )
        try:
            x, y = (parse_length(length, unit, decimal, signed=True) for length in lengths)
        except BadValue as error:
            raise BadValue(
                tr("corner {number}: {reason}", number=number, reason=error.reason), error.remedy
            ) from None
        corners.append((x, y))
    return corners


def side_of_edges(outline: Outline) -> dict[str, int]:
    """Which edge of a rectangle is its bottom, right, top and left; empty for any other outline."""
    if not is_rectangle(outline):
        return {}
    x0, y0, _, y1 = box(outline)
    sides = {}
    for i, (ax, ay) in enumerate(outline):
        bx, by = outline[(i + 1) % 4]
        if ay == by:
            sides["bottom" if ay == y0 and y0 != y1 else "top"] = i
        else:
            sides["left" if ax == bx == x0 else "right"] = i
    return sides


def edges_in_order(listed: Sequence[Edge], found: Traced) -> tuple[Edge, ...]:
    """Edges given in the order of the listed corners, in the order of the clean outline.

    A list that goes round clockwise was turned; then the edge between two corners is still theirs.

    Parameters
    ----------
    listed
        One for each listed corner, from it to the next.
    found
        The outline of these corners.

    Raises
    ------
    BadValue
        When a listed corner is no corner of the outline, and the edges beside it differ.
    """
    n, at = len(listed), found.listed
    # the first corner that is one stays the first, so only the others tell which way round
    backwards = at[1] > at[2]
    out = []
    for i, j in zip(at, (*at[1:], at[0]), strict=True):
        begin, end = (j, i) if backwards else (i, j)
        span = [(begin + s) % n for s in range((end - begin) % n)]
        if len({listed[k] for k in span}) > 1:
            raise BadValue(
                tr(
                    "corner {number} lies on the straight line between its neighbours, or twice on one point, and "
                    "the edges beside it differ",
                    number=span[1] + 1,
                ),
                tr("leave that corner out, or give both edges the same edgework"),
            )
        out.append(listed[span[0]])
    return tuple(out)
