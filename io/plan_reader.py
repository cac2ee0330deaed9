"""Reads a plan file into the domain: panels, sheets, rules, bounds, and the figures as stated."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from panewright.io.file_names import PLAN_FILE
from panewright.io.plan_values import MOST_BYTES, Bad, PlanFileError, Values, parse, problem
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.errors import InvalidRule
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

PLAN_KEYS: Final = frozenset(
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
PANEL_KEYS: Final = frozenset(
    [
        "id",
        "order",
        "name",
        "due",
        "purpose",
        "glass",
        "thickness",
        "mass_kg",
        "finished",
        "cut",
        "edges",
        "openings",
        "narrow",
        "turn",
        "mirror",
        "note",
    ]
)
SHEET_KEYS: Final = frozenset(
    [
        "number",
        "day",
        "glass",
        "stock",
        "is_offcut",
        "source",
        "cost",
        "width",
        "height",
        "raw",
        "trim",
        "flaws",
        "cuts",
        "leaves",
    ]
)
LONGEST_NAME: Final = 2000
"""Piece names grow with the depth of the cut tree. [characters]"""
MOST_MONEY: Final = 10**9
"""[units of the currency]"""


@dataclass(frozen=True, slots=True)
class Stated:
    """What a plan file says of itself and the plan can be held against: its figures and masses.

    Parameters
    ----------
    figures
        The block of figures, numbers as int or Decimal.
    masses
        The mass of each panel by id. [kg]
    """

    figures: dict[str, Any]
    masses: dict[str, Any]


class Reader(Values):
    """Reads the parts of a plan file."""

    def rules(self, data: Any, path: str) -> Rules:
        """The rules of one glass."""
        gap = self.get(data, "level1_gap", path)
        if not isinstance(gap, list) or len(gap) != 2:
            self.fail(f"{path}.level1_gap", gap, tr("expected two numbers"))
        largest, longest = data.get("largest_piece"), data.get("longest_cut")
        levels = self.get(data, "levels", path)
        break_out = self.width(self.get(data, "break_out", path), f"{path}.break_out")
        deep = data.get("corner_depth")
        try:
            return Rules(
                break_out=break_out,
                levels=None if levels is None else self.whole(levels, f"{path}.levels", 1, 9),
                last_cut=self.flag(self.get(data, "last_cut", path), f"{path}.last_cut"),
                longest_cut=None if longest is None else self.width(longest, f"{path}.longest_cut"),
                largest_piece=None if largest is None else self.point(largest, f"{path}.largest_piece"),
                level1_gap=(
                    self.width(gap[0], f"{path}.level1_gap[0]"),
                    None if gap[1] is None else self.width(gap[1], f"{path}.level1_gap[1]"),
                ),
                least_offcut=self.point(self.get(data, "least_offcut", path), f"{path}.least_offcut"),
                corner_depth=break_out if deep is None else self.width(deep, f"{path}.corner_depth"),
                least_angle=self.number(data.get("least_angle", 30), 3, f"{path}.least_angle", 90),
            )
        except InvalidRule as error:
            self.fail(path, "", str(error))

    def edge(self, data: Any, path: str) -> Edge:
        """The edgework of one edge."""
        small = self.object(data, path).get("small_face")
        return Edge(
            work=self.choice(Work, self.get(data, "work", path), f"{path}.work"),
            allowance=self.width(self.get(data, "allowance", path), f"{path}.allowance"),
            mitre=self.number(data.get("mitre", 0), 3, f"{path}.mitre", 90),
            small_face=None if small is None else self.word(["up", "down"], small, f"{path}.small_face"),
        )

    def panel(self, data: Any, path: str) -> tuple[Panel, dict[str, Any], Any]:
        """One panel, what its entry holds besides, and its mass as stated."""
        finished = self.outline(self.get(data, "finished", path), f"{path}.finished")
        edges = self.each(self.get(data, "edges", path), f"{path}.edges", self.edge)
        if len(edges) != len(finished):
            self.fail(
                f"{path}.edges",
                len(edges),
                tr("the finished outline has {count} edges", count=len(finished)),
                tr("give one entry for each edge"),
            )
        panel = Panel(
            id=self.text(self.get(data, "id", path), f"{path}.id"),
            order=self.text(self.get(data, "order", path), f"{path}.order"),
            name=self.text(self.get(data, "name", path), f"{path}.name"),
            due=self.day(data.get("due"), f"{path}.due"),
            purpose=self.choice(Purpose, self.get(data, "purpose", path), f"{path}.purpose"),
            glass=self.text(self.get(data, "glass", path), f"{path}.glass"),
            thickness=self.width(self.get(data, "thickness", path), f"{path}.thickness"),
            finished=finished,
            cut=self.outline(self.get(data, "cut", path), f"{path}.cut"),
            edges=edges,
            narrow=self.flag(data.get("narrow", False), f"{path}.narrow"),
            turn=self.choice(Turn, self.get(data, "turn", path), f"{path}.turn"),
            mirror=self.flag(self.get(data, "mirror", path), f"{path}.mirror"),
            note=self.text(data.get("note", ""), f"{path}.note", 2000),
        )
        beside = self.others(data, PANEL_KEYS - {"openings"} if data.get("openings") else PANEL_KEYS, path)
        return panel, beside, data.get("mass_kg")

    def cut(self, data: Any, path: str) -> Cut:
        """One cut."""
        makes = self.get(data, "makes", path)
        if not isinstance(makes, list) or len(makes) != 2:
            self.fail(f"{path}.makes", makes, tr("expected two piece names"))
        level = data.get("level")
        return Cut(
            step=self.whole(self.get(data, "step", path), f"{path}.step", 1),
            piece=self.text(self.get(data, "piece", path), f"{path}.piece", LONGEST_NAME),
            start=self.point(self.get(data, "from", path), f"{path}.from"),
            end=self.point(self.get(data, "to", path), f"{path}.to"),
            makes=(
                self.text(makes[0], f"{path}.makes[0]", LONGEST_NAME),
                self.text(makes[1], f"{path}.makes[1]", LONGEST_NAME),
            ),
            kind=self.choice(CutKind, self.get(data, "kind", path), f"{path}.kind"),
            level=None if level is None else self.whole(level, f"{path}.level", 0, 1000),
        )

    def sides(self, value: Any, path: str) -> tuple[Side, ...]:
        """Names of sides, in the order of `Side`."""
        found = set(self.each(value, path, lambda v, p: self.choice(Side, v, p)))
        return tuple(s for s in Side if s in found)

    def leaf(self, data: Any, path: str, known: frozenset[str]) -> Leaf:
        """One leaf; `known` are the ids of the panels."""
        kind = self.choice(LeafKind, self.get(data, "is", path), f"{path}.is")
        panel = offcut = None
        turned = 0
        if kind is LeafKind.PANEL:
            panel = self.text(self.get(data, "panel", path), f"{path}.panel")
            if panel not in known:
                self.fail(f"{path}.panel", panel, tr("there is no such panel in this plan"))
            turned = self.number(self.get(data, "turned", path), 9, f"{path}.turned", 360)
        if kind is LeafKind.OFFCUT:
            offcut = self.text(self.get(data, "offcut", path), f"{path}.offcut")
        return Leaf(
            piece=self.text(self.get(data, "piece", path), f"{path}.piece", LONGEST_NAME),
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
            self.fail(path, value, tr("expected four numbers"))
        x, y = self.length(value[0], f"{path}[0]"), self.length(value[1], f"{path}[1]")
        return x, y, self.width(value[2], f"{path}[2]"), self.width(value[3], f"{path}[3]")

    def layout(self, data: Any, path: str, known: frozenset[str]) -> tuple[Layout, dict[str, Any]]:
        """One sheet, and what its entry holds besides."""
        trim, at = self.get(data, "trim", path), f"{path}.trim"
        width, height = (self.width(self.get(data, k, path), f"{path}.{k}") for k in ("width", "height"))
        if not width or not height:
            self.fail(path, "", tr("a sheet needs a width and a height"))
        layout = Layout(
            number=self.whole(self.get(data, "number", path), f"{path}.number", 1),
            glass=self.text(self.get(data, "glass", path), f"{path}.glass"),
            stock=self.text(self.get(data, "stock", path), f"{path}.stock"),
            is_offcut=self.flag(self.get(data, "is_offcut", path), f"{path}.is_offcut"),
            cost=self.number(self.get(data, "cost", path), 4, f"{path}.cost", MOST_MONEY),
            width=width,
            height=height,
            raw=self.sides(self.get(data, "raw", path), f"{path}.raw"),
            trim=Trim(*(self.width(self.get(trim, s.value, at), f"{at}.{s.value}") for s in Side)),
            flaws=self.each(data.get("flaws", []), f"{path}.flaws", self.flaw),
            cuts=self.each(self.get(data, "cuts", path), f"{path}.cuts", self.cut),
            leaves=self.each(
                self.get(data, "leaves", path), f"{path}.leaves", lambda v, p: self.leaf(v, p, known)
            ),
            day=self.day(data.get("day"), f"{path}.day"),
            buy=self.word(["rack", "buy"], data.get("source", "rack"), f"{path}.source") == "buy",
        )
        return layout, self.others(data, SHEET_KEYS, path)

    def unplaced(self, data: Any, path: str) -> Unplaced:
        """One panel that is on no sheet."""
        return Unplaced(
            panel=self.text(self.get(data, "panel", path), f"{path}.panel"),
            rule=self.text(data.get("rule", ""), f"{path}.rule"),
            reason=self.text(data.get("reason", ""), f"{path}.reason", 2000),
        )

    def outcome(self, data: Any, path: str) -> GlassOutcome | None:
        """Bound and status of one glass, where the figures state them."""
        if "lower_bound" not in self.object(data, path):
            return None
        low, at = data["lower_bound"], f"{path}.lower_bound"
        status = self.word(["optimal", "feasible"], data.get("status"), f"{path}.status")
        return GlassOutcome(
            bound=Bound(
                cost=self.number(self.get(low, "cost", at), 4, f"{at}.cost", MOST_MONEY),
                sheets=self.whole(self.get(low, "sheets", at), f"{at}.sheets"),
                by=self.text(low.get("by", ""), f"{at}.by"),
                valid_for=self.text(low.get("class", ""), f"{at}.class"),
            ),
            optimal=status == "optimal",
            stopped_by=self.text(data.get("stopped_by", ""), f"{path}.stopped_by"),
        )

    def plan(self, data: Any) -> tuple[Plan, Stated]:
        """The whole file."""
        whole = "file"
        if self.get(data, "schema", whole) != SCHEMA:
            self.fail(
                "schema",
                data["schema"],
                tr("expected {schema}", schema=SCHEMA),
                tr("read the file with the version that wrote it"),
            )
        panels = self.each(self.get(data, "panels", whole), "panels", self.panel)
        known = frozenset(panel.id for panel, _, _ in panels)
        if self.problems:
            # the leaves of panels that could not be read would only repeat what is wrong
            raise Bad
        rules = {
            self.text(glass, "rules"): self.rules(entry, f"rules.{glass}")
            for glass, entry in self.object(self.get(data, "rules", whole), "rules").items()
        }
        figures = self.object(self.get(data, "figures", whole), "figures")
        by_glass = self.object(self.get(figures, "by_glass", "figures"), "figures.by_glass")
        outcomes = {
            self.text(glass, "figures.by_glass"): self.outcome(entry, f"figures.by_glass.{glass}")
            for glass, entry in by_glass.items()
        }
        sheets = self.each(self.get(data, "sheets", whole), "sheets", lambda v, p: self.layout(v, p, known))
        for i, (layout, _) in enumerate(sheets):
            if layout.glass not in rules:
                self.fail(f"sheets[{i}].glass", layout.glass, tr("there are no rules for this glass"))
        effort = data.get("effort")
        extra = self.others(data, PLAN_KEYS, "file")
        if beside := {panel.id: more for panel, more, _ in panels if more}:
            extra["panels"] = beside
        if beside := {str(layout.number): more for layout, more in sheets if more}:
            extra["sheets"] = beside
        plan = Plan(
            id=self.text(self.get(data, "plan", whole), "plan", 20),
            program=self.text(data.get("program", ""), "program"),
            seed=self.whole(self.get(data, "seed", whole), "seed", 0, 2**63),
            effort=None if effort is None else self.whole(effort, "effort", 0, 2**63),
            habit=self.text(data.get("habit", "stop"), "habit", 20),
            length_unit=self.word(["mm", "in"], data.get("length_unit", "mm"), "length_unit"),
            currency=self.text(data.get("currency", ""), "currency", 20),
            rules=rules,
            panels=tuple(panel for panel, _, _ in panels),
            layouts=tuple(layout for layout, _ in sheets),
            unplaced=self.each(self.get(data, "unplaced", whole), "unplaced", self.unplaced),
            outcomes={glass: found for glass, found in outcomes.items() if found is not None},
            extra=extra,
        )
        return plan, Stated(figures, {panel.id: mass for panel, _, mass in panels})


def read(text: str, *, source: str = "plan.json") -> tuple[Plan, Stated]:
    """Read the text of a plan file, with what it states besides the plan itself.

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
    data = parse(text, source)
    reader = Reader(source)
    found = None
    with suppress(Bad):
        found = reader.plan(data)
    if reader.problems or found is None:
        raise PlanFileError(source, tuple(reader.problems))
    return found


def loads(text: str, *, source: str = "plan.json") -> Plan:
    """Read the text of a plan file.

    Keys that this version does not know are kept in `Plan.extra`: those of a panel under ``panels`` and
    its id, those of a sheet under ``sheets`` and its number, openings of panels among them.

    Raises
    ------
    PlanFileError
        With every fault found, each with its place.
    """
    return read(text, source=source)[0]


def load(path: Path) -> tuple[Plan, Stated]:
    """Read a plan file, or the ``plan.json`` of a folder, with what it states besides the plan.

    Raises
    ------
    PlanFileError
        No plan file of ours, too large, or not in UTF-8.
    OSError
        No readable file.
    """
    if path.is_dir():
        path = path / PLAN_FILE
    with path.open("rb") as file:
        data = file.read(MOST_BYTES + 1)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        reason = tr("not in UTF-8 from byte {place} on", place=error.start)
        raise PlanFileError(str(path), (problem(str(path), "", "", reason),)) from None
    return read(text, source=str(path))
