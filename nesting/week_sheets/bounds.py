"""Which weeks a real plan must decide: those that lie between two fills that are sure.

Against real plans of drawn shops `ceil` at fills of 0.92 and 0.97 agreed in 74 to 99 % of the weeks: these
need no plan, since any plan takes that number. The sure fills are read off the weeks that were nested.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from .cover_rule import THOUSAND, Cover
from .fit import CalibratedRules, GlassWeeks

LOW: Final = 900
"""A fill that every plan reaches where the weeks do not tell otherwise. [1/1000]"""
HIGH: Final = 980
"""A fill that no plan exceeds where the weeks do not tell otherwise. [1/1000]"""
MARGIN: Final = 5
"""Kept clear of what the weeks show. [1/1000]"""


@dataclass(frozen=True, slots=True)
class SureFills:
    """Of one glass: every plan fills at least `low`, none more than `high`. [1/1000]"""

    low: int
    high: int


def sure_fills(cover: Cover, weeks: GlassWeeks) -> SureFills:
    """The fills that would have been sure in every nested week of a glass of one size.

    A week of n sheets and area a shows that n - 1 sheets could not be filled to hold a, and that n were.
    """
    if len(cover.rooms) != 1 or not len(weeks.weeks):
        return SureFills(LOW, HIGH)
    area = weeks.sums[:, cover.first] * THOUSAND
    sheets = weeks.sheets[:, 0]
    room = cover.rooms[0]
    # what sides force, no fill explains
    forced = sheets <= replace(cover, fill=THOUSAND).base(weeks.sums)[:, 0]
    more = (sheets > 1) & ~forced
    low = int((area[more] // (room * (sheets[more] - 1))).min(initial=LOW + MARGIN)) - MARGIN
    some = sheets > 0
    high = int((-(-area[some] // (room * sheets[some]))).max(initial=HIGH - MARGIN)) + MARGIN
    return SureFills(max(1, min(LOW, low)), min(THOUSAND, max(HIGH, high)))


def undecided(
    rules: CalibratedRules, sums: Any, weeks: Mapping[str, GlassWeeks] | None = None
) -> dict[str, Any]:
    """Whether a real plan must decide a week, by glass.

    Parameters
    ----------
    rules
        Fitted rules.
    sums
        Sums of the contents of weeks, shape (..., features).
    weeks
        Nested weeks, from which the sure fills are read; None: `LOW` and `HIGH`.

    Returns
    -------
    dict
        Booleans of shape (...). A glass of several sizes is always open: which of them a plan takes no
        bound tells.
    """
    whole = np.rint(np.asarray(sums) * 10**6).astype(np.int64)
    flat = whole.reshape(-1, whole.shape[-1])
    found: dict[str, Any] = {}
    for glass, material in rules.measure.materials.items():
        mine = flat[:, rules.measure.columns[glass]]
        some = mine.any(axis=1)
        if len(material.sizes) > 1:
            open_ = some
        else:
            cover = rules.measure.cover(glass)
            fills = SureFills(LOW, HIGH) if weeks is None else sure_fills(cover, weeks[glass])
            least = replace(cover, fill=fills.high).base(mine)
            most = replace(cover, fill=fills.low).base(mine)
            open_ = some & (least != most)[:, 0]
        found[glass] = open_.reshape(whole.shape[:-1])
    return found
