"""Flaws of a piece that turned out smaller than planned."""

from __future__ import annotations

from collections.abc import Iterable

from .flaws import Flaw
from .remake.flaw_boxes import in_piece


def on_smaller(
    flaws: Iterable[Flaw], planned: tuple[int, int], measured: tuple[int, int]
) -> tuple[Flaw, ...]:
    """The flaws of a piece that was measured smaller than planned. [nm]

    Nobody knows at which side it is short: each flaw reaches from where it lies if the near side is short to where
    it lies if the far one is.
    """
    short = [max(0, p - m) for p, m in zip(planned, measured, strict=True)]
    wide = []
    for f in flaws:
        x, y = max(0, f.x - short[0]), max(0, f.y - short[1])
        wide.append(Flaw(x, y, f.x + f.width - x, f.y + f.height - y, f.kind))
    return tuple(sorted(in_piece(wide, (0, 0, *measured))))
