"""Exchanges between full sheets and the last: what is drawn, and strips that stay, closed up clear of flaws."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, Final

from .laid import Laid, Span

EXCHANGED: Final = (1, 1, 2, 2, 3)
"""Sheets filled anew out of what lies on them and on the last one."""
EXPONENTS: Final = (1.0, 1.05, 1.1)
NOISE: Final = (0.02, 0.05, 0.1)
CHOICES: Final = (3, 12)
WIDTHS: Final = (20, 40, 160)
"""Narrow beams make many sheets and wide ones full sheets."""
PART: Final = 0.9
"""Share of the sheets of which some strips stay."""
STAY: Final = 0.6
BEARABLE: Final = 0.001
"""Mean area, in sheets, by which an exchange may be worse than what was there."""
NEAR: Final = 0.02
"""Area on the last sheet above the least there was, in sheets, up to which it is filled to see."""
EXCHANGES: Final = 1
"""Of so many turns and one, those that exchange."""
LAST_WIDTH: Final = 40
"""Beam of the last sheet after an exchange."""


def kept(pattern: Laid, stay: Collection[int], flaws: Any, length: int) -> tuple[Span, ...]:
    """The strips that stay, one beside the other from the near side on.

    A strip stays only where no flaw lies in its new place, if that is another one, and not if it ended at the
    far side: its cuts may be closer to the side than they may be to a cut.

    Parameters
    ----------
    pattern
        Of the sheet.
    stay
        Which of its strips are to stay, by their place in the pattern.
    flaws
        (F, 5) x0, y0, x1, y1 in the pattern's frame and a kind. [search units]
    length
        Of the sheet in this frame. [search units]
    """
    out: list[Span] = []
    at = near = 0
    for k, strip in enumerate(pattern.strips):
        x, near = near, strip.end
        if strip.is_waste or k not in stay or strip.end == length:
            continue
        end = at + strip.end - x
        if x == at:
            out.append(strip)
        elif not any(f[0] < end and f[2] > at for f in flaws):
            out.append(Span(end, parts=tuple(_moved(row, at - x) for row in strip.parts)))
        else:
            continue
        at = end
    return tuple(out)


def _moved(row: Span, by: int) -> Span:
    return Span(row.end, row.rect, tuple(Span(c.end + by, c.rect, c.parts) for c in row.parts))
