"""The pace of a search, by the seconds that its caller counts: after how many steps a moment will come."""

from __future__ import annotations

from collections import deque
from typing import Final

SETTLED: Final = 0.3
"""From then on the pace is told by the steps so far. [s]"""
OF_LATE: Final = 0.5
"""It is that of so long a time. [s]"""
JUST_BEFORE: Final = 0.985
"""Share of a moment's time at which what is made to end there shall end."""


class Pace:
    """Steps over seconds of late."""

    def __init__(self) -> None:
        self._seen: deque[tuple[float, int]] = deque()

    def steps_at(self, moment: float, spent: float, steps: int) -> int | None:
        """Steps that will be counted just before a moment; None while nothing is known of the pace.

        Parameters
        ----------
        moment
            Of which the steps are asked. [s]
        spent, steps
            Now, since the search began. [s]
        """
        if spent <= SETTLED:
            return None
        while len(self._seen) > 1 and self._seen[1][0] <= spent - OF_LATE:
            self._seen.popleft()
        self._seen.append((spent, steps))
        before, then = self._seen[0] if len(self._seen) > 1 else (0.0, 0)
        pace = (steps - then) / max(spent - before, 1e-6)
        return steps + int(pace * (JUST_BEFORE * moment - spent))
