"""How much more a panel is worth in a nest because it is due soon, or because its order is open already."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from ..cutting_days import CuttingDays


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """Weights in the value of a panel: area to some power, times (1 + urgency + open).

    Parameters
    ----------
    urgency
        Of a panel that is due on the earliest day left; it falls to nothing over `days` working days.
    begun
        Of a panel whose order has a panel on a sheet before.
    days
        See above, at least 1.

    Raises
    ------
    ValueError
        A weight is negative, or there is no day.
    """

    urgency: float = 0.0
    begun: float = 0.0
    days: int = 2

    def __post_init__(self) -> None:
        if self.urgency < 0 or self.begun < 0 or self.days < 1:
            raise ValueError(f"weights are positive, over one day at least: {self}")

    @property
    def any(self) -> bool:
        """Whether anything weighs beside the area."""
        return self.urgency > 0 or self.begun > 0


CURVE: Final[Sequence[Weights]] = (
    Weights(),
    Weights(urgency=0.25, begun=0.25),
    Weights(urgency=0.5, begun=0.5),
    Weights(urgency=1.0, begun=0.5),
    # what is due first goes before all else, and the gaps go to what is due later
    Weights(urgency=20.0, begun=1.0, days=1),
)
"""From a nest where area alone counts to one that is made due day by due day."""


def working_days(days: CuttingDays, dues: Sequence[date]) -> dict[date, int]:
    """The number of each of these days, counted in working days of the table.

    Examples
    --------
    >>> friday, monday = date(2027, 3, 5), date(2027, 3, 8)
    >>> working_days(CuttingDays(), [friday, monday])[monday]
    1
    """
    out: dict[date, int] = {}
    wanted = sorted(set(dues))
    day, number = (wanted[0], 0) if wanted else (date.min, 0)
    for due in wanted:
        while day < due:
            day += timedelta(days=1)
            number += day.weekday() in days.working and day not in days.free
        out[due] = number
    return out
