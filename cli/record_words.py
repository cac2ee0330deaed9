"""Sizes as they are typed: bare numbers are in the unit of the plan."""

from __future__ import annotations

import click

from panewright.io.lengths import BadValue, parse_length
from panewright.nesting.text import tr
from panewright.nesting.units import LengthUnit


def size_of(text: str | None, unit: LengthUnit) -> tuple[int, int] | None:
    """Width and height of ``598x300``. [nm]"""
    if text is None:
        return None
    found = _lengths("--size", text.lower().replace("×", "x").split("x"), unit, 2, "598x300")
    if min(found) <= 0:
        raise click.UsageError(tr("--size: expected two lengths above 0"))
    return found[0], found[1]


def _lengths(option: str, parts: list[str], unit: LengthUnit, count: int, example: str) -> list[int]:
    if len(parts) != count:
        raise click.UsageError(tr("{option}: write it as in {example}", option=option, example=example))
    try:
        return [parse_length(part.strip(), unit) for part in parts]
    except BadValue as error:
        raise click.UsageError(f"{option}: {error.reason}; {error.remedy}") from None
