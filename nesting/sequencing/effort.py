"""What a sheet asks of the table, worked out without a search: for choosing among plans of equal cost."""

from __future__ import annotations

from ..plan import Layout
from ..rules import Rules
from ..shop import Shop, split_key
from ..shop_table import Habit
from .arrange import habit_of
from .beam import modelled
from .freedom import permuted
from .strips import strip_order
from .tree import indexed, tree_of
from .work import Work


def estimated(layout: Layout, rules: Rules, shop: Shop) -> int:
    """Time to cut a sheet up, within a few per cent of what the best order takes. [ms]

    Parameters
    ----------
    layout
        The sheet, in any order of its cuts.
    rules
        Of its glass.
    shop
        Its habit and rates.

    Notes
    -----
    Cut by cut: the interval programme over every piece (`Work.least`) and one setting for each measure.
    By placements: their order follows without a search.
    """
    thickness = split_key(layout.glass)[1]
    habit = habit_of(layout, thickness, shop.work, shop.table)
    tree = indexed(permuted(tree_of(layout), layout, rules))
    if not tree.nodes:
        return 0
    work = Work(tree, thickness, shop.work.rates, habit)
    if habit is Habit.STRIP:
        order = strip_order(work, shop.work)
        return modelled(work, order) + shop.work.rates.mark * len(order)
    settings = work.mask(work.start()).bit_count() if habit is Habit.STOP else 0
    return work.least(work.start()) + shop.work.rates.setting * settings
