"""Lower bounds on the number of orders that are open at once.

The customer graph joins two orders that share a sheet. Sheets ordered with at most k orders open are a path
decomposition of it with parts of at most k orders, so that its treewidth plus one is a bound (Linhares and
Yanasse 2002, Computers and Operations Research 29, tell of the equal problems; read second-hand).
"""

from __future__ import annotations

from collections.abc import Sequence

from .table import bits


def neighbours(masks: Sequence[int], orders: int) -> list[int]:
    """For each order the orders that share a sheet with it, itself too, as bit sets."""
    out = [0] * orders
    for mask in masks:
        for c in bits(mask):
            out[c] |= mask
    return out


def contraction_degeneracy(near: Sequence[int]) -> int:
    """A lower bound on the treewidth: the greatest least degree met while edges are contracted.

    Parameters
    ----------
    near
        Neighbours of each order and the order itself, as bit sets; 0 for an order that is not there.

    Notes
    -----
    The order of least degree is joined with the neighbour with which it shares fewest neighbours
    (Bodlaender, Koster and Wolle 2004, "Contraction and treewidth lower bounds", rule "least-c"; from memory).

    Examples
    --------
    >>> contraction_degeneracy([0b1011, 0b0111, 0b1110, 0b1101])
    2
    """
    graph = {c: mask & ~(1 << c) for c, mask in enumerate(near) if mask}
    best = 0
    while graph:
        c = min(graph, key=lambda v: (graph[v].bit_count(), v))
        mine = graph.pop(c)
        best = max(best, mine.bit_count())
        for v in bits(mine):
            graph[v] &= ~(1 << c)
        if not mine:
            continue
        other = min(bits(mine), key=lambda v: ((graph[v] & mine).bit_count(), v))
        new = mine & ~(1 << other) & ~graph[other]
        graph[other] |= new
        for v in bits(new):
            graph[v] |= 1 << other
    return best


def least_open(masks: Sequence[int], begun: int, orders: int) -> int:
    """No order of these sheets has fewer orders open at once.

    Parameters
    ----------
    masks
        Orders on each sheet, as bit sets.
    begun
        Orders that are open before the first of them.
    orders
        Number of orders.
    """
    # all that are open at the start are open together
    parts = [*masks, begun] if begun else list(masks)
    first = min(((begun | mask).bit_count() for mask in masks), default=0)
    widest = max((mask.bit_count() for mask in parts), default=0)
    return max(widest, first, contraction_degeneracy(neighbours(parts, orders)) + 1 if masks else 0)
