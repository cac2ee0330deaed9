"""Points of a solution of the glass-cutting challenge of 2018 that a stricter reading of its rules could forbid.

The description in words that the checker follows does not forbid them; they are counted so that an outsider can
judge. In the best solutions in print pairs of items occur (476 of 3,390 4-cuts, counted for the shared data).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from panewright.io.bench_challenge_check import BRANCH, WASTE, Node
from panewright.io.bench_challenge_data import Challenge

LEADING: Final = {
    1: "waste_before_the_first_strip",
    2: "waste_below_the_first_row",
    3: "waste_before_the_first_column",
}
BELOW: Final = "waste_below_the_item_of_a_4_cut"
PAIR: Final = "two_items_of_one_4_cut"
PAIR_OF_TWO: Final = "two_items_of_one_4_cut_from_two_stacks"
READINGS: Final = (*LEADING.values(), BELOW, PAIR, PAIR_OF_TWO)


def readings(challenge: Challenge, nodes: Sequence[Node]) -> dict[str, int]:
    """How often each of `READINGS` occurs in a solution that passed the checker."""
    count = Counter(dict.fromkeys(READINGS, 0))
    children: dict[int, list[Node]] = {}
    for node in nodes:
        if node.parent is not None:
            children.setdefault(node.parent, []).append(node)
    for node in nodes:
        if node.kind != BRANCH:
            continue
        first, *others = sorted(children[node.node], key=lambda n: (n.x, n.y))
        if first.kind == WASTE:
            count[LEADING.get(first.cut, BELOW)] += 1
        elif first.cut == len(LEADING) + 1 and others[0].kind != WASTE:
            stacks = {challenge.items[n.kind].stack for n in (first, others[0])}
            count[PAIR] += 1
            count[PAIR_OF_TWO] += len(stacks) == 2
    return dict(count)
