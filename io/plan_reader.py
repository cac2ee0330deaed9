"""Reads a plan file: every value checked, all faults collected, numbers taken exactly."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from decimal import Decimal, InvalidOperation
from enum import Enum
from typing import Any, Final, NoReturn, TypeVar

from panewright.nesting.edgework import Edge, Work
from panewright.nesting.errors import InvalidRule, NestingError
from panewright.nesting.outlines import Outline
from panewright.nesting.panels import Panel, Purpose, Turn
from panewright.nesting.plan import (
    SCHEMA,
    Bound,
    Cut,
    CutKind,
    GlassOutcome,
    Layout,
    Leaf,
    LeafKind,
    Plan,
    Unplaced,
)
from panewright.nesting.rules import Rules
from panewright.nesting.stock import Side, Trim
from panewright.nesting.text import tr

MOST_BYTES: Final = 200 * 2**20
MOST_DEPTH: Final = 40
MOST_MM: Final = 100_000
"""No length in a plan is longer; a 6 m sheet is 6,000. [mm]"""
MOST_FAULTS: Final = 50
KNOWN: Final = frozenset(
    [
        "schema",
        "plan",
        "program",
        "seed",
        "effort",
        "habit",
        "length_unit",
        "currency",
        "rules",
        "panels",
        "sheets",
        "unplaced",
        "figures",
    ]
)

E = TypeVar("E", bound=Enum)


class PlanFileError(NestingError, ValueError):
    """A file that is no readable plan.

    Parameters
    ----------
    source
        Name of the file.
    faults
        What is wrong, each with its place in the file.
    """

    def __init__(self, source: str, faults: tuple[str, ...]) -> None:
        self.source, self.faults = source, faults
        super().__init__(source, faults)

    def __str__(self) -> str:
        more = len(self.faults) - 10
        rows = [f"{self.source}: {fault}" for fault in self.faults[:10]]
        return "\n".join([*rows, tr("and {count} more", count=more)] if more > 0 else rows)


class _Bad(Exception):
    """One fault; `Reader` collects it and goes on with the next entry."""


class Reader:
    """Collects faults while it reads; `path` names the place, as ``sheets[2].cuts[0].from``."""

    def __init__(self, source: str) -> None:
        self.source = source
        self.faults: list[str] = []

    def fail(self, path: str, reason: str) -> NoReturn:
        """Note a fault and leave this entry."""
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(f"{path}: {reason}")
        raise _Bad

    def get(self, data: Any, key: str, path: str) -> Any:
        """A value that must be there."""
        if not isinstance(data, dict):
            self.fail(path, tr("expected an object"))
        if key not in data:
            self.fail(path, tr("the key {key} is missing", key=key))
        return data[key]

    def number(self, value: Any, places: int, path: str, most: int = MOST_MM) -> int:
        """A decimal number as a whole number of 10**-places."""
        if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
            self.fail(path, tr("expected a number, got {value}", value=_short(value)))
        if not -most <= value <= most:
            self.fail(path, tr("{value} is beyond {most}", value=_short(value), most=most))
        scaled = Decimal(value).scaleb(places)
        if scaled != scaled.to_integral_value():
            self.fail(path, tr("{value} has more than {places} decimals", value=_short(value), places=places))
        return int(scaled)

    def length(self, value: Any, path: str) -> int:
        """A length in mm. [nm]"""
        return self.number(value, 6, path)

    def whole(self, value: Any, path: str, least: int = 0, most: int = 10**9) -> int:
        """A whole number."""
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            self.fail(
                path,
                tr("expected a whole number from {least}, got {value}", least=least, value=_short(value)),
            )
        return value

    def text(self, value: Any, path: str, most: int = 400) -> str:
        """A text of sane length."""
        if not isinstance(value, str) or len(value) > most:
            self.fail(path, tr("expected a text, got {value}", value=_short(value)))
        return value

    def flag(self, value: Any, path: str) -> bool:
        """True or false."""
        if not isinstance(value, bool):
            self.fail(path, tr("expected true or false, got {value}", value=_short(value)))
        return value

    def choice(self, kind: type[E], value: Any, path: str) -> E:
        """One of the words of an enumeration."""
        words = [m.value for m in kind]
        if not isinstance(value, str) or value not in words:
            self.fail(
                path, tr("expected one of {words}, got {value}", words=", ".join(words), value=_short(value))
            )
        return kind(value)

    def day(self, value: Any, path: str) -> date | None:
        """An ISO date or null."""
        if value is None:
            return None
        try:
            return date.fromisoformat(self.text(value, path, 10))
        except ValueError:
            self.fail(path, tr("expected a date such as 2027-03-09, got {value}", value=_short(value)))

    def point(self, value: Any, path: str) -> tuple[int, int]:
        """Two lengths. [nm]"""
        if not isinstance(value, list) or len(value) != 2:
            self.fail(path, tr("expected two numbers, got {value}", value=_short(value)))
        return self.length(value[0], f"{path}[0]"), self.length(value[1], f"{path}[1]")

    def outline(self, value: Any, path: str) -> Outline:
        """At least three points. [nm]"""
        if not isinstance(value, list) or not 3 <= len(value) <= 10_000:
            self.fail(path, tr("expected at least three points"))
        return tuple(self.point(p, f"{path}[{i}]") for i, p in enumerate(value))

    def each(self, value: Any, path: str, read: Callable[[Any, str], Any]) -> tuple[Any, ...]:
        """Every entry of a list; a bad one is noted and left out."""
        if not isinstance(value, list):
            self.fail(path, tr("expected a list"))
        out = []
        for i, entry in enumerate(value):
            try:
                out.append(read(entry, f"{path}[{i}]"))
            except _Bad:
                continue
        return tuple(out)

    # ------------------------------------------------------------------ parts

    def rules(self, data: Any, path: str) -> Rules:
        """The rules of one glass."""
        gap = self.get(data, "level1_gap", path)
        if not isinstance(gap, list) or len(gap) != 2:
            self.fail(f"{path}.level1_gap", tr("expected two numbers, got {value}", value=_short(gap)))
        largest, longest = data.get("largest_piece"), data.get("longest_cut")
        levels = self.get(data, "levels", path)
        try:
            return Rules(
                break_out=self.length(self.get(data, "break_out", path), f"{path}.break_out"),
                levels=None if levels is None else self.whole(levels, f"{path}.levels", 1, 9),
                last_cut=self.flag(self.get(data, "last_cut", path), f"{path}.last_cut"),
                longest_cut=None if longest is None else self.length(longest, f"{path}.longest_cut"),
                largest_piece=None if largest is None else self.point(largest, f"{path}.largest_piece"),
                level1_gap=(
                    self.length(gap[0], f"{path}.level1_gap"),
                    None if gap[1] is None else self.length(gap[1], f"{path}.level1_gap"),
                ),
                least_offcut=self.point(self.get(data, "least_offcut", path), f"{path}.least_offcut"),
                corner_depth=self.length(data.get("corner_depth", data["break_out"]), f"{path}.corner_depth"),
                least_angle=self.number(data.get("least_angle", 30), 3, f"{path}.least_angle", 180),
            )
        except InvalidRule as error:
            self.fail(path, str(error))

    def edge(self, data: Any, path: str) -> Edge:
        """The edgework of one edge."""
        small = data.get("small_face") if isinstance(data, dict) else None
        if small not in (None, "up", "down"):
            self.fail(
                f"{path}.small_face",
                tr("expected one of {words}, got {value}", words="up, down", value=_short(small)),
            )
        allowance = self.length(self.get(data, "allowance", path), f"{path}.allowance")
        if allowance < 0:
            self.fail(f"{path}.allowance", tr("an allowance is never negative"))
        return Edge(
            work=self.choice(Work, self.get(data, "work", path), f"{path}.work"),
            allowance=allowance,
            mitre=self.number(data.get("mitre", 0), 3, f"{path}.mitre", 90),
            small_face=small,
        )

    def panel(self, data: Any, path: str) -> Panel:
        """One panel."""
        finished = self.outline(self.get(data, "finished", path), f"{path}.finished")
        edges = self.each(self.get(data, "edges", path), f"{path}.edges", self.edge)
        if len(edges) != len(finished):
            self.fail(f"{path}.edges", tr("expected one entry an edge of the finished outline"))
        return Panel(
            id=self.text(self.get(data, "id", path), f"{path}.id"),
            order=self.text(self.get(data, "order", path), f"{path}.order"),
            name=self.text(self.get(data, "name", path), f"{path}.name"),
            due=self.day(data.get("due"), f"{path}.due"),
            purpose=self.choice(Purpose, self.get(data, "purpose", path), f"{path}.purpose"),
            glass=self.text(self.get(data, "glass", path), f"{path}.glass"),
            thickness=self.length(self.get(data, "thickness", path), f"{path}.thickness"),
            finished=finished,
            cut=self.outline(self.get(data, "cut", path), f"{path}.cut"),
            edges=edges,
            narrow=self.flag(data.get("narrow", False), f"{path}.narrow"),
            turn=self.choice(Turn, self.get(data, "turn", path), f"{path}.turn"),
            mirror=self.flag(self.get(data, "mirror", path), f"{path}.mirror"),
            note=self.text(data.get("note", ""), f"{path}.note", 2000),
        )

    def cut(self, data: Any, path: str) -> Cut:
        """One cut."""
        makes = self.get(data, "makes", path)
        if not isinstance(makes, list) or len(makes) != 2:
            self.fail(f"{path}.makes", tr("expected two piece names"))
        level = data.get("level")
        return Cut(
            step=self.whole(self.get(data, "step", path), f"{path}.step", 1),
            piece=self.text(self.get(data, "piece", path), f"{path}.piece", 2000),
            start=self.point(self.get(data, "from", path), f"{path}.from"),
            end=self.point(self.get(data, "to", path), f"{path}.to"),
            makes=(self.text(makes[0], f"{path}.makes", 2000), self.text(makes[1], f"{path}.makes", 2000)),
            kind=self.choice(CutKind, self.get(data, "kind", path), f"{path}.kind"),
            level=None if level is None else self.whole(level, f"{path}.level", 0, 1000),
        )

    def sides(self, value: Any, path: str) -> tuple[Side, ...]:
        """Names of sides."""
        found = set(self.each(value, path, lambda v, p: self.choice(Side, v, p)))
        return tuple(s for s in Side if s in found)

    def leaf(self, data: Any, path: str, known: frozenset[str]) -> Leaf:
        """One leaf."""
        kind = self.choice(LeafKind, self.get(data, "is", path), f"{path}.is")
        panel = offcut = None
        turned = 0
        if kind is LeafKind.PANEL:
            panel = self.text(self.get(data, "panel", path), f"{path}.panel")
            if panel not in known:
                self.fail(f"{path}.panel", tr("there is no panel {panel} in this plan", panel=_short(panel)))
            turned = self.number(self.get(data, "turned", path), 9, f"{path}.turned", 360)
        if kind is LeafKind.OFFCUT:
            offcut = self.text(self.get(data, "offcut", path), f"{path}.offcut")
        return Leaf(
            piece=self.text(self.get(data, "piece", path), f"{path}.piece", 2000),
            outline=self.outline(self.get(data, "outline", path), f"{path}.outline"),
            kind=kind,
            panel=panel,
            turned=turned,
            mirrored=self.flag(data.get("mirrored", False), f"{path}.mirrored"),
            offcut=offcut,
            raw=self.sides(data.get("raw", []), f"{path}.raw"),
        )

    def flaw(self, value: Any, path: str) -> tuple[int, int, int, int]:
        """A rectangle x, y, width, height. [nm]"""
        if not isinstance(value, list) or len(value) != 4:
            self.fail(path, tr("expected four numbers"))
        x, y, w, h = (self.length(v, path) for v in value)
        return x, y, w, h

    def layout(self, data: Any, path: str, known: frozenset[str]) -> Layout:
        """One sheet."""
        trim = self.get(data, "trim", path)
        width, height = (self.length(self.get(data, k, path), f"{path}.{k}") for k in ("width", "height"))
        if width <= 0 or height <= 0:
            self.fail(path, tr("a sheet needs a width and a height"))
        return Layout(
            number=self.whole(self.get(data, "number", path), f"{path}.number", 1),
            glass=self.text(self.get(data, "glass", path), f"{path}.glass"),
            stock=self.text(self.get(data, "stock", path), f"{path}.stock"),
            is_offcut=self.flag(self.get(data, "is_offcut", path), f"{path}.is_offcut"),
            cost=self.number(self.get(data, "cost", path), 4, f"{path}.cost", 10**9),
            width=width,
            height=height,
            raw=self.sides(self.get(data, "raw", path), f"{path}.raw"),
            trim=Trim(*(self.length(self.get(trim, s.value, f"{path}.trim"), f"{path}.trim") for s in Side)),
            flaws=self.each(data.get("flaws", []), f"{path}.flaws", self.flaw),
            cuts=self.each(self.get(data, "cuts", path), f"{path}.cuts", self.cut),
            leaves=self.each(
                self.get(data, "leaves", path), f"{path}.leaves", lambda v, p: self.leaf(v, p, known)
            ),
            day=self.day(data.get("day"), f"{path}.day"),
            buy=data.get("source") == "buy",
        )

    def outcome(self, data: Any, path: str) -> GlassOutcome | None:
        """Bound and status of one glass, where the figures state them."""
        if not isinstance(data, dict) or "lower_bound" not in data:
            return None
        low = data["lower_bound"]
        at = f"{path}.lower_bound"
        status = data.get("status")
        if status not in ("optimal", "feasible"):
            self.fail(
                f"{path}.status",
                tr("expected one of {words}, got {value}", words="optimal, feasible", value=_short(status)),
            )
        return GlassOutcome(
            bound=Bound(
                cost=self.number(self.get(low, "cost", at), 4, f"{at}.cost", 10**9),
                sheets=self.whole(self.get(low, "sheets", at), f"{at}.sheets"),
                by=self.text(low.get("by", ""), f"{at}.by"),
                valid_for=self.text(low.get("class", ""), f"{at}.class"),
            ),
            optimal=status == "optimal",
            stopped_by=self.text(data.get("stopped_by", ""), f"{path}.stopped_by"),
        )

    def plan(self, data: Any) -> Plan:
        """The whole file."""
        if not isinstance(data, dict):
            self.fail("file", tr("expected an object"))
        if data.get("schema") != SCHEMA:
            self.fail(
                "schema",
                tr("expected {schema}, got {value}", schema=SCHEMA, value=_short(data.get("schema"))),
            )
        panels = self.each(self.get(data, "panels", "file"), "panels", self.panel)
        known = frozenset(p.id for p in panels)
        rules, outcomes = {}, {}
        for glass, entry in self.get(data, "rules", "file").items():
            rules[glass] = self.rules(entry, f"rules.{glass}")
        figures = self.get(data, "figures", "file")
        for glass, entry in self.get(figures, "by_glass", "figures").items():
            outcome = self.outcome(entry, f"figures.by_glass.{glass}")
            if outcome is not None:
                outcomes[glass] = outcome
        layouts = self.each(self.get(data, "sheets", "file"), "sheets", lambda v, p: self.layout(v, p, known))
        for i, layout in enumerate(layouts):
            if layout.glass not in rules:
                self.fail(
                    f"sheets[{i}].glass", tr("there are no rules for {glass}", glass=_short(layout.glass))
                )
        effort = data.get("effort")
        return Plan(
            id=self.text(self.get(data, "plan", "file"), "plan", 20),
            program=self.text(data.get("program", ""), "program"),
            seed=self.whole(data.get("seed", 0), "seed"),
            effort=None if effort is None else self.whole(effort, "effort", 0, 10**12),
            habit=self.text(data.get("habit", "stop"), "habit", 20),
            length_unit=self.text(data.get("length_unit", "mm"), "length_unit", 2),
            currency=self.text(data.get("currency", ""), "currency", 3),
            rules=rules,
            panels=panels,
            layouts=layouts,
            unplaced=self.each(self.get(data, "unplaced", "file"), "unplaced", self.unplaced),
            outcomes=outcomes,
            extra={k: v for k, v in data.items() if k not in KNOWN},
        )

    def unplaced(self, data: Any, path: str) -> Unplaced:
        """One panel that is on no sheet."""
        return Unplaced(
            panel=self.text(self.get(data, "panel", path), f"{path}.panel"),
            rule=self.text(data.get("rule", ""), f"{path}.rule"),
            reason=self.text(data.get("reason", ""), f"{path}.reason", 2000),
        )


def _short(value: object) -> str:
    text = ascii(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _no_constant(name: str) -> NoReturn:
    raise ValueError(tr("{name} is no number", name=name))


def _decimal(text: str) -> Decimal:
    if len(text) > 40:
        raise ValueError(tr("a number of {count} digits", count=len(text)))
    try:
        value = Decimal(text)
    except InvalidOperation as error:
        raise ValueError(str(error)) from error
    if not -100 < value.adjusted() < 100:
        raise ValueError(tr("{text} is no sane number", text=text[:20]))
    return value


def _integer(text: str) -> int:
    return int(_decimal(text))


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    out = dict(pairs)
    if len(out) != len(pairs):
        raise ValueError(tr("a key stands twice in one object"))
    return out


def loads(text: str, *, source: str = "plan.json") -> Plan:
    """Read the text of a plan file.

    Parameters
    ----------
    text
        The whole file.
    source
        Its name, for messages.

    Raises
    ------
    PlanFileError
        With every fault found, each with its place.
    """
    reader = Reader(source)
    if len(text) > MOST_BYTES:
        raise PlanFileError(source, (tr("larger than {most} MB", most=MOST_BYTES // 2**20),))
    try:
        data = json.loads(
            text,
            parse_float=_decimal,
            parse_int=_integer,
            parse_constant=_no_constant,
            object_pairs_hook=_once,
        )
    except (ValueError, RecursionError) as error:
        raise PlanFileError(
            source, (tr("no readable JSON: {reason}", reason=str(error)[:200] or "nesting"),)
        ) from None
    try:
        plan = reader.plan(data)
    except (_Bad, AttributeError, KeyError, TypeError):
        plan = None
        if not reader.faults:
            reader.faults.append(tr("not the form of a plan file"))
    if reader.faults or plan is None:
        raise PlanFileError(source, tuple(reader.faults))
    return plan
