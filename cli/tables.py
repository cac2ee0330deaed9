"""Tables for stdout: plain text that fits the terminal, safe against markup and control characters."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Collection, Iterable, Sequence
from io import StringIO
from typing import TYPE_CHECKING, Final, Literal

from panewright.io.problems import shown

if TYPE_CHECKING:
    from rich.console import RenderableType

ROOMY: Final = 100
"""Width from which columns stand further apart. [characters]"""
PIPE_WIDTH: Final = 160
"""Width of tables that go to a file or pipe. [characters]"""
MOST_UNBROKEN: Final = 60
"""Cells up to this length stay on one line. [characters]"""
GAP: Final = 3
"""Between two columns, at most. [characters]"""


def table(
    title: str,
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    left: int = 1,
    words: Collection[int] = (),
    wrap: bool = False,
) -> str:
    """A table as text; where it is too wide, columns without any text are left out.

    Parameters
    ----------
    title
        Put above it.
    headings
        One a column.
    rows
        Text of every cell; control characters are escaped.
    left
        Columns from the left that hold words; the others hold numbers and stand to the right.
    words
        Further columns that hold words.
    wrap
        Let the cells of the last column run over several lines.
    """
    from rich import box
    from rich.table import Table
    from rich.text import Text

    terminal = sys.stdout.isatty()
    width = shutil.get_terminal_size().columns if terminal else PIPE_WIDTH
    plain = not (sys.stdout.encoding or "").lower().replace("-", "").startswith("utf")
    out = Table(
        box=box.ASCII if plain else box.SIMPLE_HEAD,
        title=Text(title),
        title_justify="left",
        padding=(0, 1 if plain or width >= ROOMY else 0),
        pad_edge=False,
    )
    safe = [[shown(cell, 300) for cell in row] for row in rows]
    longest = [max((len(row[i]) for row in safe), default=1) for i in range(len(headings))]
    least = [min(n, MOST_UNBROKEN) for n in longest]
    if wrap:
        least[-1] = 1
    shows, fixed = list(range(len(headings))), False
    if sum(least) + GAP * len(least) > width:
        # rich would cut off the columns at the right without a word: headings over several lines instead, no
        # empty columns, and where that does not do, longer lines
        shows, fixed = [i for i in shows if longest[i]], True
        least = [max(n, *map(len, headings[i].split()), 1) for i, n in enumerate(least)]
        width = max(width, sum(least[i] + GAP for i in shows))
    for i in shows:
        justify: Literal["left", "right"] = "left" if i < left or i in words else "right"
        out.add_column(
            Text(headings[i]),
            justify=justify,
            min_width=least[i],
            width=least[i] if fixed and not (wrap and i == shows[-1]) else None,
            overflow="fold",
            vertical="top" if wrap else "bottom",
        )
    for row in safe:
        out.add_row(*(Text(row[i]) for i in shows))
    return as_text([out], width)


def as_text(parts: Iterable[RenderableType], width: int | None = None) -> str:
    """What rich makes of these parts, as plain lines for stdout.

    Parameters
    ----------
    parts
        Tables and texts.
    width
        Default: that of the terminal, or `PIPE_WIDTH`. [characters]
    """
    from rich.console import Console

    terminal = sys.stdout.isatty()
    if width is None:
        width = shutil.get_terminal_size().columns if terminal else PIPE_WIDTH
    console = Console(
        file=StringIO(),
        width=width,
        force_terminal=terminal,
        legacy_windows=False,
        markup=False,
        highlight=False,
        emoji=False,
    )
    with console.capture() as capture:
        for part in parts:
            console.print(part)
    return "\n".join(line.rstrip() for line in capture.get().splitlines())
