"""Problems of input: each with file, row, column, value, reason and remedy, all collected."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from panewright.nesting.text import tr

Severity = Literal["error", "warning", "note"]

SHOWN: Final = 60
"""Longest part of a value that a message shows. [characters]"""
KEPT: Final = 500
"""Problems kept one by one; beyond that they are only counted."""


def shown(value: object, length: int = SHOWN) -> str:
    """A value from outside as safe text on one line: control characters escaped, cut short.

    Examples
    --------
    >>> shown("a\\x1b[31mb")
    'a\\\\x1b[31mb'
    """
    text = value if isinstance(value, str) else str(value)
    if isinstance(value, bool):
        text = text.lower()  # as TOML and JSON write it
    cut = len(text) > length
    text = text[:length]
    # direction marks and line separators could rewrite the message around them
    safe = "".join(
        c if c.isprintable() or c == "\u00a0" else c.encode("unicode_escape", "replace").decode("ascii")
        for c in text
    )
    return f"{safe}..." if cut else safe


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that is wrong, or worth knowing, in an input file.

    Parameters
    ----------
    file
        Name of the file.
    row
        Row as the user sees it, counted from 1, or None.
    column
        Column or setting, or None.
    value
        What was read, made safe and cut short.
    reason
        What is wrong with it.
    remedy
        What to do.
    severity
        An error stops the run; a warning must be heard, a note need not.
    """

    file: str
    row: int | None = None
    column: str | None = None
    value: str = ""
    reason: str
    remedy: str = ""
    severity: Severity = "error"

    def __str__(self) -> str:
        where = self.file
        if self.row is not None:
            where = tr("{where}, row {row}", where=where, row=self.row)
        if self.column is not None:
            where = tr('{where}, column "{column}"', where=where, column=self.column)
        if self.value:
            where = tr('{where}, value "{value}"', where=where, value=self.value)
        if self.remedy:
            return tr("{where}: {reason}; {remedy}", where=where, reason=self.reason, remedy=self.remedy)
        return tr("{where}: {reason}", where=where, reason=self.reason)


class Problems:
    """Collects problems while reading goes on; true as soon as there is an error."""

    def __init__(self) -> None:
        self._found: list[Problem] = []
        self._errors = self._notes = 0

    def add(
        self,
        file: object,
        reason: str,
        remedy: str = "",
        *,
        row: int | None = None,
        column: str | None = None,
        value: object = "",
        severity: Severity = "error",
    ) -> None:
        """Add a problem; file, column and value are made safe to show."""
        if severity == "error":
            self._errors += 1
            kept = self._errors
        else:
            self._notes += 1
            kept = self._notes
        if kept <= KEPT:
            self._found.append(
                Problem(
                    file=shown(file, 200),
                    row=row,
                    column=None if column is None else shown(column),
                    value=shown(value),
                    reason=reason,
                    remedy=remedy,
                    severity=severity,
                )
            )

    def note(
        self,
        file: object,
        reason: str,
        remedy: str = "",
        *,
        row: int | None = None,
        column: str | None = None,
        value: object = "",
    ) -> None:
        """Add something worth knowing that stops nothing."""
        self.add(file, reason, remedy, row=row, column=column, value=value, severity="note")

    @property
    def errors(self) -> list[Problem]:
        """The errors, in the order in which they were found."""
        return [p for p in self._found if p.severity == "error"]

    @property
    def notes(self) -> list[Problem]:
        """The notes, in the order in which they were found."""
        return [p for p in self._found if p.severity == "note"]

    @property
    def warnings(self) -> list[Problem]:
        """The warnings, in the order in which they were found."""
        return [p for p in self._found if p.severity == "warning"]

    @property
    def error_count(self) -> int:
        """How many errors were found, those beyond the kept ones included."""
        return self._errors

    def __bool__(self) -> bool:
        return self._errors > 0

    def __len__(self) -> int:
        return self._errors + self._notes

    def __iter__(self) -> Iterator[Problem]:
        return iter(self._found)

    def lines(self) -> list[str]:
        """One line a problem, errors first, then warnings; a last line counts what was not kept."""
        lines = [str(p) for p in self.errors]
        lines += [tr("WARNING: {text}", text=str(p)) for p in self.warnings]
        lines += [tr("note: {text}", text=str(p)) for p in self.notes]
        dropped = self._errors + self._notes - len(self._found)
        if dropped:
            lines.append(tr("and {count} more", count=dropped))
        return lines

    def to_json(self) -> dict[str, object]:
        """For programs: the numbers of errors and notes and every kept problem."""
        return {
            "errors": self._errors,
            "notes": self._notes,
            "problems": [
                {
                    "severity": p.severity,
                    "file": p.file,
                    "row": p.row,
                    "column": p.column,
                    "value": p.value,
                    "reason": p.reason,
                    "remedy": p.remedy,
                }
                for p in (*self.errors, *self.warnings, *self.notes)
            ],
        }
