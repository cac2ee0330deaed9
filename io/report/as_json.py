"""A report as data for programs: the numbers in the units of its columns, exact where they are whole."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from math import isfinite
from typing import Any, Final

from panewright.io.lengths import number_text
from panewright.io.numbers_text import Raw, decimal
from panewright.io.report.model import Bars, Cloud, Curve, Fan, Kind, Picture, Report, Table, Value
from panewright.io.report.value_text import amount_of, text_of, unit_of

SCHEMA: Final = "panewright.report/1"
_PLACES: Final = 6
"""Decimals of a fraction that has no end."""


def report_json(report: Report) -> dict[str, Any]:
    """All of a report; shares are fractions of one, days ISO 8601, weeks ``2027-W10``.

    Words, headings and titles are in the language of the run; programs go by the places of the columns and
    their kinds.
    """
    return {
        "schema": SCHEMA,
        "title": report.title,
        "about": report.about,
        "currency": report.currency,
        "lead": list(report.lead),
        "subjects": [
            {
                "name": subject.name,
                "words": list(subject.words),
                "tables": [table_json(table, report.currency) for table in subject.tables],
                "pictures": [_picture(picture) for picture in subject.pictures],
            }
            for subject in report.subjects
        ],
        "cautions": list(report.cautions),
    }


def table_json(table: Table, currency: str) -> dict[str, Any]:
    """A table: its columns with kind and unit, its rows as lists in their order."""
    kinds = [column.kind for column in table.columns]
    return {
        "title": table.title,
        "columns": [
            {"name": column.name, "kind": column.kind, "unit": unit_of(column.kind, currency)}
            for column in table.columns
        ],
        "rows": [_row(row, kinds) for row in table.rows],
        "total": None if table.total is None else _row(table.total, kinds),
        "note": table.note,
    }


def _row(row: Sequence[Value], kinds: Sequence[Kind]) -> list[object]:
    return [value_json(value, kind) for value, kind in zip(row, kinds, strict=True)]


def value_json(value: Value, kind: Kind) -> object:
    """A value for JSON: a number, a text, or None where there is none."""
    if value is None or isinstance(value, str):
        return value
    if kind == "week" or isinstance(value, date):
        return text_of(value, kind)
    amount = amount_of(value, kind)
    if amount is None:
        return None if isinstance(value, float) else str(value)
    if isinstance(value, float):
        return _float(float(amount))
    return exact(amount)


def exact(amount: Fraction) -> Raw:
    """A fraction as a decimal: exact where it ends within the decimals of our units, else rounded."""
    for places in (0, 2, 4, 6, 9, 12, 18):
        if (amount * 10**places).denominator == 1:
            return decimal(int(amount * 10**places), places)
    return decimal(round(amount * 10**_PLACES), _PLACES)


def _float(value: float | None) -> Raw | None:
    return Raw(number_text(value)) if value is not None and isfinite(value) else None


def _floats(values: Sequence[float | None]) -> list[Raw | None]:
    return [_float(value) for value in values]


def _curve(curve: Curve) -> dict[str, Any]:
    return {"name": curve.name, "values": _floats(curve.values)}


def _picture(picture: Picture) -> dict[str, Any]:
    match picture:
        case Fan():
            return {
                "picture": "fan",
                "title": picture.title,
                "up": picture.up,
                "places": list(picture.places),
                "bands": [
                    {"name": band.name, "low": _floats(band.low), "high": _floats(band.high)}
                    for band in picture.bands
                ],
                "curves": [_curve(curve) for curve in picture.curves],
                "levels": [{"name": name, "value": _float(value)} for name, value in picture.levels],
            }
        case Bars():
            return {
                "picture": "bars",
                "title": picture.title,
                "up": picture.up,
                "places": list(picture.places),
                "stacked": picture.parts,
                "series": [_curve(curve) for curve in picture.series],
            }
        case Cloud():
            return {
                "picture": "cloud",
                "title": picture.title,
                "across": picture.across,
                "up": picture.up,
                "groups": [
                    {"name": name, "points": [_floats(point) for point in points]}
                    for name, points in picture.groups
                ],
            }
