"""Work on a sheet that several outputs of one plan need: done once while that plan is in hand."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

from .plan import Layout, Plan

Given = ParamSpec("Given")
Result = TypeVar("Result")


def once_a_sheet(
    function: Callable[Concatenate[Plan, Layout, Given], Result],
) -> Callable[Concatenate[Plan, Layout, Given], Result]:
    """Keep what a function of a plan and one of its sheets gave, until it is asked about another plan.

    Plans are told apart by identity: they never change, and hold too much to compare. What is given must
    not be changed by who receives it.
    """
    kept: list[tuple[Plan, dict[object, tuple[Layout, Result]]]] = []

    @wraps(function)
    def asked(plan: Plan, layout: Layout, /, *args: Given.args, **named: Given.kwargs) -> Result:
        entry = kept[0] if kept else None
        if entry is None or entry[0] is not plan:
            entry = (plan, {})
            kept[:] = [entry]
        known = entry[1]
        key = (id(layout), args, tuple(sorted(named.items())))
        if key not in known or known[key][0] is not layout:
            known[key] = (layout, function(plan, layout, *args, **named))
        return known[key][1]

    return asked
