"""Tables of a settings file read key by key: types, sane ranges, unknown keys with the nearest known."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from panewright.io.lengths import BadValue, parse_length
from panewright.io.problems import Problems
from panewright.nesting.text import tr
from panewright.nesting.units import NM_PER_MM, show, to_tick


class Section:
    """One table of a settings file.

    Every key that is asked for is known; `close` reports the others.

    Parameters
    ----------
    table
        What the file holds there; anything but a table is a problem.
    name
        Dotted name of the table, empty for the file itself.
    file
        Name of the file.
    problems
        Collects what is wrong.
    """

    def __init__(self, table: object, name: str, file: str, problems: Problems) -> None:
        self.name, self.file, self.problems = name, file, problems
        self.known: list[str] = []
        self.table: Mapping[str, Any] = table if isinstance(table, dict) else {}
        if table is not None and not isinstance(table, dict):
            self._add(name, table, tr("this is no table of settings"), tr("write [{name}]", name=name))

    def path(self, key: str) -> str:
        """Dotted name of a key."""
        return f"{self.name}.{key}" if self.name else key

    def _add(self, path: str, value: object, reason: str, remedy: str) -> None:
        self.problems.add(self.file, reason, remedy, column=path, value=value)

    def bad(self, key: str, reason: str, remedy: str, value: object = None) -> None:
        """Note an error of a key."""
        self._add(self.path(key), self.table.get(key, "") if value is None else value, reason, remedy)

    def has(self, key: str) -> bool:
        """Whether the file sets this key."""
        self.known.append(key)
        return key in self.table

    def raw(self, key: str) -> Any:
        """Whatever the file holds under this key, or None."""
        self.known.append(key)
        return self.table.get(key)

    def section(self, key: str) -> Section:
        """A table inside this one; empty where the file has none."""
        return Section(self.raw(key), self.path(key), self.file, self.problems)

    def word(self, key: str, words: Mapping[str, Any], default: Any) -> Any:
        """One of a few words, as what it stands for."""
        if not self.has(key):
            return default
        value = self.table[key]
        if isinstance(value, str) and value.strip().lower() in words:
            return words[value.strip().lower()]
        self.bad(key, tr("this word is not known"), tr("write one of: {words}", words=", ".join(words)))
        return default

    def text(self, key: str, default: str, longest: int = 80) -> str:
        """A short printable text."""
        if not self.has(key):
            return default
        value = self.table[key]
        if isinstance(value, str) and value.isprintable() and len(value) <= longest:
            return value
        self.bad(
            key,
            tr("this is no printable text of at most {limit} characters", limit=longest),
            tr("correct it"),
        )
        return default

    def flag(self, key: str, default: bool | None) -> bool | None:
        """True or false."""
        if not self.has(key):
            return default
        value = self.table[key]
        if isinstance(value, bool):
            return value
        self.bad(key, tr("this is neither true nor false"), tr("write true or false"))
        return default

    def number(self, key: str, low: Fraction | int, high: Fraction | int) -> Fraction | None:
        """A number within a sane range, or None where it is not set or wrong."""
        if not self.has(key):
            return None
        return self.checked(key, self.table[key], low, high)

    def checked(self, key: str, value: object, low: Fraction | int, high: Fraction | int) -> Fraction | None:
        """A value of the file as a number within a range."""
        number = as_number(value)
        if number is not None and low <= number <= high:
            return number
        self.bad(
            key,
            tr("this is no number from {low} to {high}", low=_plain(low), high=_plain(high)),
            tr("correct it"),
            value,
        )
        return None

    def whole(self, key: str, low: int, high: int) -> int | None:
        """A whole number within a sane range, or None."""
        number = self.number(key, low, high)
        if number is not None and number.denominator != 1:
            self.bad(key, tr("this is no whole number"), tr("correct it"))
            return None
        return None if number is None else int(number)

    def length(self, key: str, low: int, high: int) -> int | None:
        """A length [nm] within a sane range, or None."""
        if not self.has(key):
            return None
        return self.as_length(key, self.table[key], low, high)

    def none_or_length(self, key: str, word: str, low: int, high: int) -> int | None:
        """A length [nm] within a sane range, 0 where the file says `word` for none at all, or None."""
        value = self.raw(key)
        if isinstance(value, str) and value.strip().lower() == word:
            return 0
        return self.length(key, low, high)

    def as_length(self, key: str, value: object, low: int, high: int) -> int | None:
        """A value of the file as a length: a number of millimetres, or a text such as ``1/2 in``."""
        length: int | None = None
        if isinstance(value, str):
            try:
                length = parse_length(value, "mm", "point")
            except BadValue as error:
                self.bad(key, error.reason, error.remedy, value)
                return None
        else:
            number = as_number(value)
            # beyond a million the number is refused below anyway
            if number is not None and abs(number) <= 1_000_000:
                length = to_tick(number * NM_PER_MM)
        if length is not None and low <= length <= high:
            return length
        self.bad(
            key,
            tr("this is no length from {low} to {high}", low=show(low), high=show(high)),
            tr('correct it; numbers are millimetres, inches are written as in "1/2 in"'),
            value,
        )
        return None

    def lengths(
        self, key: str, count: int, low: int, high: int, example: str = "[600, 300]"
    ) -> list[int] | None:
        """A list of so many lengths [nm], or None."""
        if not self.has(key):
            return None
        value = self.table[key]
        if not isinstance(value, list) or len(value) != count:
            reason = tr("this is no list of {count} lengths", count=count)
            self.bad(key, reason, tr("write it as in {example}", example=example))
            return None
        found = [self.as_length(key, part, low, high) for part in value]
        good = [length for length in found if length is not None]
        return good if len(good) == count else None

    def close(self) -> None:
        """Report every key that was never asked for, with the nearest known one."""
        for key, value in self.table.items():
            if key in self.known:
                continue
            near = difflib.get_close_matches(key, self.known, n=1, cutoff=0.5)
            self.bad(
                key,
                tr("this setting is not known"),
                tr("did you mean {name}?", name=near[0])
                if near
                else tr("the settings here are {names}", names=", ".join(dict.fromkeys(self.known))),
                "" if isinstance(value, dict | list) else value,
            )


def as_number(value: object) -> Fraction | None:
    """A finite TOML number, exactly; None for anything else."""
    if isinstance(value, bool):
        return None
    if isinstance(value, int):
        return Fraction(value)
    if isinstance(value, Decimal) and value.is_finite() and abs(value.adjusted()) <= 30:
        return Fraction(value)
    return None


def _plain(number: Fraction | int) -> str:
    number = Fraction(number)
    if number.denominator == 1:
        return str(number.numerator)
    return f"{Decimal(number.numerator) / Decimal(number.denominator):f}"
