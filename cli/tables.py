"""Tables for stdout: plain text that fits the terminal, safe against markup and control characters."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Sequence
from io import StringIO
from typing import Final

from panewright.io.problems import shown

PIPE_WIDTH: Final = 160
"""Width of tables that go to a file or pipe. [characters]"""


def table(title: str, headings: Sequence[str], rows: Sequence[Sequence[str]], *, left: int = 1) -> str:
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
    """
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    terminal = sys.stdout.isatty()
    plain = not (sys.stdout.encoding or "").lower().replace("-", "").startswith("utf")
    out = Table(box=box.ASCII if plain else box.SIMPLE_HEAD, title=Text(title), title_justify="left")
    for i, heading in enumerate(headings):
        out.add_column(Text(heading), justify="left" if i < left else "right", overflow="fold")
    for row in rows:
        out.add_row(*(Text(shown(cell, 200)) for cell in row))
    console = Console(
        file=StringIO(),
        width=shutil.get_terminal_size().columns if terminal else PIPE_WIDTH,
        force_terminal=terminal,
        legacy_windows=False,
        markup=False,
        highlight=False,
        emoji=False,
    )
    with console.capture() as capture:
        console.print(out)
    return "\n".join(line.rstrip() for line in capture.get().splitlines())
