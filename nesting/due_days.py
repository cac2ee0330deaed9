"""The order of sheets by due days, and which of equal panels lies on which sheet.

Everything here is whole numbers: a *time* for each place in the order (a day, or the place itself) and a
*due* for each panel (the last time at which it is not late). Panels of one kind stand for one another.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

NEVER = 10**9
"""Due of a panel without a due day."""
TRIES = 300
"""Orders of up to 20 sheets tried to make fewer panels late, once the first order is found."""
MOST_BUILT = 100
"""More sheets than this are sorted by their soonest due, not put in order one by one."""


@dataclass(frozen=True, slots=True, order=True)
class Lateness:
    """How late panels are; less is better, one field after another.

    Parameters
    ----------
    missing
        Panels for which there is no stock, as one number in which those due on an earlier day outweigh any
        number of those due later.
    first, panels
        Late panels among those due first, and all late panels.
    delay
        Sum of their delays in times.
    """

    missing: int = 0
    first: int = 0
    panels: int = 0
    delay: int = 0

    def __add__(self, other: Lateness) -> Lateness:
        return Lateness(
            self.missing + other.missing,
            self.first + other.first,
            self.panels + other.panels,
            self.delay + other.delay,
        )


def assign(times: Sequence[int], dues: Sequence[int]) -> list[int]:
    """Hand panels of one kind out to places, as few as possible late, the late ones as early as can be.

    Parameters
    ----------
    times
        Of the places, rising.
    dues
        Of as many panels, rising.

    Returns
    -------
    list of int
        The panel of each place, as its index in `dues`.

    Notes
    -----
    Each place in turn takes the earliest due that it still meets, which gives the most panels in time
    (the times of a panel's places are nested). Backwards, these panels go as late as they may, so that
    the late ones come as early as can be had.

    Examples
    --------
    >>> assign([1, 2, 3], [1, 1, 3])
    [0, 1, 2]
    >>> assign([2, 3], [1, 2])
    [1, 0]
    """
    in_time: list[int] = []
    k = 0
    for time in times:
        while k < len(dues) and dues[k] < time:
            k += 1
        if k == len(dues):
            break
        in_time.append(k)
        k += 1
    if len(in_time) == len(dues):
        return in_time
    chosen = set(in_time)
    late = [i for i in range(len(dues)) if i not in chosen]
    out = [0] * len(times)
    for place in range(len(times) - 1, -1, -1):
        if in_time and dues[in_time[-1]] >= times[place]:
            out[place] = in_time.pop()
        else:
            out[place] = late.pop()
    return out


Kind = tuple[int, int]
"""Glass and type, by number."""
Content = Mapping[Kind, int]
"""How many panels of each kind a sheet holds."""
Times = Callable[[Sequence[int]], Sequence[int]]
"""The times of the places, rising, when the sheets are cut in this order."""


def places(order: Sequence[int], contents: Sequence[Content]) -> dict[Kind, list[int]]:
    """The places of each kind in an order of the sheets, rising, one for each panel."""
    out: dict[Kind, list[int]] = {}
    for place, sheet in enumerate(order):
        for kind, count in contents[sheet].items():
            out.setdefault(kind, []).extend([place] * count)
    return out


def lateness(
    order: Sequence[int],
    contents: Sequence[Content],
    times_of: Times,
    dues: Mapping[Kind, Sequence[int]],
    *,
    first: int = -1,
) -> Lateness:
    """How late the panels are in this order, counted exactly.

    Parameters
    ----------
    order
        Indexes of the sheets, first to last.
    contents
        Of each sheet.
    times_of
        Gives the time of each place in an order.
    dues
        Of the panels of each kind, rising; as many as the sheets hold.
    first
        Panels due by then are due first.
    """
    before = panels = delay = 0
    times = times_of(order)
    for kind, where in places(order, contents).items():
        mine = dues[kind]
        if mine[0] >= times[where[-1]]:
            continue
        at = [times[p] for p in where]
        for time, i in zip(at, assign(at, mine), strict=True):
            if mine[i] < time:
                before += mine[i] <= first
                panels += 1
                delay += time - mine[i]
    return Lateness(first=before, panels=panels, delay=delay)


def order_of_sheets(
    contents: Sequence[Content],
    times_of: Times,
    dues: Mapping[Kind, Sequence[int]],
    *,
    first: int = -1,
    tries: int = TRIES,
) -> tuple[list[int], Lateness]:
    """An order of the sheets with few late panels, and how late it is.

    Parameters
    ----------
    contents
        Of each sheet.
    times_of
        Gives the time of each place in an order.
    dues
        Of the panels of each kind, rising; as many as the sheets hold.
    first
        Panels due by then are due first.
    tries
        Changes to the order that are tried for up to 20 sheets; fewer where there are more.

    Notes
    -----
    The sheets are sorted by what is due soonest on them. Where panels are late then, and in the given order
    too, the order is built from its end: the last place goes to the sheet whose panels mind it least (Lawler's
    rule, Management Science 1973, for the greatest delay; a heuristic for the number of late panels). While
    panels are late, single sheets are then moved forwards and backwards, as long as that helps.
    """
    best = _by_soonest(contents, dues)
    key = lateness(best, contents, times_of, dues, first=first)
    for built in (_as_given, _from_the_end):
        if key.panels == 0:
            return best, key
        order = built(contents, times_of, dues)
        found = lateness(order, contents, times_of, dues, first=first)
        if found < key:
            best, key = order, found
    tries = tries * 20 // max(20, len(best))
    improved = True
    while improved and key.panels and tries > 0:
        improved = False
        for i in range(len(best)):
            times = times_of(best)
            for j in range(len(best)):
                # within one time nothing changes
                if i == j or times[i] == times[j] or tries <= 0:
                    continue
                tries -= 1
                trial = best[:i] + best[i + 1 :]
                trial.insert(j, best[i])
                found = lateness(trial, contents, times_of, dues, first=first)
                if found < key:
                    best, key, improved = trial, found, True
                    times = times_of(best)
    return best, key


def _by_soonest(contents: Sequence[Content], dues: Mapping[Kind, Sequence[int]]) -> list[int]:
    """The sheets by the soonest dues of their panels; of equals the given order."""
    left = {kind: list(reversed(mine)) for kind, mine in dues.items()}
    soonest: list[list[int]] = []
    for content in contents:
        found: list[int] = []
        for kind, count in content.items():
            found += [left[kind].pop() for _ in range(count)]
        soonest.append(sorted(found))
    return sorted(range(len(contents)), key=lambda s: (soonest[s][:3], s))


def _as_given(contents: Sequence[Content], times_of: Times, dues: Mapping[Kind, Sequence[int]]) -> list[int]:
    return list(range(len(contents)))


def _from_the_end(
    contents: Sequence[Content], times_of: Times, dues: Mapping[Kind, Sequence[int]]
) -> list[int]:
    if len(contents) > MOST_BUILT:
        return _as_given(contents, times_of, dues)
    left = {kind: list(mine) for kind, mine in dues.items()}
    open_ = list(range(len(contents)))
    out: list[int] = []
    for time in reversed(times_of(open_)):
        best: tuple[int, int, int, int] | None = None
        for sheet in open_:
            late = delay = 0
            soonest = NEVER
            for kind, count in contents[sheet].items():
                mine = left[kind][-count:]
                soonest = min(soonest, mine[0])
                for due in mine:
                    if due < time:
                        late += 1
                        delay += time - due
            key = (late, delay, -soonest, -sheet)
            if best is None or key < best:
                best = key
        assert best is not None
        sheet = -best[3]
        open_.remove(sheet)
        out.append(sheet)
        for kind, count in contents[sheet].items():
            del left[kind][-count:]
    out.reverse()
    return out
