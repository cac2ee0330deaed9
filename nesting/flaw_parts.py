"""Which flaws of a sheet a piece of it has, in the piece's own coordinates."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from .flaws import Flaw
from .outlines import Outline, box
from .rules import Rules

Box = tuple[int, int, int, int]
"""Least and greatest x and y of a rectangle: x0, y0, x1, y1. [nm]"""


def within(flaws: Iterable[Flaw], piece: Box) -> tuple[Flaw, ...]:
    """The flaws that lie in a rectangle of the sheet, each cut short at its sides, from its lower left corner."""
    return tuple(sorted(_within(flaws, piece)))


def _within(flaws: Iterable[Flaw], piece: Box) -> Iterator[Flaw]:
    x0, y0, x1, y1 = piece
    for f in flaws:
        left, low = max(f.x, x0), max(f.y, y0)
        right, high = min(f.x + f.width, x1), min(f.y + f.height, y1)
        # a scratch along a side is no flaw of this piece, only of its edge; a cut may run along it
        if (left < right or (f.width == 0 and x0 < f.x < x1)) and (
            low < high or (f.height == 0 and y0 < f.y < y1)
        ):
            yield Flaw(left - x0, low - y0, right - left, high - low, f.kind)


def has_clear(flaws: Iterable[Flaw], piece: Box, least: tuple[int, int]) -> bool:
    """Whether a piece has a rectangle without flaws of at least this size, either way round.

    Parameters
    ----------
    flaws
        On the sheet.
    piece
        The piece. [nm]
    least
        Two sides. [nm]

    Notes
    -----
    If there is one, it can be slid to the left and down until it meets a side of the piece or of a flaw.
    """
    width, height = piece[2] - piece[0], piece[3] - piece[1]
    inside = [(f.x, f.y, f.x + f.width, f.y + f.height) for f in within(flaws, piece)]
    for w, h in dict.fromkeys((least, least[::-1])):
        for x in sorted({0, *(f[2] for f in inside)}):
            if x + w > width:
                break
            column = [f for f in inside if f[0] < x + w and f[2] > x]
            for y in sorted({0, *(f[3] for f in column)}):
                if y + h > height:
                    break
                if not any(f[1] < y + h and f[3] > y for f in column):
                    return True
    return False


def worth_keeping(outline: Outline, flaws: Iterable[Flaw], rules: Rules) -> bool:
    """Whether a rectangle of waste is worth keeping as an offcut, with enough glass that has no flaw.

    Parameters
    ----------
    outline
        Its corners. [nm]
    flaws
        On the sheet.
    rules
        Of its glass.
    """
    x0, y0, x1, y1 = box(outline)
    return rules.keeps(x1 - x0, y1 - y0) and has_clear(flaws, (x0, y0, x1, y1), rules.least_offcut)


def on_smaller(
    flaws: Iterable[Flaw], planned: tuple[int, int], measured: tuple[int, int]
) -> tuple[Flaw, ...]:
    """The flaws of a piece that turned out smaller or larger than planned. [nm]

    Nobody knows at which side it is short: each flaw reaches from where it lies if that is the far side to where
    it lies if that is the near one.
    """
    short = tuple(max(0, p - m) for p, m in zip(planned, measured, strict=True))
    wide = []
    for f in flaws:
        x, y = max(0, f.x - short[0]), max(0, f.y - short[1])
        wide.append(Flaw(x, y, f.x + f.width - x, f.y + f.height - y, f.kind))
    return within(wide, (0, 0, *measured))
