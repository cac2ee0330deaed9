"""Checks a plan file: the plan by replay, then what the file says of itself against that plan."""

from __future__ import annotations

from collections.abc import Mapping
from contextvars import copy_context
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from panewright.io.numbers_text import Raw, kilograms
from panewright.io.plan_file import figures_json
from panewright.io.plan_reader import Stated, load
from panewright.io.problems import shown
from panewright.nesting.checker import Violation, check
from panewright.nesting.figures import PlanFigures, figures_of
from panewright.nesting.plan import Plan
from panewright.nesting.text import tr
from panewright.nesting.units import style_for, use_style

DECIMALS_M2: Final = Decimal("0.000002")
"""Areas a sheet may differ: 1 mm2 with angled cuts, and the sixth decimal. [m2]"""
DECIMALS_KG: Final = Decimal("0.001")
"""Masses are given to the gram; scrap is rounded sheet by sheet. [kg]"""
DECIMALS_RATIO: Final = Decimal("0.00001")
"""Yields and gaps."""


@dataclass(frozen=True, slots=True)
class Checked:
    """A plan file that could be read, its figures, and everything that is wrong with it.

    `figures` is None where the replay already failed.
    """

    plan: Plan
    figures: PlanFigures | None
    violations: tuple[Violation, ...]


def check_file(path: Path) -> Checked:
    """Read and check a plan file, or the ``plan.json`` of a folder; lengths are told in its own unit.

    Raises
    ------
    PlanFileError
        No readable plan.
    OSError
        No readable file.
    """
    plan, stated = load(path)
    violations = copy_context().run(_check_in_its_unit, plan)
    if violations:
        return Checked(plan, None, tuple(violations))
    figures = figures_of(plan)
    return Checked(plan, figures, tuple(check_figures(plan, stated, figures)))


def _check_in_its_unit(plan: Plan) -> list[Violation]:
    use_style(style_for(plan.length_unit))
    return check(plan)


def check_figures(plan: Plan, stated: Stated, figures: PlanFigures | None = None) -> list[Violation]:
    """Where the figures of a plan file differ from those of its plan.

    Parameters
    ----------
    plan
        A plan that the checker has passed.
    stated
        What the file says.
    figures
        Of the plan, where they are known.
    """
    wanted = figures_json(plan, figures or figures_of(plan))
    sheets = len(plan.layouts)
    out: list[Violation] = []
    _compare(wanted["total"], stated.figures.get("total"), "total", sheets, out)
    for part in ("by_glass", "by_order"):
        found = stated.figures.get(part)
        entries: Mapping[str, Any] = found if isinstance(found, Mapping) else {}
        for key, figure in wanted[part].items():
            # a glass without a sheet may be left out
            if key in entries or figure.get("sheets") != 0:
                _compare(figure, entries.get(key), f"{part}.{shown(key)}", sheets, out)
        for key in entries:
            if key not in wanted[part]:
                out.append(_wrong(f"{part}.{shown(key)}", tr("is not in the plan")))
    for panel in plan.panels:
        mass = stated.masses.get(panel.id)
        if mass is not None and not _close(kilograms(panel.mass_grams), mass, DECIMALS_KG):
            out.append(_wrong("mass_kg", _differs(mass, kilograms(panel.mass_grams)), panel.id))
    return out


def _compare(wanted: Mapping[str, Any], found: Any, path: str, sheets: int, out: list[Violation]) -> None:
    if not isinstance(found, Mapping):
        out.append(_wrong(path, tr("is missing")))
        return
    for key, value in wanted.items():
        at = f"{path}.{key}"
        if key not in found:
            out.append(_wrong(at, tr("is missing")))
        elif isinstance(value, Mapping):
            _compare(value, found[key], at, sheets, out)
        elif not _close(value, found[key], _slack(key, sheets)):
            out.append(_wrong(at, _differs(found[key], value)))


def _slack(key: str, sheets: int) -> Decimal:
    if key.endswith("_m2"):
        return DECIMALS_M2 * max(sheets, 1)
    if key.endswith("_kg"):
        return DECIMALS_KG * max(sheets, 1)
    return DECIMALS_RATIO if key.endswith(("yield", "gap")) else Decimal(0)


def _close(wanted: Any, found: Any, slack: Decimal) -> bool:
    if isinstance(wanted, (Raw, int)):
        number = isinstance(found, (int, Decimal)) and not isinstance(found, bool)
        return number and abs(Decimal(wanted) - Decimal(found)) <= slack
    return bool(wanted == found)


def _differs(found: object, wanted: object) -> str:
    return tr("is {found}, the plan gives {wanted}", found=shown(found), wanted=shown(wanted))


def _wrong(path: str, text: str, panel: str | None = None) -> Violation:
    where = path if panel is None else f"{shown(panel)}.{path}"
    return Violation(rule="figures", text=tr("{where} {text}", where=where, text=text), panel=panel)
