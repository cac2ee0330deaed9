"""Lists as JSON or TOML: every entry an object, its values turned into the texts of a row.

Numbers come out exactly and plainly. A value that is no cell (nested too deeply, NaN, a key twice) is a
problem of its entry; the other entries are read all the same.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any, Final

from panewright.io.csv_rows import file_text
from panewright.io.list_limits import MAX_CELL, Refused, check_count
from panewright.io.problems import Problems, shown
from panewright.nesting.text import tr

SUFFIXES: Final = (".json", ".toml")
LISTS: Final = ("orders", "panels", "stock", "fillers", "history", "supply", "arriving", "rows")
"""Keys under which the list may stand."""
MAX_PLACES: Final = 30
"""Digits of a number before or behind its decimal point, at most."""

_HALF_CHARACTER: Final = re.compile("[\ud800-\udfff]")


@dataclass(frozen=True, slots=True)
class _Odd:
    """A number that is none: NaN, infinite, or with far too many digits."""

    text: str


class _Object(dict[str, Any]):
    """An object that remembers the keys that stood twice in it."""

    def __init__(self, pairs: list[tuple[str, Any]]) -> None:
        super().__init__(pairs)
        seen: set[str] = set()
        self.twice = [key for key, _ in pairs if key in seen or seen.add(key)]  # type: ignore[func-returns-value]


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry: its number, counted from 1, the texts of its values by key, and whether all could be read."""

    number: int
    texts: dict[str, str]
    fine: bool


class _BadValue(Exception):
    """A value that is no cell, with reason and remedy."""

    def __init__(self, reason: str, remedy: str) -> None:
        self.reason, self.remedy = reason, remedy
        super().__init__(reason, remedy)


def read_entries(path: Path, file: str, problems: Problems) -> list[Entry]:
    """The entries of a list.

    Parameters
    ----------
    path
        A ``.json`` file, ``{"orders": [{...}, ...]}`` or a bare list of objects, or a ``.toml`` file with
        tables ``[[orders]]``.
    file
        Its name, for messages.
    problems
        Collects what is wrong.

    Returns
    -------
    list of Entry
        All that are objects; a value that is null or cannot be read is an empty text.

    Raises
    ------
    Refused
        The file cannot be read at all; the problem is noted.
    """
    text = file_text(path, file, problems, tr("save the file as UTF-8"))
    toml = path.suffix.lower() == ".toml"
    data = _parsed(text, _toml if toml else _json, "TOML" if toml else "JSON", file, problems)
    out = []
    listed = _list(data, file, problems)
    if not listed:
        problems.add(file, tr("the list is empty"), tr("give at least one entry"))
        raise Refused
    for number, entry in enumerate(listed, start=1):
        check_count(number, len(entry) if isinstance(entry, dict) else 0, file, problems)
        if not isinstance(entry, dict):
            problems.add(
                file,
                tr("this entry is no object of keys and values"),
                tr('write it as in {"order": "A", "panel": "front", "width": 600}'),
                row=number,
                value=_seen(entry),
            )
            continue
        out.append(_entry(number, entry, file, problems))
    return out


def _number(text: str) -> Decimal | _Odd:
    try:
        value = Decimal(text) if len(text) <= 100 else Decimal("NaN")
    except InvalidOperation:
        return _Odd(text)
    if not value.is_finite() or (value and not -MAX_PLACES < value.adjusted() < MAX_PLACES):
        return _Odd(text)
    return value


def _json(text: str) -> Any:
    return json.loads(
        text, parse_float=_number, parse_int=_number, parse_constant=_Odd, object_pairs_hook=_Object
    )


def _toml(text: str) -> Any:
    return tomllib.loads(text, parse_float=_number)


def _parsed(text: str, parse: Callable[[str], Any], name: str, file: str, problems: Problems) -> Any:
    try:
        return parse(text)
    except RecursionError:
        reason, row = tr("nested too deeply"), None
    except ValueError as error:
        reason = shown(getattr(error, "msg", None) or error, 120)
        row = getattr(error, "lineno", None)
        if row is not None:
            reason = tr("{reason} in line {line}", reason=reason, line=row)
    problems.add(
        file,
        tr("this is no readable {name} ({reason})", name=name, reason=reason),
        tr("correct the file there, or save the list as CSV UTF-8"),
    )
    raise Refused


def _list(data: Any, file: str, problems: Problems) -> list[Any]:
    """The list itself, or the one under its key."""
    if isinstance(data, list):
        return data
    lists = [key for key in LISTS if key in data] if isinstance(data, dict) else []
    if len(lists) == 1 and isinstance(data[lists[0]], list):
        for key in data:
            if key != lists[0]:
                problems.note(file, tr("this key is not known and is left out"), column=key)
        for key in getattr(data, "twice", ()):
            problems.add(file, tr("the key {key} stands twice", key=shown(key)), tr("delete one of them"))
        found: list[Any] = data[lists[0]]
        return found
    problems.add(
        file,
        tr("the file holds several lists") if len(lists) > 1 else tr("the file holds no list of entries"),
        tr("put the entries under one key, in JSON {json}, in TOML {toml}", json='{"orders": [...]}',
           toml="[[orders]]"),
    )  # fmt: skip
    raise Refused


def _entry(number: int, entry: dict[str, Any], file: str, problems: Problems) -> Entry:
    texts: dict[str, str] = {}
    fine = True
    for key in getattr(entry, "twice", ()):
        fine = False
        problems.add(
            file, tr("the key stands twice in this entry"), tr("delete one of them"), row=number, column=key
        )
    for key, value in entry.items():
        texts[key] = ""
        try:
            texts[key] = _cell(value)
        except _BadValue as error:
            fine = False
            problems.add(file, error.reason, error.remedy, row=number, column=key, value=_seen(value))
    return Entry(number, texts, fine)


def _seen(value: Any) -> str:
    """A value for a message; what is large or deep is only named by its kind."""
    match value:
        case _Odd(text):
            return text
        case str() | bool() | int() | Decimal():
            return str(value) if not isinstance(value, int) or abs(value) < 10**60 else tr("a number")
        case list():
            return tr("a list")
        case dict():
            return tr("an object")
        case _:
            return str(value)


def _cell(value: Any) -> str:
    """The text of a value: of a list, its parts set apart by a stroke."""
    match value:
        case list():
            text = " | ".join(_part(part) for part in value)
        case dict():
            if getattr(value, "twice", ()):
                raise _BadValue(tr("a key stands twice in this object"), tr("delete one of them"))
            text = " | ".join(f"{_plain(key)}: {_plain(part)}" for key, part in value.items())
        case _:
            text = _scalar(value)
    if len(text) > MAX_CELL:
        raise _BadValue(tr("the value holds more than {limit} characters", limit=MAX_CELL), tr("shorten it"))
    return text


def _part(value: Any) -> str:
    """A part of a list: a text, a number, or a corner of two lengths."""
    if not isinstance(value, list):
        return _plain(value)
    if len(value) != 2:
        raise _BadValue(
            tr("a list within a list that is not one x and one y"),
            tr("write corners as in [[0, 0], [600, 0]]"),
        )
    x, y = (_plain(part) for part in value)
    return f"{x}; {y}" if " " in x + y else f"{x} {y}"


def _plain(value: Any) -> str:
    """A single value in a list or an object, which may not hold the sign that sets them apart."""
    text = _scalar(value)
    if "|" in text:
        raise _BadValue(
            tr("a text in a list or an object holds the sign |"), tr("make it two entries of the list")
        )
    return text


def _scalar(value: Any) -> str:
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case str():
            if _HALF_CHARACTER.search(value):
                raise _BadValue(tr("the text holds half of a character"), tr("type it again"))
            return value.replace("\u00a0", " ").strip()
        case int() | Decimal():
            return _digits(value)
        case datetime():
            midnight = value.time() == time() and value.tzinfo is None
            return value.date().isoformat() if midnight else value.isoformat(" ")
        case date():
            return value.isoformat()
        case _Odd():
            raise _BadValue(
                tr("this is no number that a list can hold"), tr("give a finite number of a few digits")
            )
        case list() | dict():
            raise _BadValue(
                tr("lists and objects within a list or an object are not read"),
                tr("write the value as text, as it would stand in a cell of a CSV list"),
            )
        case _:
            raise _BadValue(tr("a value of this kind is not read"), tr("write it as text in quotes"))


def _digits(value: int | Decimal) -> str:
    if isinstance(value, int):
        if abs(value) >= 10**MAX_PLACES:
            raise _BadValue(
                tr("this is no number that a list can hold"), tr("give a finite number of a few digits")
            )
        return str(value)
    text = format(value, "f")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text
