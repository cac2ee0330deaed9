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


def table(
    title: str,
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    left: int = 1,
    words: Collection[int] = (),
    wrap: bool = False,
) -> str:
    """A table as text.

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
    for i, heading in enumerate(headings):
        longest = max((len(row[i]) for row in safe), default=1)
        least = 1 if wrap and i == len(headings) - 1 else min(longest, 60)
        justify: Literal["left", "right"] = "left" if i < left or i in words else "right"
        out.add_column(
            Text(heading),
            justify=justify,
            min_width=least,
            overflow="fold",
            vertical="top" if wrap else "bottom",
        )
    for row in safe:
        out.add_row(*map(Text, row))
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
