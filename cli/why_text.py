"""The answers to `--why` on the screen, glass by glass."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from panewright.cli.summary import per_cent
from panewright.cli.tables import table
from panewright.io.numbers_text import said_metres
from panewright.io.problems import shown
from panewright.nesting.outlines import box
from panewright.nesting.text import tr, tr_count
from panewright.nesting.units import show_money, show_size
from panewright.nesting.why import PanelCost, RulePrice, Why


def why_text(answers: Sequence[Why], currency: str) -> str:
    """All answers.

    Parameters
    ----------
    answers
        One a glass.
    currency
        Of the shop.
    """
    parts = [tr("Why it costs what it costs, money in {currency}", currency=currency)]
    for one in answers:
        parts.append("\n".join([f"{one.glass}:", *(f"  {line}" for line in _lines(one))]))
        if one.rules:
            parts.append(_rules(one.rules))
        if one.panels:
            parts.append(_panels(one.panels))
    return "\n\n".join(part.strip("\n") for part in parts) + "\n"


def _lines(one: Why) -> list[str]:
    split = tr(
        "cost {cost}: glass of the panels at the cheapest sheet price {panels}, waste that no plan avoids {least},"
        " the rest {rest}",
        cost=show_money(one.cost),
        panels=show_money(one.in_panels),
        least=show_money(one.unavoidable),
        rest=show_money(one.rest),
    )
    bound = tr(
        "the bound is {bound}, by {by}; it holds for {plans}",
        bound=show_money(one.bound.cost),
        by=tr(one.bound.by),
        plans=one.bound.valid_for,
    )
    return [split, bound, _fewer(one), *_stock(one)]


def _stock(one: Why) -> list[str]:
    others = [
        tr(
            "a sheet of {size} would pay below {worth}, by the prices of the LP",
            size=show_size(piece.width, piece.height),
            worth=show_money(worth),
        )
        for piece, worth in one.other_sizes
    ]
    return others + [
        tr(
            "one more {stock} ({size}) would save about {worth}, by the prices of the LP",
            stock=shown(piece.name),
            size=show_size(piece.width, piece.height),
            worth=show_money(worth),
        )
        for piece, worth in one.premiums
    ]


def _fewer(one: Why) -> str:
    fewer = one.fewer
    if fewer.ruled_out:
        return tr_count(
            "{count} sheet is the least: the bound rules fewer out",
            "{count} sheets are the least: the bound rules fewer out",
            one.sheets,
        )
    if fewer.room < fewer.panels:
        return tr(
            "one sheet fewer: without {stock} the others lack {area} m2, so that larger sheets would have to "
            "take their place; the bound rules out fewer than {least}",
            stock=shown(fewer.stock),
            area=said_metres(2 * (fewer.panels - fewer.room)),
            least=one.bound.sheets,
        )
    return tr(
        "one sheet fewer: without {stock} the others would have to hold all panels with {most} of waste inside "
        "the trims, where it is {now} now; the bound rules out fewer than {least}",
        stock=shown(fewer.stock),
        most=per_cent(Fraction(fewer.room - fewer.panels, max(1, fewer.room))),
        now=per_cent(Fraction(fewer.room_now - fewer.panels, max(1, fewer.room_now))),
        least=one.bound.sheets,
    )


def _rules(rules: Sequence[RulePrice]) -> str:
    return table(
        tr("What the rules cost"),
        [tr("rule"), tr("found to save"), tr("at most")],
        [
            [
                tr(rule.rule) if rule.panels is None else tr("{rule} ({count} panels)", rule=tr(rule.rule),
                                                         count=rule.panels),
                show_money(rule.found),
                show_money(rule.most),
            ]
            for rule in rules
        ],
        left=1,
    )  # fmt: skip


def _panels(panels: Sequence[PanelCost]) -> str:
    rows = []
    for one in panels:
        x0, y0, x1, y1 = box(one.panel.cut)
        rows.append(
            [
                shown(f"{one.panel.order}/{one.panel.name}", 60),
                show_size(x1 - x0, y1 - y0),
                str(one.pieces),
                show_money(one.cost),
                show_money(one.waste),
                show_money(one.bound_effect),
            ]
        )
    return table(
        tr("Panels that cost most in waste"),
        [
            tr("first panel"),
            tr("cut size"),
            tr("pieces"),
            tr("cost"),
            tr("of it waste"),
            tr("bound falls by"),
        ],
        rows,
        left=2,
    )
