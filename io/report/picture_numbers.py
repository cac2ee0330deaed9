"""The numbers behind a picture as a table: for those who cannot see it, and for those who want to reckon on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite
from typing import Final

from panewright.io.report.model import Bars, Cloud, Column, Curve, Fan, Kind, Picture, Table, Value
from panewright.nesting.text import tr

_LIMIT: Final = 1e290
"""Sums of some values up to here are still numbers."""


def picture_table(picture: Picture) -> Table:
    """Its numbers, one row a place or a point."""
    match picture:
        case Fan():
            columns = [Column(name=tr("at"))]
            values: list[Sequence[Value]] = [picture.places]
            for band in picture.bands:
                for name, ends in (
                    (tr("{band}, from", band=band.name), band.low),
                    (tr("{band}, to", band=band.name), band.high),
                ):
                    columns.append(Column(name=name, kind=number_kind(ends)))
                    values.append(_known(ends))
            _add(columns, values, picture.curves)
            for name, level in picture.levels:
                columns.append(Column(name=name, kind=number_kind([level])))
                values.append(_known([level] * len(picture.places)))
        case Bars():
            columns = [Column(name=tr("at"))]
            values = [picture.places]
            _add(columns, values, picture.series)
        case Cloud():
            points = [(name, x, y) for name, group in picture.groups for x, y in group]
            across, up = [x for _, x, _ in points], [y for _, _, y in points]
            columns = [
                Column(name=tr("group")),
                Column(name=picture.across, kind=number_kind(across)),
                Column(name=picture.up, kind=number_kind(up)),
            ]
            values = [[name for name, _, _ in points], _known(across), _known(up)]
    # a curve that is shorter than its places is shown as far as it goes
    rows = range(max(map(len, values), default=0))
    return Table(
        title=picture.title,
        columns=tuple(columns),
        rows=tuple(tuple(column[i] if i < len(column) else None for column in values) for i in rows),
    )


def known(value: float | None) -> bool:
    """Whether a value can be drawn."""
    return value is not None and isfinite(value) and abs(value) < _LIMIT


def picture_tables(title: str, pictures: Iterable[Picture]) -> list[Table]:
    """The numbers of pictures, those with the same columns in one table that names the picture first."""
    alike: dict[tuple[str, ...], list[Table]] = {}
    for table in map(picture_table, pictures):
        if table.rows:
            alike.setdefault(tuple(column.name for column in table.columns), []).append(table)
    out = []
    for tables in alike.values():
        kinds = [{table.columns[j].kind for table in tables} for j in range(len(tables[0].columns))]
        columns = [
            # numbers are whole for all of them or for none
            Column(name=column.name, kind=column.kind if len(kind) == 1 else "number")
            for column, kind in zip(tables[0].columns, kinds, strict=True)
        ]
        rows = tuple((table.title, *row) for table in tables for row in table.rows)
        out.append(Table(title=title, columns=(Column(name=tr("picture")), *columns), rows=rows))
    return out


def _add(columns: list[Column], values: list[Sequence[Value]], curves: Iterable[Curve]) -> None:
    for curve in curves:
        columns.append(Column(name=curve.name, kind=number_kind(curve.values)))
        values.append(_known(curve.values))


def _known(values: Sequence[float | None]) -> list[Value]:
    return [value if value is not None and isfinite(value) else None for value in values]


def number_kind(values: Iterable[float | None]) -> Kind:
    """``count`` where all are whole numbers."""
    known = [value for value in values if value is not None and isfinite(value)]
    return "count" if known and all(value == round(value) for value in known) else "number"
