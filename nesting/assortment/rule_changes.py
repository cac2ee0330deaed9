"""What a rule of the shop costs in a year: the same weeks under the rule as it is and under another one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final, Literal

from ..rules import Rules
from ..shop import Shop
from ..stock import StockPiece
from ..units import NM_PER_MM
from ..week_sheets.carry import carry_of
from ..week_sheets.material import Material
from .weekly_plans import Case

RuleName = Literal["break-out distance", "levels", "longest score", "larger table", "offcuts"]
LEVELS: Final = (2, 3, 4, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleChange:
    """One rule changed.

    Parameters
    ----------
    rule
        Which one.
    case
        Sizes and rules with the change.
    in_lp
        Whether the LP knows of the rule.
    """

    rule: RuleName
    case: Case
    in_lp: bool

    @property
    def rules(self) -> Rules:
        """The rules with the change."""
        return self.case.rules


def rule_changes(stock: Sequence[StockPiece], shop: Shop, glass: str) -> list[RuleChange]:
    """The changes that are looked at, all but that of the table: it is a choice of sizes.

    Parameters
    ----------
    stock
        The sizes that are stocked.
    shop, glass
        Its rules of this glass.
    """
    rules = shop.rules(glass)
    pieces = tuple(stock)
    out = []
    half = rules.break_out // (2 * NM_PER_MM) * NM_PER_MM
    if 0 < half < rules.break_out:
        out.append(_changed("break-out distance", pieces, replace(rules, break_out=half), in_lp=True))
    for levels in LEVELS:
        if levels != rules.levels:
            changed = replace(rules, levels=levels)
            out.append(_changed("levels", pieces, changed, in_lp={levels, rules.levels} <= {2, 3}))
    if rules.longest_cut is not None:
        out.append(_changed("longest score", pieces, replace(rules, longest_cut=None), in_lp=True))
    carry = carry_of(shop, Material(glass=glass, stock=pieces, rules=rules))
    for least in (rules.least_offcut, _twice(rules.least_offcut)):
        kept = replace(rules, least_offcut=least)
        out.append(RuleChange(rule="offcuts", case=Case(stock=pieces, rules=kept, carry=carry), in_lp=False))
    return out


def _changed(rule: RuleName, stock: tuple[StockPiece, ...], rules: Rules, *, in_lp: bool) -> RuleChange:
    return RuleChange(rule=rule, case=Case(stock=stock, rules=rules), in_lp=in_lp)


def _twice(least: tuple[int, int]) -> tuple[int, int]:
    return 2 * least[0], 2 * least[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleCost:
    """What a changed rule would save in a year; a negative number is what it would cost more.

    Parameters
    ----------
    change
        The rule.
    by_lp
        By the LP, in which a year is cut at once; None where the LP does not know of the rule.
        [1/10,000 of the currency]
    by_plans
        By plans of every week, as found; None where they were not made. [1/10,000 of the currency]
    lp_share, plan_share
        The same over the glass cost of the year.
    """

    change: RuleChange
    by_lp: int | None
    by_plans: int | None
    lp_share: Fraction | None = None
    plan_share: Fraction | None = None
