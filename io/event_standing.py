"""Which events stand: an undoing may itself be undone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping


def standing(undoes: Mapping[str, str | None]) -> dict[str, bool]:
    """Whether each event still stands.

    Parameters
    ----------
    undoes
        Id of every event -> id of the event that it undoes, None for one that undoes nothing.

    Notes
    -----
    A ring of undoings undoes nothing, nor does one of an event that is not there.

    Examples
    --------
    >>> standing({"cut": None, "no": "cut", "yes": "no"})
    {'cut': True, 'no': False, 'yes': True}
    """
    target = {key: of for key, of in undoes.items() if of is not None and of in undoes}
    waiting = Counter(target.values())
    stands: dict[str, bool] = {}
    ready = [(key, True) for key in undoes if not waiting[key]]
    while ready:
        key, stand = ready.pop()
        if key in stands:
            continue
        stands[key] = stand
        if key in target:
            undone = target[key]
            waiting[undone] -= 1
            if stand:
                ready.append((undone, False))
            elif not waiting[undone]:
                ready.append((undone, True))
    return {key: stands.get(key, True) for key in undoes}
