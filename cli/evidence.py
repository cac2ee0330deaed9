"""Where the counts of breakage come from: the one place that `plan` and `stock breakage` ask."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from panewright.io.breakage_list import read_breakage_list
from panewright.io.problems import Problems
from panewright.nesting.breakage.counts import Worked, added_up
from panewright.nesting.breakage.size_class import size_class
from panewright.nesting.happened import AtStep
from panewright.nesting.outlines import rectangle
from panewright.nesting.shop import Shop

if TYPE_CHECKING:
    from panewright.io.store.address import Address
    from panewright.io.store.breaking import StepCount

ALL: Final = (datetime(2000, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC))
"""Whatever is on record, of devices whose clock is ahead too."""
DAYS_A_WEEK: Final = 7


@dataclass(frozen=True, slots=True)
class Evidence:
    """Counts of work done and panels broken, and the name of the record; empty for none.

    `weeks` is how many whole weeks the counts of a store span, None where that is not known.
    """

    counts: tuple[Worked, ...] = ()
    source: str = ""
    weeks: int | None = None


def evidence(path: Path | None, shop: Shop, problems: Problems, store: Address | None = None) -> Evidence:
    """The counts of a list, else of the stock store, or none where neither is given.

    Parameters
    ----------
    path
        List of counts (`io.breakage_list`), or None.
    shop
        Its glasses.
    problems
        Collects what is wrong with list or store.
    store
        The stock store, or None.
    """
    if path is not None:
        return Evidence(read_breakage_list(path, shop, problems), str(path))
    return Evidence() if store is None else _of_store(store, problems)


def _of_store(address: Address, problems: Problems) -> Evidence:
    from panewright.io.store.breaking import breakage_counts, first_cut
    from panewright.io.store.engine import open_store
    from panewright.io.store.errors import StoreError

    now = datetime.now(UTC)
    try:
        with open_store(address) as store, store.reading() as connection:
            counts = worked(breakage_counts(connection, *ALL))
            since = first_cut(connection)
    except StoreError as error:
        problems.add(error.where, error.reason, error.remedy)
        return Evidence()
    if since is None:
        return Evidence()
    return Evidence(counts, str(address), max(1, round((now - since).days / DAYS_A_WEEK)))


def worked(counts: Iterable[StepCount]) -> tuple[Worked, ...]:
    """The counts of a store by size class; a panel's area is that of the box around it."""
    return added_up(
        Worked(
            step=AtStep(one.step),
            glass=one.glass,
            size=size_class(rectangle(one.width, one.height)),
            done=one.passed,
            broken=one.broken,
            area2=2 * one.width * one.height * one.passed,
        )
        for one in counts
    )
