"""What is said of panels whose blanks are much larger than they are."""

from __future__ import annotations

from collections.abc import Iterable

from panewright.io.problems import shown
from panewright.nesting.costly_blanks import CostlyBlank, costly_blanks
from panewright.nesting.plan import Layout, Plan
from panewright.nesting.text import local_number, tr_count
from panewright.nesting.units import show_size


def blank_words(plan: Plan, layouts: Iterable[Layout] | None = None) -> list[str]:
    """One line for equal panels of an order that lie alone in costly blanks, with the remedy."""
    found: dict[tuple[str, str, int, int], list[CostlyBlank]] = {}
    for one in costly_blanks(plan, layouts):
        sizes = max(one.width, one.height), min(one.width, one.height)
        found.setdefault((one.panel.order, one.panel.name, *sizes), []).append(one)
    return [
        tr_count(
            "{panel} takes a blank of {size}, {times} times the {least} about it: beside it in a smaller one something "
            "is too thin to break off, or no sheet is large enough. Ordered with that corner or taper left on, and "
            "ground afterwards, it takes less glass.",
            "{panel}: {count} panels take a blank of {size} each, {times} times the {least} about them: beside them in "
            "a smaller one something is too thin to break off, or no sheet is large enough. Ordered with that corner or "
            "taper left on, and ground afterwards, they take less glass.",
            len(same),
            panel=shown(f"{order}/{name}", 60),
            size=show_size(same[0].width, same[0].height),
            times=local_number(f"{same[0].tenths // 10}.{same[0].tenths % 10}"),
            least=show_size(*same[0].least),
        )
        for (order, name, _, _), same in found.items()
    ]
