"""A sheet with its cuts in a good order: the tree, the freedom in it, and the search by the habit of the table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ..glass import mass_grams
from ..plan import Layout
from ..rules import Rules
from ..shop import Shop, split_key
from ..shop_table import Habit, Table, TableWork
from .beam import best_order
from .freedom import permuted
from .strips import strip_order
from .tree import Blank, Broken, Indexed, indexed, tree_of, written
from .work import Work

MACHINE_WAITING = 10
"""Pieces that may wait beside a machine table while a sheet is broken out [common practice]."""


def habit_of(layout: Layout, thickness: int, work: TableWork, table: Table) -> Habit:
    """How a sheet is cut: as the shop says, else by the table and the mass of the sheet.

    Parameters
    ----------
    layout
        The sheet.
    thickness
        Of its glass. [nm]
    work, table
        Of the shop.
    """
    if work.habit is not None:
        return work.habit
    if table is Table.MACHINE:
        return Habit.MACHINE
    mass = mass_grams(2 * layout.width * layout.height, thickness)
    return Habit.STRIP if mass >= work.strip_from else Habit.STOP


def arranged(
    layout: Layout, rules: Rules, thickness: int, work: TableWork, habit: Habit, *, permute: bool
) -> Layout:
    """The sheet with its cuts in the order in which they are best made.

    Parameters
    ----------
    layout
        As the optimizer left it.
    rules
        Of its glass.
    thickness
        [nm]
    work
        Rates of the table, and how many pieces may wait.
    habit
        How the sheet is cut.
    permute
        Whether pieces may change places. That makes another plan with another id: a plan that is filed
        is only put in another order.

    Returns
    -------
    Layout
        The same pieces, each of its old size, with new names.
    """
    root = tree_of(layout)
    tree = indexed(permuted(root, layout, rules) if permute else root)
    if not tree.nodes:
        return replace(layout, habit=habit.value)
    cuts, leaves = written(tree, order_of(tree, thickness, work, habit))
    return replace(layout, cuts=cuts, leaves=leaves, habit=habit.value)


def sequenced(layouts: Sequence[Layout], shop: Shop, *, permute: bool = True) -> list[Layout]:
    """All sheets with their cuts in a good order, each by the habit that the shop has for it."""
    out = []
    for layout in layouts:
        thickness = split_key(layout.glass)[1]
        habit = habit_of(layout, thickness, shop.work, shop.table)
        rules = shop.rules(layout.glass)
        out.append(arranged(layout, rules, thickness, shop.work, habit, permute=permute))
    return out


def order_of(tree: Indexed, thickness: int, work: TableWork, habit: Habit) -> list[Broken]:
    """The breaks of a sheet by its habit."""
    moves = Work(tree, thickness, work.rates, habit)
    if habit is Habit.STRIP:
        return strip_order(moves, work)
    waiting = max(work.waiting, MACHINE_WAITING) if habit is Habit.MACHINE else work.waiting
    return best_order(moves, waiting=waiting)


def plain_order(tree: Indexed) -> list[Broken]:
    """The tree walked from the left and the bottom, each part cut up before the next is taken off.

    What a list without any search looks like: the reference of the benchmark.
    """
    order: list[Broken] = []

    def walk(number: int) -> None:
        node = tree.nodes[number]
        if isinstance(node, Blank):
            order.append((number, 0, 1, -1, 0))
            return
        n = len(node.children)
        for i in range(n):
            if i < n - 1:
                order.append((number, i, n, i + 1, 0))
            if tree.inner[number][i] >= 0:
                walk(tree.inner[number][i])

    if tree.nodes:
        walk(0)
    return order
