"""From panels and stock to a plan: one search a glass, in turns, then layouts, offcuts and figures.

The planner knows no clock. Its caller starts it, advances it slice by slice for as long as it likes,
and takes the plan.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from .bounds import least_cost, least_sheets
from .bounds_mixed import least_cost_mixed
from .cut_tree import Waste, build_layout, waste_of
from .feasible import impossible
from .optimizer.instance import Instance, build
from .optimizer.params import Params
from .optimizer.pattern import Pattern
from .optimizer.search import Search
from .optimizer.shortage import use_what_is_there
from .panels import Panel
from .plan import Bound, GlassOutcome, Layout, LeafKind, Plan, Unplaced
from .plan_id import offcut_number, plan_id
from .shop import Shop
from .stock import StockPiece
from .text import tr
from .units import show_size

__all__ = ["GlassProgress", "Planner", "bound_of", "impossible", "with_phantoms"]

PHANTOM = "\0short"
"""Prefix of the name of stock that is not there: panels on it are short of glass."""
PHANTOM_COST = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class GlassProgress:
    """How far the search of one glass has come; money in 1/10,000 of the currency."""

    glass: str
    cost: int
    sheets: int
    bound: int
    steps: int
    done: bool


@dataclass(slots=True)
class _Job:
    glass: str
    instance: Instance
    search: Search
    budget: int | None

    @property
    def done(self) -> bool:
        return self.search.finished or (self.budget is not None and self.search.steps >= self.budget)


def bound_of(instance: Instance, demand: Sequence[int], *, phantoms: bool) -> Bound:
    """Lower bound on the stock taken by this demand (see `bounds`)."""
    sheets = [s for s in instance.sheets if phantoms or not s.piece.name.startswith(PHANTOM)]
    if not sum(demand):
        return Bound(cost=0, sheets=0, by="area", valid_for="any cutting")
    area = sum(instance.type_area[t] * c for t, c in enumerate(demand))
    offers = [(s.area, s.piece.cost, None if s.piece.buyable else s.piece.on_hand) for s in sheets]
    cost = least_cost(area, offers)
    count = least_cost(area, [(a, 1, n) for a, _, n in offers])
    by = "area"
    rectangles = [
        (
            instance.types[t].width // instance.unit,
            instance.types[t].height // instance.unit,
            c,
            instance.types[t].turns,
        )
        for t, c in enumerate(demand)
        if c and not instance.types[t].blanks
    ]
    sizes = {(s.width, s.height) for s in sheets}
    if len(sizes) == 1 and len(rectangles) == sum(1 for c in demand if c):
        (width, height), *_ = sizes
        number = least_sheets(
            width,
            height,
            [(w, h) for w, h, _, _ in rectangles],
            [c for _, _, c, _ in rectangles],
            [t for _, _, _, t in rectangles],
        )
        if number > count:
            count, by = number, "dual feasible functions"
        prices = sorted(
            p
            for s in sheets
            for p in [s.piece.cost] * (number if s.piece.buyable else min(number, s.piece.on_hand))
        )
        cost = max(cost, sum(prices[:number]))
    mixed = least_cost_mixed(
        [(w, h) for w, h, _, _ in rectangles],
        [c for _, _, c, _ in rectangles],
        [t for _, _, _, t in rectangles],
        [(s.width, s.height, s.piece.cost, n) for s, (_, _, n) in zip(sheets, offers, strict=True)],
    )
    if mixed > cost:
        return Bound(
            cost=mixed, sheets=count, by="dual feasible functions", valid_for="edge-to-edge cuts of any depth"
        )
    return Bound(cost=cost, sheets=count, by=by, valid_for="any cutting")


class Planner:
    """Plans panels on stock.

    Parameters
    ----------
    panels
        Everything ordered; none that `impossible` names, save those listed in `unplaced`.
    stock
        Sheets and offcuts of all glasses.
    shop
        Rules, currency and habits.
    seed
        Of the search.
    effort
        Search steps over all glasses, or None for no limit.
    program
        Name and version for the plan.
    unplaced
        Panels left out, with the rule that forbids them.
    params
        Of the search.
    """

    def __init__(
        self,
        panels: Sequence[Panel],
        stock: Sequence[StockPiece],
        shop: Shop,
        *,
        seed: int = 0,
        effort: int | None = None,
        program: str = "panewright",
        unplaced: Sequence[Unplaced] = (),
        params: Params | None = None,
    ) -> None:
        self.panels, self.shop, self.seed = tuple(panels), shop, seed
        self.effort, self.program, self.unplaced = effort, program, tuple(unplaced)
        left_out = {u.panel for u in unplaced}
        placed = [p for p in panels if p.id not in left_out]
        self._jobs: list[_Job] = []
        self._turn = 0
        for glass in sorted({p.glass for p in placed}):
            mine = [p for p in placed if p.glass == glass]
            rules = shop.rules(glass)
            offers = with_phantoms([s for s in stock if s.glass == glass], mine, shop)
            instance = build(mine, offers, rules)
            bound = bound_of(instance, instance.demand, phantoms=True)
            real = [k for k, s in enumerate(instance.sheets) if not s.piece.name.startswith(PHANTOM)]
            search = Search(instance, bound=bound.cost, seed=seed, params=params, real=real)
            budget = None if effort is None else max(1, effort * len(mine) // len(placed))
            self._jobs.append(_Job(glass, instance, search, budget))

    def start(self) -> None:
        """Make a first whole plan of every glass."""
        for job in self._jobs:
            job.search.start()

    def advance(self) -> bool:
        """One slice of search on the next glass; False when every glass is done."""
        for _ in range(len(self._jobs)):
            job = self._jobs[self._turn % len(self._jobs)]
            self._turn += 1
            if not job.done and job.search.advance():
                return True
        return False

    def progress(self) -> list[GlassProgress]:
        """Cost, bound and steps of every glass; short stock is not counted."""
        out = []
        for job in self._jobs:
            real = [p for p in job.search.patterns if not _phantom(job.instance, p)]
            out.append(
                GlassProgress(
                    glass=job.glass,
                    cost=sum(job.instance.sheets[p.sheet].piece.cost for p in real),
                    sheets=len(real),
                    bound=min(job.search.bound, job.search.cost),
                    steps=job.search.steps,
                    done=job.done,
                )
            )
        return out

    def finish(self, stopped_by: str) -> Plan:
        """The plan from the best of every glass.

        Parameters
        ----------
        stopped_by
            Why the search ended, for the glasses that are not proven optimal.
        """
        plans = [(job, _with_all_stock(job)) for job in self._jobs]
        keep = self._offcuts_kept(plans)
        layouts: list[Layout] = []
        unplaced = list(self.unplaced)
        outcomes: dict[str, GlassOutcome] = {}
        for j, (job, patterns) in enumerate(plans):
            queues = [iter(t.panels) for t in job.instance.types]
            racked = [s.piece.on_hand for s in job.instance.sheets]
            short: dict[str, int] = {}
            missing: list[Panel] = []
            placed = [0] * len(queues)
            mine = 0
            for i, pattern in enumerate(patterns):
                piece = job.instance.sheets[pattern.sheet].piece
                if _phantom(job.instance, pattern):
                    name = _model(piece, job.instance)
                    short[name] = short.get(name, 0) + 1
                    for kind, count in sorted(pattern.uses(job.instance).items()):
                        missing += [next(queues[kind]) for _ in range(count)]
                    continue
                racked[pattern.sheet] -= 1
                for kind, count in pattern.uses(job.instance).items():
                    placed[kind] += count
                kept = {w.index for w in keep if w.sheet == j * 10**6 + i}
                layouts.append(
                    build_layout(
                        pattern,
                        job.instance,
                        lambda kind, queues=queues: next(queues[kind]),  # type: ignore[misc]
                        kept,
                        len(layouts) + 1,
                        racked[pattern.sheet] < 0,
                    )
                )
                mine += piece.cost
            reason = _shortage(short)
            unplaced += [Unplaced(panel=p.id, rule="not enough stock", reason=reason) for p in missing]
            bound = bound_of(job.instance, placed, phantoms=False)
            optimal = mine == bound.cost
            budget_spent = job.budget is not None and job.search.steps >= job.budget
            outcomes[job.glass] = GlassOutcome(
                bound=bound,
                optimal=optimal,
                stopped_by="bound met" if job.search.proven else ("effort" if budget_spent else stopped_by),
            )
        name = plan_id(self.seed, layouts)
        used = sorted({p.glass for p in self.panels})
        return Plan(
            id=name,
            program=self.program,
            seed=self.seed,
            effort=self.effort,
            length_unit=self.shop.length_style.unit,
            currency=self.shop.currency,
            rules={glass: self.shop.rules(glass) for glass in used},
            panels=tuple(sorted(self.panels, key=lambda p: (p.glass, p.order, p.name, len(p.id), p.id))),
            layouts=tuple(_numbered(layout, name) for layout in layouts),
            unplaced=tuple(sorted(unplaced, key=lambda u: u.panel)),
            outcomes=outcomes,
        )

    def _offcuts_kept(self, plans: Sequence[tuple[_Job, list[Pattern]]]) -> list[Waste]:
        wastes = [
            waste
            for j, (job, patterns) in enumerate(plans)
            for i, p in enumerate(patterns)
            if not _phantom(job.instance, p)
            for waste in waste_of(p, job.instance, j * 10**6 + i)
        ]
        wastes.sort(key=lambda w: (-w.area, w.sheet, w.index))
        return wastes[: self.shop.offcuts_a_plan]


def _with_all_stock(job: _Job) -> list[Pattern]:
    """The best patterns of a glass; where stock ran out, with all that it can hold, phantoms last."""
    instance, patterns = job.instance, job.search.patterns
    phantoms = {k for k, s in enumerate(instance.sheets) if s.piece.name.startswith(PHANTOM)}
    if not any(p.sheet in phantoms for p in patterns):
        return patterns
    full = use_what_is_there(job.search.runner, patterns, phantoms)
    return sorted(full, key=lambda p: p.sheet in phantoms)


def _phantom(instance: Instance, pattern: Pattern) -> bool:
    return instance.sheets[pattern.sheet].piece.name.startswith(PHANTOM)


def with_phantoms(stock: Sequence[StockPiece], panels: Sequence[Panel], shop: Shop) -> list[StockPiece]:
    """The stock of one glass, and where it may run out, stock that is not there.

    The search takes a phantom only when the real stock runs out, since it costs a fortune: the panels
    on it are those that cannot be placed, and its number is the shortage.
    """
    out = sorted((s for s in stock if s.buyable or s.on_hand > 0), key=lambda s: (s.is_offcut, s.name))
    limited = [s for s in out if not s.buyable]
    models = [] if len(limited) < len(out) else [s for s in limited if not s.is_offcut]
    endless = [s for s in out if s.buyable] + models
    if limited and impossible(panels, endless, shop):
        models = limited  # some panel fits nothing but stock of which there is only so much
    return out + [
        replace(
            s,
            name=PHANTOM + s.name,
            cost=PHANTOM_COST * max(1, s.cost),
            buyable=True,
            is_offcut=False,
            on_hand=0,
        )
        for s in models
    ]


def _model(phantom: StockPiece, instance: Instance) -> str:
    """What the stock that is not there is like; of an offcut there is only one, so its size is said."""
    name = phantom.name.removeprefix(PHANTOM)
    if any(s.piece.is_offcut and s.piece.name == name for s in instance.sheets):
        return tr("{size} (as offcut {number})", size=show_size(phantom.width, phantom.height), number=name)
    return name


def _shortage(short: dict[str, int]) -> str:
    rows = [tr("{count} of {stock}", count=n, stock=s) for s, n in sorted(short.items())]
    return tr(
        "the stock that holds it runs out and no more can be bought; short of about {sheets}",
        sheets=", ".join(rows),
    )


def _numbered(layout: Layout, plan: str) -> Layout:
    leaves = []
    count = 0
    for leaf in layout.leaves:
        if leaf.kind is LeafKind.OFFCUT:
            leaf = replace(leaf, offcut=offcut_number(plan, layout.number, count))
            count += 1
        leaves.append(leaf)
    return replace(layout, leaves=tuple(leaves))
