"""What a picture says in words, for those who cannot see it: ends, least and greatest of every line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from panewright.io.problems import shown
from panewright.io.report.model import Bars, Cloud, Fan, Picture
from panewright.io.report.picture_numbers import known, number_kind
from panewright.io.report.value_text import text_of
from panewright.nesting.text import tr, tr_count

_MOST: Final = 8
"""Lines, bands or groups that are told; the table beside the picture holds all."""


def picture_words(picture: Picture) -> str:
    """One text of the numbers that matter."""
    parts = [_name(picture.title)]
    match picture:
        case Fan():
            parts.append(_places(picture.places, picture.up))
            parts += [_line(c.name, c.values, picture.places) for c in picture.curves[:_MOST]]
            for band in picture.bands[:_MOST]:
                ends = [v for v in (*band.low, *band.high) if known(v)]
                if ends:
                    told = _said(min(ends), ends), _said(max(ends), ends)
                    parts.append(
                        tr("{name}: from {low} to {high}", name=_name(band.name), low=told[0], high=told[1])
                    )
            for name, value in picture.levels[:_MOST]:
                parts.append(tr("{name}: {value}", name=_name(name), value=_said(value, [value])))
        case Bars():
            parts.append(_places(picture.places, picture.up))
            parts += [_line(c.name or picture.up, c.values, picture.places) for c in picture.series[:_MOST]]
        case Cloud():
            for name, points in picture.groups[:_MOST]:
                inside = [(x, y) for x, y in points if known(x) and known(y)]
                count = tr_count(
                    "{name}: {count} point", "{name}: {count} points", len(inside), name=_name(name)
                )
                if not inside:
                    parts.append(count)
                    continue
                across, up = [x for x, _ in inside], [y for _, y in inside]
                parts.append(
                    tr(
                        "{points}, {across} {x0} to {x1}, {up} {y0} to {y1}",
                        points=count,
                        across=_name(picture.across),
                        x0=_said(min(across), across),
                        x1=_said(max(across), across),
                        up=_name(picture.up),
                        y0=_said(min(up), up),
                        y1=_said(max(up), up),
                    )
                )
    return ". ".join(part for part in parts if part) + "."


def _name(text: str) -> str:
    return shown(text, 120)


def _said(value: float, beside: Sequence[float]) -> str:
    return text_of(value, number_kind(beside))


def _places(places: Sequence[str], up: str) -> str:
    if not places:
        return tr("nothing to show")
    if len(places) == 1:
        return tr("{what} at {place}", what=_name(up), place=_name(places[0]))
    return tr(
        "{what}, {count} places from {first} to {last}",
        what=_name(up),
        count=len(places),
        first=_name(places[0]),
        last=_name(places[-1]),
    )


def _line(name: str, values: Sequence[float | None], places: Sequence[str]) -> str:
    at = [(v, places[i]) for i, v in enumerate(values[: len(places)]) if v is not None and known(v)]
    if not at:
        return tr("{name}: no value", name=_name(name))
    numbers = [v for v, _ in at]
    if len(at) == 1:
        return tr("{name}: {value}", name=_name(name), value=_said(numbers[0], numbers))
    least, greatest = min(at, key=lambda one: one[0]), max(at, key=lambda one: one[0])
    return tr(
        "{name}: first {first}, last {last}, least {least} at {low}, greatest {greatest} at {high}",
        name=_name(name),
        first=_said(numbers[0], numbers),
        last=_said(numbers[-1], numbers),
        least=_said(least[0], numbers),
        low=_name(least[1]),
        greatest=_said(greatest[0], numbers),
        high=_name(greatest[1]),
    )
