"""A sheet with its cuts in a good order: the tree, the freedom in it, and the search by the habit of the table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from ..glass import mass_grams
from ..panels import Panel
from ..plan import Layout
from ..rules import Rules
from ..shop import Shop, split_key
from ..shop_table import Habit, Table, TableWork
from .beam import best_in_racks, best_order
from .freedom import permuted
from .open_limit import OpenLimit
from .rack_order import NO_SLOTS, RackOrder, Slots, keeps_order, shared_racks, slots_of
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
    layout: Layout,
    rules: Rules,
    thickness: int,
    work: TableWork,
    habit: Habit,
    *,
    permute: bool,
    slots: Slots = NO_SLOTS,
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
    slots
        Where panels go that go into racks: those of one rack come off in rising order of their slots, as they do in
        `layout`. Where no other such order is found, the cuts stay as they are.

    Returns
    -------
    Layout
        The same pieces, each of its old size, with new names.
    """
    if shared_racks(layout, slots) and keeps_order(layout, slots):
        return _in_racks(layout, rules, thickness, work, habit, permute, slots)
    root = tree_of(layout)
    tree = indexed(permuted(root, layout, rules) if permute else root)
    if not tree.nodes:
        return replace(layout, habit=habit.value)
    cuts, leaves = written(tree, order_of(tree, thickness, work, habit))
    return replace(layout, cuts=cuts, leaves=leaves, habit=habit.value)


def _in_racks(
    layout: Layout, rules: Rules, thickness: int, work: TableWork, habit: Habit, permute: bool, slots: Slots
) -> Layout:
    for moved in (True, False) if permute else (False,):
        root = tree_of(layout)
        tree = indexed(permuted(root, layout, rules) if moved else root)
        racks = RackOrder(tree, layout, slots)
        for order in _orders(tree, thickness, work, habit, racks):
            cuts, leaves = written(tree, order)
            found = replace(layout, cuts=cuts, leaves=leaves, habit=habit.value)
            if keeps_order(found, slots):
                return found
    return _left(layout, habit)


def _left(layout: Layout, habit: Habit) -> Layout:
    """The sheet with its cuts as they are."""
    # a placement is marked and scored together by the habit that it was found for
    same = layout.habit == habit.value
    cuts = tuple(cut if same else replace(cut, placement=None) for cut in layout.cuts)
    return replace(layout, cuts=cuts, habit=habit.value)


def _orders(
    tree: Indexed, thickness: int, work: TableWork, habit: Habit, racks: RackOrder
) -> Iterator[list[Broken]]:
    """Orders by a habit, the best first; those after the first are made for the racks."""
    yield order_of(tree, thickness, work, habit)
    moves = Work(tree, thickness, work.rates, habit)
    if habit is Habit.STRIP:
        yield strip_order(moves, work, racks)
    found = best_in_racks(moves, racks, waiting=_waiting(work, habit))
    if found is not None:
        yield found


def sequenced(
    layouts: Sequence[Layout],
    shop: Shop,
    *,
    permute: bool = True,
    panels: Iterable[Panel] = (),
    open_racks: int | None = None,
) -> list[Layout]:
    """All sheets with their cuts in a good order, each by the habit that the shop has for it.

    Those of `panels` that go into racks come off in the order of their slots. Where a good order opens more racks
    of a glass at once than `open_racks`, the cuts of the sheet stay as they are.
    """
    out = []
    slots = slots_of(panels)
    limit = OpenLimit(layouts, slots, open_racks) if open_racks is not None else None
    for layout in layouts:
        thickness = split_key(layout.glass)[1]
        habit = habit_of(layout, thickness, shop.work, shop.table)
        rules = shop.rules(layout.glass)
        found = arranged(layout, rules, thickness, shop.work, habit, permute=permute, slots=slots)
        if limit is not None:
            found = limit.better(found, _left(layout, habit))
            limit.take(found)
        out.append(found)
    return out


def order_of(tree: Indexed, thickness: int, work: TableWork, habit: Habit) -> list[Broken]:
    """The breaks of a sheet by its habit."""
    moves = Work(tree, thickness, work.rates, habit)
    if habit is Habit.STRIP:
        return strip_order(moves, work)
    return best_order(moves, waiting=_waiting(work, habit))


def _waiting(work: TableWork, habit: Habit) -> int:
    return max(work.waiting, MACHINE_WAITING) if habit is Habit.MACHINE else work.waiting


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
