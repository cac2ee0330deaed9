"""Reads a plan file: the plan, the keys of later versions, and the figures as stated."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from panewright.io import plan_keys as keys
from panewright.io.file_names import PLAN_FILE
from panewright.io.plan_parts import Parts
from panewright.io.plan_values import MOST_BYTES, Bad, PlanFileError, parse, problem
from panewright.nesting.plan import SCHEMA, Plan
from panewright.nesting.shop_table import Habit
from panewright.nesting.text import tr
from panewright.nesting.units import UNITS


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


class Reader(Parts):
    """Reads a whole plan file."""

    def figures_beside(self, figures: dict[str, Any]) -> dict[str, Any]:
        """What the block of figures holds besides, in its own shape."""

        def more(entry: Any, known: frozenset[str], path: str) -> dict[str, Any]:
            return self.others(entry, known, path) if isinstance(entry, dict) else {}

        out = more(figures, keys.FIGURES_KEYS, "figures")
        if found := more(figures.get("total"), keys.TOTAL_KEYS, "figures.total"):
            out["total"] = found
        for part, known in (("by_glass", keys.GLASS_KEYS), ("by_order", keys.ORDER_KEYS)):
            entries = {}
            for name, entry in more(figures.get(part), frozenset(), f"figures.{part}").items():
                path = f"figures.{part}.{name}"
                found = more(entry, known, path)
                if part == "by_glass" and isinstance(entry, dict):
                    low = more(entry.get("lower_bound"), keys.BOUND_KEYS, f"{path}.lower_bound")
                    found |= {"lower_bound": low} if low else {}
                if found:
                    entries[name] = found
            if entries:
                out[part] = entries
        return out

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
        unplaced = self.each(self.get(data, "unplaced", whole), "unplaced", self.unplaced)
        extra = self.others(data, keys.PLAN_KEYS, "file")
        if beside := {panel.id: more for panel, more, _ in panels if more}:
            extra["panels"] = beside
        if beside := {str(layout.number): more for layout, more in sheets if more}:
            extra["sheets"] = beside
        if beside := {glass: more for glass in rules if (more := self.kept.get(f"rules.{glass}"))}:
            extra["rules"] = beside
        if beside := self.beside("unplaced", (entry.panel for entry in unplaced)):
            extra["unplaced"] = beside
        if beside := self.figures_beside(figures):
            extra["figures"] = beside
        plan = Plan(
            id=self.text(self.get(data, "plan", whole), "plan", 20),
            program=self.text(data.get("program", ""), "program"),
            seed=self.whole(self.get(data, "seed", whole), "seed", 0, 2**63),
            effort=None if effort is None else self.whole(effort, "effort", 0, 2**63),
            habit=self.word([h.value for h in Habit], data.get("habit", "stop"), "habit"),
            length_unit=self.word(UNITS, data.get("length_unit", "mm"), "length_unit"),
            currency=self.text(data.get("currency", ""), "currency", 20),
            rules=rules,
            panels=tuple(panel for panel, _, _ in panels),
            layouts=tuple(layout for layout, _ in sheets),
            unplaced=unplaced,
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
    its id (its edges and openings under ``edges`` and ``openings`` and their index from 0), those of a
    sheet under ``sheets`` and its number (its cuts and leaves under ``cuts`` and ``leaves`` and the piece), those of
    ``rules`` by glass, of ``unplaced`` by panel, and of ``figures`` in the shape of that block.

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
