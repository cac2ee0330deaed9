"""A report on the terminal, its tables as wide as those of all commands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panewright.cli.tables import table

if TYPE_CHECKING:
    from panewright.io.report.model import Report


def report_screen(report: Report, *, most: int | None = None) -> str:
    """The report as text for stdout.

    Parameters
    ----------
    report
        The report.
    most
        Rows of a table that are shown before its total; None for the usual number.
    """
    from panewright.io.report.screen import MOST_ROWS, screen_parts

    out: list[str] = []
    for part in screen_parts(report, most=MOST_ROWS if most is None else most):
        if isinstance(part, str):
            out.append(part)
            continue
        text = (
            table(part.title, part.headings, part.rows, left=part.left, words=part.words, wrap=part.wrap)
            .strip("\n")
            .rstrip()
        )
        out.append("\n".join([text, *(f"  {note}" for note in part.notes)]))
    return "\n\n".join(out)
