"""What a report holds, whatever it is written as: words, tables of raw values, and pictures of numbers.

Values stay raw here (whole money, nm2, dates); only the writers turn them into text or cells.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Literal

Kind = Literal["text", "count", "number", "share", "money", "m2", "kg", "metres", "day", "week"]
"""count: whole number; number: Fraction or float, two decimals; share: Fraction, shown in per cent; money: 1/10,000 of the
currency; m2: nm2; kg: grams; metres: nm; day: date; week: whole week (see `demand.weeks`)."""
Value = str | int | float | Fraction | date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a table.

    Parameters
    ----------
    name
        Its heading, translated.
    kind
        What its values are.
    """

    name: str
    kind: Kind = "text"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table of raw values; None is an empty cell. `total`, where there is one, is its last row."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Value, ...], ...]
    total: tuple[Value, ...] | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A band of a fan: name and both ends at each place."""

    name: str
    low: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """A line over the places; None leaves a gap. `steps` draws it as a stair."""

    name: str
    values: tuple[float | None, ...]
    steps: bool = False
    dashed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Fan:
    """Bands and curves over places in a row: a fan of needs, a projection of stock."""

    title: str
    places: tuple[str, ...]
    up: str
    bands: tuple[Band, ...] = ()
    curves: tuple[Curve, ...] = ()
    levels: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Bars:
    """Bars side by side, one group a place; `parts` stacks the series instead."""

    title: str
    places: tuple[str, ...]
    up: str
    series: tuple[Curve, ...]
    parts: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Cloud:
    """Points: (x, y) by name of their group."""

    title: str
    across: str
    up: str
    groups: tuple[tuple[str, tuple[tuple[float, float], ...]], ...]


Picture = Fan | Bars | Cloud


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """One subject: a sheet of the workbook, a section of page and PDF."""

    name: str
    words: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    pictures: tuple[Picture, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """A whole report; `lead` are the sentences that matter most, `cautions` stand at its end."""

    title: str
    about: str
    lead: tuple[str, ...]
    subjects: tuple[Subject, ...]
    cautions: tuple[str, ...] = ()
    currency: str = "EUR"
