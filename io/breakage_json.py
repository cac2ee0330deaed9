"""Breakage for programs: rates, losses and spares as one JSON object."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from panewright.io.numbers_text import decimal, kilograms, money, square_metres
from panewright.nesting.breakage.counts import Worked
from panewright.nesting.breakage.loss import Loss, Losses
from panewright.nesting.breakage.rates import Rate
from panewright.nesting.breakage.report import Report
from panewright.nesting.breakage.spares import SpareWish
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Plan


def evidence_json(source: str, counts: Sequence[Worked]) -> dict[str, Any]:
    """What the rates rest on; the source is null where there is no record."""
    return {
        "record": source or None,
        "done": sum(one.done for one in counts),
        "broken": sum(one.broken for one in counts),
    }


def report_json(report: Report, source: str, counts: Sequence[Worked], currency: str) -> dict[str, Any]:
    """A whole report."""
    return {
        "evidence": evidence_json(source, counts),
        "currency": currency,
        "rates": [_rate(rate) for rate in report.rates],
        "weeks": report.weeks,
        "week": None if report.week is None else _losses(report.week),
        "plan": None if report.plan is None else report.plan.id,
        "loss": None if report.loss is None else _losses(report.loss),
        "spares": [] if report.plan is None else spares_json(report.spares, report.plan),
    }


def spares_json(wishes: Iterable[SpareWish], plan: Plan) -> list[dict[str, Any]]:
    """Panels that are worth spares, and how many of these the plan cuts."""
    return [_spare(wish, plan.panels) for wish in wishes]


def _rate(rate: Rate) -> dict[str, Any]:
    low, high = rate.interval()
    return {
        "step": rate.step.value,
        "glass": rate.glass or None,
        "size": rate.size.value if rate.size else None,
        "done": rate.tally.done,
        "broken": rate.tally.broken,
        "rate": decimal(rate.ppm, 6),
        "interval_90": [decimal(low, 6), decimal(high, 6)],
    }


def _losses(losses: Losses) -> dict[str, Any]:
    return {
        "by_step": [_loss(row) for row in losses.rows],
        "by_glass": [_loss(row) for row in losses.glasses],
        "total": _loss(losses.total),
    }


def _loss(loss: Loss) -> dict[str, Any]:
    return {
        "glass": loss.glass or None,
        "step": loss.step.value if loss.step else None,
        "panels": decimal(loss.pieces, 3),
        "expected": decimal(loss.expected, 3),
        "interval_90": [loss.low, loss.high],
        "area_m2": None if loss.area2 is None else square_metres(loss.area2),
        "mass_kg": None if loss.grams is None else kilograms(loss.grams),
        "cost": None if loss.money is None else money(loss.money),
    }


def _spare(wish: SpareWish, panels: Iterable[Panel]) -> dict[str, Any]:
    return {
        "panel": f"{wish.panel.order}/{wish.panel.name}",
        "spare": wish.panel.id,
        "glass": wish.panel.glass,
        "orders": list(wish.orders),
        "equal_panels": wish.pieces,
        "one_breaks": decimal(wish.ppm, 6),
        "any_breaks": decimal(wish.any_ppm, 6),
        "panels_behind": wish.behind,
        "remake_cost": money(wish.remake),
        "late_days": wish.late_days,
        "wanted": len(wish.worths),
        "cut": wish.cut_in(panels),
        "worth": [money(worth) for worth in wish.worths],
    }
