"""Children of a node change places: equal ones side by side, wide before narrow, waste last.

A stop then stays set, and what nobody measures is cullet. No size changes; what touches a raw side
stays at it, and so do the trims there.
"""

from __future__ import annotations

from dataclasses import replace

from ..outlines import box
from ..plan import CutKind, Layout, Leaf
from ..rules import Rules
from .tree import Blank, Child, Node, X, is_waste, size_of


def permuted(root: Child, layout: Layout, rules: Rules) -> Child:
    """The tree with its children in the order in which they are cut best.

    Parameters
    ----------
    root
        The tree of `layout`; it is changed.
    layout
        With flaws or spots nothing moves, for a panel could come to lie on one.
    rules
        Where the distances of level-1 cuts or the widths between them have limits, the children between them stay.
    """
    if isinstance(root, Node) and not layout.flaws and not layout.spots:
        root = _trims_joined(root, rules.longest_cut)
        _permute(root, (rules.level1_gap, rules.level1_width) != ((0, None), (0, None)))
    return root


def _trims_joined(root: Node, longest: int | None) -> Node:
    """The second trim beside the cuts that are parallel to it, so that the sheet lies still for both.

    The optimizer takes the left strip off first, then the bottom one, then turns the sheet back for cuts
    parallel to the first. Bottom first saves a turn of the whole sheet; the strips of cullet alone change.
    """
    if len(root.children) < 2 or root.bounds[0].kind is not CutKind.TRIM:
        return root
    strip, rest = root.children[:2]
    if not isinstance(strip, Leaf) or not isinstance(rest, Node) or len(rest.children) != 2:
        return root
    other, inner = rest.children
    if (
        rest.bounds[0].kind is not CutKind.TRIM
        or not isinstance(other, Leaf)
        or not isinstance(inner, Node)
        or inner.axis != root.axis
    ):
        return root
    axis, across = root.axis, 1 - root.axis
    wide, deep = size_of(strip)[axis], size_of(other)[across]
    if longest is not None and rest.size[axis] + wide > longest:
        return root
    both = Node(
        axis,
        _with(rest.size, across, rest.size[across] - deep, axis, rest.size[axis] + wide),
        [_shorter(strip, across, deep), *inner.children],
        [root.bounds[0], *inner.bounds],
        (root.raw[0], inner.raw[1]),
        [True, *inner.touches],
    )
    trimmed = Node(
        across,
        _with(rest.size, axis, rest.size[axis] + wide, across, rest.size[across]),
        [_longer(other, axis, wide), both],
        list(rest.bounds),
        rest.raw,
        list(rest.touches),
    )
    if len(root.children) == 2:
        return trimmed
    return Node(
        axis, root.size, [trimmed, *root.children[2:]], root.bounds[1:], root.raw, [True, *root.touches[2:]]
    )


def _with(size: tuple[int, int], a: int, new_a: int, b: int, new_b: int) -> tuple[int, int]:
    out = list(size)
    out[a], out[b] = new_a, new_b
    return out[0], out[1]


def _shorter(leaf: Leaf, axis: int, by: int) -> Leaf:
    """A strip of cullet that begins later along an axis."""
    x0, y0, x1, y1 = box(leaf.outline)
    x0, y0 = (x0 + by, y0) if axis == X else (x0, y0 + by)
    return replace(leaf, outline=((x0, y0), (x1, y0), (x1, y1), (x0, y1)))


def _longer(leaf: Leaf, axis: int, by: int) -> Leaf:
    """A strip of cullet that begins sooner along an axis."""
    return _shorter(leaf, axis, -by)


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
