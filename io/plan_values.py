"""JSON values of a plan file: every one checked, all faults collected, numbers taken exactly."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Sequence
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Any, Final, NoReturn, TypeVar

from panewright.io.problems import Problem, shown
from panewright.nesting.errors import NestingError
from panewright.nesting.outlines import Outline
from panewright.nesting.text import tr

MOST_BYTES: Final = 200 * 2**20
MOST_DEPTH: Final = 40
MOST_MM: Final = 100_000
"""No length in a plan is longer; a 6 m sheet is 6,000. [mm]"""
MOST_POINTS: Final = 2_000
"""Of an outline: every edge of a panel is a score of its own, and the checker compares all with all."""
MOST_MONEY: Final = 10**9
"""[units of the currency]"""
MOST_FAULTS: Final = 50

_HALF_CHARACTER = re.compile("[\ud800-\udfff]")
_AGAIN = "write the plan again, or undo what was changed in the file"

E = TypeVar("E", bound=Enum)
W = TypeVar("W", bound=str)


class PlanFileError(NestingError, ValueError):
    """A file that is no readable plan.

    Parameters
    ----------
    source
        Name of the file.
    problems
        What is wrong; `Problem.column` is the place in the file, as ``sheets[2].cuts[0].from``.
    """

    def __init__(self, source: str, problems: tuple[Problem, ...]) -> None:
        self.source, self.problems = source, problems
        super().__init__(source, problems)

    def __str__(self) -> str:
        rows = [line(problem) for problem in self.problems[:10]]
        more = len(self.problems) - 10
        return "\n".join([*rows, tr("and {count} more", count=more)] if more > 0 else rows)


def line(problem: Problem) -> str:
    """A problem of a plan file on one line: file, place, value, reason, remedy."""
    where = [problem.file, *([problem.column] if problem.column else [])]
    if problem.value:
        where.append(problem.value)
    return tr(
        "{where}: {reason}; {remedy}", where=": ".join(where), reason=problem.reason, remedy=problem.remedy
    )


class Bad(Exception):
    """One fault; `Values` collects it and goes on with the next entry."""


class Values:
    """Takes values out of parsed JSON and collects what is wrong.

    `path` names the place of a value in the file, as ``sheets[2].cuts[0].from``.
    """

    def __init__(self, source: str) -> None:
        self.source = source
        self.problems: list[Problem] = []

    def fail(self, path: str, value: object, reason: str, remedy: str = "") -> NoReturn:
        """Note a fault and leave this entry."""
        if len(self.problems) < MOST_FAULTS:
            self.problems.append(problem(self.source, path, value, reason, remedy))
        raise Bad

    def object(self, value: Any, path: str) -> dict[str, Any]:
        """A JSON object."""
        if not isinstance(value, dict):
            self.fail(path, value, tr("expected an object"))
        return value

    def get(self, data: Any, key: str, path: str) -> Any:
        """A value that must be there."""
        if key not in self.object(data, path):
            self.fail(path, "", tr("the key {key} is missing", key=key), tr("add {key}", key=key))
        return data[key]

    def number(self, value: Any, places: int, path: str, most: int = MOST_MM) -> int:
        """A decimal number as a whole number of 10**-places."""
        if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
            self.fail(path, value, tr("expected a number"), tr("give a number without quotes"))
        if not -most <= value <= most:
            self.fail(path, value, tr("beyond {most}", most=most))
        scaled = Decimal(value).scaleb(places)
        if scaled != scaled.to_integral_value():
            self.fail(path, value, tr("more than {places} decimals", places=places), tr("round it"))
        return int(scaled)

    def length(self, value: Any, path: str) -> int:
        """A length in mm. [nm]"""
        return self.number(value, 6, path)

    def width(self, value: Any, path: str) -> int:
        """A length in mm that is not negative. [nm]"""
        found = self.number(value, 6, path)
        if found < 0:
            self.fail(path, value, tr("negative"))
        return found

    def money(self, value: Any, path: str) -> int:
        """An amount that is not negative. [1/10,000 of the currency]"""
        found = self.number(value, 4, path, MOST_MONEY)
        if found < 0:
            self.fail(path, value, tr("negative"))
        return found

    def whole(self, value: Any, path: str, least: int = 0, most: int = 10**9) -> int:
        """A whole number."""
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            self.fail(
                path, value, tr("expected a whole number from {least} to {most}", least=least, most=most)
            )
        return value

    def text(self, value: Any, path: str, most: int = 400) -> str:
        """A text of sane length."""
        if not isinstance(value, str):
            self.fail(path, value, tr("expected a text"), tr("put it in quotes"))
        if len(value) > most:
            self.fail(path, value, tr("longer than {most} characters", most=most), tr("shorten it"))
        if _HALF_CHARACTER.search(value):
            self.fail(path, value, tr("holds half of a character"))
        return value

    def flag(self, value: Any, path: str) -> bool:
        """True or false."""
        if not isinstance(value, bool):
            self.fail(path, value, tr("expected true or false"))
        return value

    def choice(self, kind: type[E], value: Any, path: str) -> E:
        """One of the words of an enumeration."""
        return kind(self.word([m.value for m in kind], value, path))

    def word(self, words: Sequence[W], value: Any, path: str) -> W:
        """One of these words."""
        for word in words:
            if value == word:
                return word
        self.fail(path, value, tr("expected one of {words}", words=", ".join(words)))

    def day(self, value: Any, path: str) -> date | None:
        """An ISO date or null."""
        if value is None:
            return None
        text = self.text(value, path, 10)
        try:
            return date.fromisoformat(text)
        except ValueError:
            self.fail(path, value, tr("no date"), tr("give a date such as 2027-03-09"))

    def point(self, value: Any, path: str) -> tuple[int, int]:
        """Two lengths. [nm]"""
        if not isinstance(value, list) or len(value) != 2:
            self.fail(path, value, tr("expected two numbers"))
        return self.length(value[0], f"{path}[0]"), self.length(value[1], f"{path}[1]")

    def outline(self, value: Any, path: str) -> Outline:
        """At least three points. [nm]"""
        if not isinstance(value, list) or not 3 <= len(value) <= MOST_POINTS:
            self.fail(path, "", tr("expected from 3 to {most} points", most=MOST_POINTS))
        return tuple(self.point(p, f"{path}[{i}]") for i, p in enumerate(value))

    def each(self, value: Any, path: str, read: Callable[[Any, str], Any]) -> tuple[Any, ...]:
        """Every entry of a list; a bad one is noted and left out."""
        if not isinstance(value, list):
            self.fail(path, value, tr("expected a list"))
        out = []
        for i, entry in enumerate(value):
            try:
                out.append(read(entry, f"{path}[{i}]"))
            except Bad:
                continue
        return tuple(out)

    def others(self, data: dict[str, Any], known: frozenset[str], path: str) -> dict[str, Any]:
        """The keys that this version does not know, to be kept as they are."""
        out = {key: value for key, value in data.items() if key not in known}
        self._sane(out, path, MOST_DEPTH)
        return out

    def _sane(self, value: Any, path: str, depth: int) -> None:
        if not depth:
            self.fail(path, "", tr("nested too deeply"))
        if isinstance(value, str):
            self.text(value, path, 10**6)
        elif isinstance(value, dict):
            for key, entry in value.items():
                self._sane(self.text(key, path), path, depth - 1)
                self._sane(entry, f"{path}.{key[:40]}", depth - 1)
        elif isinstance(value, list):
            for i, entry in enumerate(value):
                self._sane(entry, f"{path}[{i}]", depth - 1)


def problem(source: str, path: str, value: object, reason: str, remedy: str = "") -> Problem:
    """A problem of a plan file, its value safe to show."""
    return Problem(
        file=source, column=shown(path, 200), value=shown(value), reason=reason, remedy=remedy or tr(_AGAIN)
    )


def _no_constant(name: str) -> NoReturn:
    raise ValueError(tr("{name} is no number", name=name))


def _decimal(text: str) -> Decimal:
    # far more than any figure needs, and few enough that every kept number can be written out again
    value = Decimal(text) if len(text) <= 120 else Decimal("NaN")
    if not value.is_finite() or len(value.as_tuple().digits) > 40 or not -30 < value.adjusted() < 30:
        raise ValueError(tr("{text} is no sane number", text=text[:20]))
    return value


def _integer(text: str) -> int:
    return int(_decimal(text))


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    out = dict(pairs)
    if len(out) != len(pairs):
        raise ValueError(tr("a key stands twice in one object"))
    return out


def parse(text: str, source: str) -> Any:
    """JSON with exact numbers, no NaN, no key twice, and limits on size and depth.

    Raises
    ------
    PlanFileError
        No such JSON.
    """
    if len(text) > MOST_BYTES:
        reason = tr("larger than {most} MB", most=MOST_BYTES // 2**20)
        raise PlanFileError(source, (problem(source, "", "", reason),))
    try:
        return json.loads(
            text,
            parse_float=_decimal,
            parse_int=_integer,
            parse_constant=_no_constant,
            object_pairs_hook=_once,
        )
    except (ValueError, RecursionError) as error:
        why = tr("nested too deeply") if isinstance(error, RecursionError) else str(error)
        reason = tr("no readable JSON: {reason}", reason=shown(why, 200))
        raise PlanFileError(source, (problem(source, "", "", reason),)) from None
