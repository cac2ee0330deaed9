"""Places on the racks: every open order has one to itself, the lowest that is free."""

from __future__ import annotations

from collections.abc import Sequence

from ..shop_table import Racks
from .sheets import DaySheet
from .standing import spans


def place_names(racks: Racks) -> list[str]:
    """The places of all racks, as they are filled: ``A-1``, ``A-2``.

    Examples
    --------
    >>> place_names(Racks(names=("A", "B"), slots=2))
    ['A-1', 'A-2', 'B-1', 'B-2']
    """
    return [f"{name}-{slot}" for name in racks.names for slot in range(1, racks.slots + 1)]


def rack_places(sheets: Sequence[DaySheet], racks: Racks) -> dict[str, str | None]:
    """The place of every order from its first to its last sheet.

    Parameters
    ----------
    sheets
        All sheets of the plans, in the order in which they were and will be cut, those that are cut already
        included: whoever has a place keeps it.
    racks
        The racks.

    Returns
    -------
    dict
        Place by order, None where all places are taken when it begins. How much a place holds is not known to
        the shop file: an order has one, however many panels it has.

    Notes
    -----
    A place is free again for the sheet after the order's last one.
    """
    names = place_names(racks)
    when = spans(sheets, ())
    ends: dict[int, list[str]] = {}
    for order, (_, last) in when.items():
        ends.setdefault(last, []).append(order)
    free = set(range(len(names)))
    out: dict[str, str | None] = {}
    held: dict[str, int] = {}
    for at, sheet in enumerate(sheets):
        for order in sheet.orders:
            if order in out:
                continue
            if free:
                held[order] = min(free)
                free.remove(held[order])
                out[order] = names[held[order]]
            else:
                out[order] = None
        free |= {held.pop(order) for order in ends.get(at, ()) if order in held}
    return out
