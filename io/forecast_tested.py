"""The back-test in a report: what every method would have lost, and which one is used."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import Final

from panewright.io.purchase_look import Look
from panewright.io.report.model import Column, Table, Value
from panewright.nesting.forecast.back_test import BackTest
from panewright.nesting.text import tr, tr_count

METHODS: Final[Mapping[str, str]] = {
    "simulation": "simulation of orders",
    "simulation, no open orders": "simulation without open orders",
    "last 52 weeks": "counts drawn from the last 52 weeks",
    "all weeks": "counts drawn from all weeks",
    "same season": "counts drawn from the same season",
    "Croston": "Croston (1972)",
    "SBA": "Syntetos and Boylan (2005)",
    "TSB": "Teunter, Syntetos and Babai (2011)",
    "SES": "exponential smoothing",
    "AutoETS": "exponential smoothing, form chosen by itself",
    "SES, season": "exponential smoothing with season",
}
"""Words of the methods."""


def share_of(value: float) -> Fraction:
    """A share to a thousandth: no more digits than futures can tell."""
    return Fraction(round(1000 * value), 1000)


def tested(test: BackTest | None) -> Iterable[str]:
    if test is None or not test.origins:
        yield tr("The history is too short for a back-test; the simulation of orders is used.")
        return
    yield tr_count(
        "Each method forecast {count} past week and the three after it from what was known on its Monday. The loss is the mean"
        " pinball loss at 10, 50, 80, 90 and 95 in 100: less is better.",
        "Each method forecast {count} past weeks and the three after each from what was known on its Monday. The loss is the"
        " mean pinball loss at 10, 50, 80, 90 and 95 in 100: less is better.",
        len(test.origins),
    )
    if not test.library:
        yield tr("The extra forecast is not installed: exponential smoothing is not among the rivals.")
    if not test.whole:
        yield tr("The back-test was interrupted: only the weeks that were done count.")


def losses(look: Look) -> Iterable[Table]:
    test = look.test
    if test is None or not test.origins:
        return
    columns = (
        Column(name=tr("glass")),
        Column(name=tr("method")),
        Column(name=tr("used")),
        Column(name=tr("loss of week 1, sheets"), kind="number"),
        Column(name=tr("loss of {count} weeks, sheets", count=test.sums[-1]), kind="number"),
        Column(name=tr("give or take"), kind="number"),
        Column(name=tr("in the 80 band"), kind="share"),
        Column(name=tr("in the 95 band"), kind="share"),
    )
    rows: list[tuple[Value, ...]] = []
    for glass in sorted(set(test.glasses)):
        rows += _of_glass(test, glass, look.chosen.get(glass, ""))
    yield Table(
        title=tr("How well each method would have foretold the past"),
        columns=columns,
        rows=tuple(rows),
        note=tr(
            "The simulation is used unless another method wins by more than a standard error; give or take is that of"
            " the loss."
        ),
    )


def _of_glass(test: BackTest, glass: str, chosen: str) -> Sequence[tuple[Value, ...]]:
    rows = []
    long = test.sums[-1]
    for method in test.methods:
        loss, error = test.loss(method, long, glass)
        rows.append(
            (
                glass,
                tr(METHODS[method]) if method in METHODS else method,
                tr("yes") if method == chosen else "",
                round(test.loss(method, test.sums[0], glass)[0], 3),
                round(loss, 3),
                round(error, 3),
                share_of(test.coverage(method, long, 0.8, glass)),
                share_of(test.coverage(method, long, 0.95, glass)),
            )
        )
    return rows
