"""Children of a node change places: equal ones side by side, wide before narrow, waste last.

A stop then stays set, and what nobody measures is cullet. No size changes; what touches a raw side
stays at it, and so do the trims there.
"""

from __future__ import annotations

from ..plan import CutKind, Layout
from ..rules import Rules
from .tree import Blank, Child, Node, is_waste, size_of


def permuted(root: Child, layout: Layout, rules: Rules) -> Child:
    """The tree with its children in the order in which they are cut best.

    Parameters
    ----------
    root
        The tree of `layout`; it is changed.
    layout
        With flaws nothing moves, for a panel could come to lie on one.
    rules
        Where the distances of level-1 cuts have limits, the children between them stay.
    """
    if isinstance(root, Node) and not layout.flaws:
        _permute(root, rules.level1_gap != (0, None))
    return root


def _permute(node: Node, keep_first_level: bool) -> None:
    for child in node.children:
        if isinstance(child, Node):
            _permute(child, keep_first_level)
    if keep_first_level and any(b.level == 1 for b in node.bounds):
        return
    free = [i for i in range(len(node.children)) if not _stays(node, i)]
    # a trim and its boundary stay; between free children all boundaries are alike
    kinds = {node.bounds[i] for i in range(len(node.bounds)) if i in free and i + 1 in free}
    if len(free) < 2 or len(kinds) > 1 or free != list(range(free[0], free[-1] + 1)):
        return
    order = sorted(free, key=lambda i: _rank(node, i))
    node.children[free[0] : free[-1] + 1] = [node.children[i] for i in order]


def _stays(node: Node, i: int) -> bool:
    beside = [node.bounds[k] for k in (i - 1, i) if 0 <= k < len(node.bounds)]
    if node.touches[i]:
        return True
    # the piece behind a trim may move, a trim itself lies on its raw side
    return bool(beside) and all(b.kind is CutKind.TRIM for b in beside) and is_waste(node.children[i])


def _rank(node: Node, i: int) -> tuple[int, int, int, int]:
    child = node.children[i]
    extent = size_of(child)[node.axis]
    simple = 0 if not isinstance(child, Node | Blank) else 1
    return int(is_waste(child)), -extent, simple, i
