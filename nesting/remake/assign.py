"""Which sheet takes which of the missing panels: the least cost over all ways to share a few of them out.

Every sheet, offcut and stock size is a bin; a bin may take some sets of the needs, each at a cost. A table
over all sets of needs finds the cheapest choice of bins whose sets are disjoint.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

Cost = tuple[int, ...]
"""Compared place by place; costs of several bins add up."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A set of needs (bit i: need i) that a bin takes, and what that costs."""

    bin: int
    mask: int
    cost: Cost


def cheapest_choice(
    needs: int, choices: Sequence[Choice], copies: Sequence[int], alone: Sequence[Cost]
) -> tuple[Cost, tuple[Choice, ...], int]:
    """The cheapest way to share needs out.

    Parameters
    ----------
    needs
        Their number.
    choices
        What the bins may take.
    copies
        How often each bin is there.
    alone
        Cost of leaving each need out.

    Returns
    -------
    tuple
        Cost, the choices taken, and the needs that are left out, as a mask.
    """
    size = len(alone[0]) if alone else 0
    zero: Cost = (0,) * size
    best: dict[int, tuple[Cost, tuple[Choice, ...]]] = {0: (zero, ())}
    by_bin: dict[int, list[Choice]] = {}
    for choice in choices:
        by_bin.setdefault(choice.bin, []).append(choice)
    for number in sorted(by_bin):
        for _ in range(min(copies[number], needs)):
            for mask, (cost, taken) in sorted(best.items(), key=lambda row: -row[0]):
                for choice in by_bin[number]:
                    if mask & choice.mask:
                        continue
                    total = tuple(a + b for a, b in zip(cost, choice.cost, strict=True))
                    known = best.get(mask | choice.mask)
                    if known is None or total < known[0]:
                        best[mask | choice.mask] = (total, (*taken, choice))
    everything = (1 << needs) - 1
    found = None
    for mask, (cost, taken) in sorted(best.items()):
        left = everything & ~mask
        for i in range(needs):
            if left >> i & 1:
                cost = tuple(a + b for a, b in zip(cost, alone[i], strict=True))
        if found is None or cost < found[0]:
            found = cost, taken, left
    assert found is not None
    return found
