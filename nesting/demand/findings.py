"""What the planner should know of the order book before anybody trusts a forecast, in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from ..text import tr
from .book import OrderBook
from .exposure import shut_again
from .model import DemandModel
from .season import LEAST_WEEKS
from .weeks import monday, week_name

SHORT: Final = 13
"""Weeks below which the assumptions of the program weigh more than the history."""
GAP: Final = 4
"""Empty weeks in a row that are told of."""
ABSURD: Final = 20
"""Times the panels of the middle order from which on an order is told of, if it holds `MANY` of them too."""
MANY: Final = 50
UNDATED: Final = 0.2
"""Share of orders without a booking day from which on it is told."""
CALLED_OFF: Final = 0.05
"""Share of orders called off from which on it is told."""
REMADE: Final = 0.05
"""Share of orders that are remakes from which on it is told."""
LIKELY_CHANGE: Final = 0.5
"""Chance of a change of level within a few weeks from which on it is told."""
LONG_OVERDUE: Final = 28
"""Days after which an overdue order is told of."""
_NAMED: Final = 3


def findings_of(book: OrderBook, model: DemandModel) -> list[str]:
    """Sentences on the history and on the open orders; none where nothing is worth telling.

    Parameters
    ----------
    book
        That the model was learnt from.
    model
        See `demand_of`.
    """
    return [
        *_history(model),
        *_weeks(book, model),
        *_orders(book, model),
        *_habit(model),
        *_open(book, model),
    ]


def _history(model: DemandModel) -> Iterator[str]:
    orders, weeks = int(model.past.counts.sum()), model.past.weeks
    if orders == 0:
        yield tr("there is no past order: only open orders are in this forecast; give an order history")
        return
    if orders == 1:
        yield tr("there is one past order: what is not booked yet is a guess")
    if weeks < SHORT:
        yield tr(
            "the history has {weeks} weeks: below {least} the forecast leans on its assumptions more than on it",
            weeks=weeks,
            least=SHORT,
        )
    if weeks < LEAST_WEEKS:
        yield tr(
            "the history has {weeks} weeks: no season is looked for below {least}",
            weeks=weeks,
            least=LEAST_WEEKS,
        )
    elif model.season.waves:
        factor = model.season.factor(np.arange(model.first, model.first + 52))
        yield tr(
            "season: the busiest week of a year, about {busiest}, brings {most} % of a usual one, the quietest, about"
            " {quietest}, {least} %",
            busiest=week_name(model.first + int(factor.argmax())),
            most=round(100 * float(factor.max())),
            quietest=week_name(model.first + int(factor.argmin())),
            least=round(100 * float(factor.min())),
        )


def _weeks(book: OrderBook, model: DemandModel) -> Iterator[str]:
    past = model.past
    if past.seen_shut:
        yield tr(
            "nothing was cut in {weeks}: taken as shut, not as weeks without demand; name such weeks in the shop file",
            weeks=_listed([week_name(w) for w in past.seen_shut]),
        )
    coming = range(model.first, model.first + model.weeks)
    again = [w for w in coming if w not in book.shut and shut_again(past, w)]
    if again:
        yield tr(
            "{weeks}: taken as shut, as in every year before", weeks=_listed([week_name(w) for w in again])
        )
    for start, length in _gaps(model):
        yield tr(
            "no order was cut from {first} to {last}: if lists are missing, add them; if the shop was shut, name the"
            " weeks in the shop file",
            first=week_name(start),
            last=week_name(start + length - 1),
        )
    yield from _changes(model)


def _gaps(model: DemandModel) -> Iterator[tuple[int, int]]:
    """First week and length of stretches without orders that the other weeks do not make likely."""
    total, opened = model.past.counts.sum(axis=1), model.past.opened > 0
    empty = np.flatnonzero(opened & (total == 0))
    share = len(empty) / max(1, int(opened.sum()))
    run: list[int] = []
    for k in [*empty.tolist(), -1]:
        if run and k != run[-1] + 1:
            # as long a stretch by chance, once in a hundred histories
            if len(run) >= GAP and total.any() and share ** len(run) * len(total) < 0.01:
                yield model.past.first + run[0], len(run)
            run = []
        run.append(k)


def _changes(model: DemandModel) -> Iterator[str]:
    for k, name in enumerate(model.products.names):
        if model.past.counts[:, k].sum() == 0:
            continue
        level = float(model.levels.means()[k])
        before = model.past.counts[-60:-8, k].sum() / max(1.0, float(model.past.opened[-60:-8].sum()))
        chance = float(model.levels.changed[-20:, k].sum())
        if chance > LIKELY_CHANGE and before > 0 and not 0.75 <= level / before <= 1.33:
            yield tr(
                "{product}: the level of orders has changed in the last 20 weeks, from {before} to about {now} a week",
                product=name,
                before=f"{before:.1f}",
                now=f"{level:.1f}",
            )


def _orders(book: OrderBook, model: DemandModel) -> Iterator[str]:
    sizes = sorted(len(o.panels) for o in model.past_orders)
    if sizes:
        middle = max(1, sizes[len(sizes) // 2])
        every = (*model.past_orders, *model.open.orders)
        for o in [o for o in every if len(o.panels) >= max(MANY, ABSURD * middle)][:_NAMED]:
            yield tr(
                "order {order} has {panels} panels, the middle order {middle}: is it right? Past orders are drawn again"
                " for the weeks to come",
                order=o.order,
                panels=len(o.panels),
                middle=middle,
            )
        bare = sum(n == 0 for n in sizes)
        if bare:
            yield tr(
                "{count} past orders have no panels: they count as orders, but take no glass", count=bare
            )
    share = model.called_off.share
    if share >= CALLED_OFF:
        yield tr(
            "{share} % of the booked orders were called off: open orders count in so many fewer futures",
            share=round(100 * share),
        )
    remade = sum(o.remake for o in model.past_orders)
    if remade and remade >= REMADE * len(model.past_orders):
        yield tr(
            "{share} % of the past orders are remakes: they are in the forecast as long as so much breaks",
            share=round(100 * remade / len(model.past_orders)),
        )


def _habit(model: DemandModel) -> Iterator[str]:
    orders = len(model.past_orders)
    undated = orders - sum(o.booked is not None for o in model.past_orders)
    if orders and undated == orders:
        yield tr(
            "no past order has its booking day: how early customers book is a usual value, not one of this shop"
        )
    elif undated > UNDATED * orders:
        yield tr(
            "{count} of {orders} past orders have no booking day: how early customers book is judged by the others",
            count=undated,
            orders=orders,
        )
    late = sum(o.booked is not None and o.cut is not None and o.booked > o.cut for o in model.past_orders)
    if late:
        yield tr("{count} past orders were booked after they were cut: check the days", count=late)
    habit = model.booking.changed
    if habit is not None:
        values = {
            "recent": round(100 * habit.recent),
            "before": round(100 * habit.before),
            "days": habit.days,
        }
        if habit.recent > habit.before:
            yield tr(
                "customers book earlier than before: {recent} % of the orders of the last weeks were known {days} days"
                " before their week, {before} % in the year before; more open orders need not mean more demand",
                **values,
            )
        else:
            yield tr(
                "customers book later than before: {recent} % of the orders of the last weeks were known {days} days"
                " before their week, {before} % in the year before; fewer open orders need not mean less demand",
                **values,
            )


def _open(book: OrderBook, model: DemandModel) -> Iterator[str]:
    overdue = [o for o in model.open.orders if o.due < book.today]
    long = [o for o in overdue if (book.today - o.due).days > LONG_OVERDUE]
    if overdue:
        yield tr(
            "{count} open orders are overdue and count in the first week ({orders})",
            count=len(overdue),
            orders=_listed([o.order for o in overdue]),
        )
    if long:
        yield tr(
            "{count} of them are overdue by more than {days} days: call off those that will not be cut",
            count=len(long),
            days=LONG_OVERDUE,
        )
    shut = sum(
        max(0, o.week - model.first) != k
        for o, k in zip(model.open.orders, model.open.week.tolist(), strict=True)
    )
    if shut:
        yield tr(
            "{count} open orders are due in weeks that are shut: they count in the week before", count=shut
        )
    early = [o for o in book.past if o.week < book.first_week]
    if early:
        yield tr(
            "{count} orders before {week} are not counted, since not all of that time are known; they are drawn as"
            " examples",
            count=len(early),
            week=monday(book.first_week).isoformat(),
        )


def _listed(names: list[str]) -> str:
    more = len(names) - _NAMED
    listed = ", ".join(names[:_NAMED])
    return listed if more <= 0 else tr("{names} and {count} more", names=listed, count=more)
