"""All files of a day, by name, and the folder that they go to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from panewright.io.day_lists import day_lists
from panewright.io.day_text import day_text
from panewright.io.draw_outputs import Wishes, output_files
from panewright.io.list_folder import ListFolder
from panewright.io.numbers_text import spread
from panewright.nesting.day.day_plan import DayPlan
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr

CONTENTS: Final = "day-contents.txt"
"""Names of the files of an earlier run, so that no other is removed."""


def day_folder(path: Path, *, replace: bool) -> ListFolder:
    """The folder of a day; another day in it may only be replaced by will."""
    return ListFolder(path, CONTENTS, tr("the lists of a day"), replace)


def day_files(
    day: DayPlan, shop: Shop, data: dict[str, Any], *, printed: bool = False
) -> dict[str, str | bytes]:
    """The text for reading and printing, the lists as CSV, and everything as JSON, by file name.

    Parameters
    ----------
    day, shop
        The day, and the shop that it was planned for.
    data
        What `day_json` says of it.
    printed
        Cut book, labels with their places, and the page for the table too.
    """
    stem = f"day-{day.on.isoformat()}"
    return {
        f"{stem}.txt": day_text(day, shop),
        f"{stem}.json": spread(data, 4) + "\n",
        **{f"{stem}-{name}.csv": text for name, text in day_lists(day, shop).items()},
        **(dict(_printed(day, shop)) if printed else {}),
    }


def _printed(day: DayPlan, shop: Shop) -> Iterator[tuple[str, bytes]]:
    """For each plan what is printed of its sheets of the day, in the order in which they are cut."""
    slots = {order: place for order, place in day.places.items() if place is not None}
    for plan in day.plans:
        numbers = [one.sheet.layout.number for one in day.today if one.sheet.plan.id == plan.id]
        if not numbers:
            continue
        by_number = {layout.number: layout for layout in plan.layouts}
        others = [layout for layout in plan.layouts if layout.number not in numbers]
        ordered = replace(plan, layouts=(*(by_number[n] for n in numbers), *others))
        wishes = Wishes(sheets=frozenset(numbers), printing=shop.printing, lifts=shop.lifts, slots=slots)
        yield from output_files(ordered, ("book", "labels", "page"), wishes)
