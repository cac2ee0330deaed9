"""One run of the planner from files to files, shared by `plan` and `demo`."""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from pathlib import Path

from panewright.cli.evidence import Evidence, evidence
from panewright.cli.failures import Exit, is_interrupt, program
from panewright.cli.few_open import few_open_table
from panewright.cli.from_store import (
    FromStore,
    check_not_cut,
    read_offer,
    taken_json,
    taken_lines,
    taking,
    tell_not_taken,
    with_order,
)
from panewright.cli.measured import measured_lines, with_measured
from panewright.cli.options import choose_shop
from panewright.cli.output import err, out, out_json
from panewright.cli.racks import too_many_open
from panewright.cli.searching import CompileNotice, Interrupt, Limit, search
from panewright.cli.spares import Spares, spares_of
from panewright.cli.summary import summary_text
from panewright.cli.tables import as_text
from panewright.cli.unplaced import UnplacedRow, unplaced_rows
from panewright.cli.waste_tables import waste_tables
from panewright.cli.why_text import why_text
from panewright.cli.wishes import (
    Wishes,
    check_days,
    earlier_plan,
    kept_sheets,
    with_pins,
    with_racks,
    without_left_out,
)
from panewright.io.few_open import few_open_json
from panewright.io.filler_list import read_filler_list
from panewright.io.order_lists import heard_of, read_orders
from panewright.io.out_folder import OutFolder, OutFolderRefused, check_folder
from panewright.io.plan_file import dumps, loads
from panewright.io.plan_folder import plan_files, what_to_open
from panewright.io.plan_summary import summary_json
from panewright.io.problems import Problems, shown
from panewright.io.sequence_files import screen_tables
from panewright.io.stock_list import read_stock_list, shop_stock
from panewright.io.store.errors import NotTaken
from panewright.io.store.taken import Taken
from panewright.io.why_json import why_json
from panewright.io.work_words import plan_work, work_json
from panewright.nesting.checker import check
from panewright.nesting.errors import PlanFault
from panewright.nesting.figures import PlanFigures, figures_of
from panewright.nesting.fillers import Filler
from panewright.nesting.kept import Kept
from panewright.nesting.late import late_of
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Plan, Unplaced
from panewright.nesting.planner import Planner, impossible
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece
from panewright.nesting.text import tr
from panewright.nesting.units import use_style


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What the user asked for.

    Parameters
    ----------
    lists
        Panel lists.
    stock, shop
        Stock list and shop file; None for the defaults.
    store
        The stock store in place of a list.
    out
        The out folder.
    limit
        When the search ends.
    seed
        Of the search.
    rest
        Plan the rest where no stock can yield a panel.
    replace
        Replace another plan in the folder.
    as_json
        One JSON object on stdout instead of tables.
    show_steps, show_waste
        The cut sequence, and all waste figures, on stdout too.
    ask_why
        Say why it costs what it costs.
    panel_drawings
        Draw every panel besides every sheet.
    printed
        Write cut book, labels and page too.
    wishes
        What the plan has to respect besides.
    """

    lists: tuple[Path, ...]
    stock: Path | None
    shop: Path | None
    out: Path
    limit: Limit
    seed: int = 0
    rest: bool = False
    replace: bool = False
    as_json: bool = False
    show_steps: bool = False
    show_waste: bool = False
    ask_why: bool = False
    panel_drawings: bool = True
    printed: bool = False
    wishes: Wishes = field(default_factory=Wishes)
    store: FromStore | None = None


@dataclass(frozen=True, slots=True)
class Wanted:
    """What was read: panels, stock, shop, the sheets that are kept, fillers, and what must be heard of tanks.

    `expected` says of an expected offcut which plan and sheet will leave it, `evidence` what spares rest on, None
    where none are asked for.
    """

    panels: list[Panel]
    stock: list[StockPiece]
    shop: Shop
    kept: Kept
    fillers: list[Filler]
    heard: tuple[str, ...] = ()
    expected: dict[str, tuple[str, int]] = field(default_factory=dict)
    evidence: Evidence | None = None

    @property
    def fresh(self) -> list[Panel]:
        """The panels that are not on kept sheets."""
        return self.kept.rest(self.panels)


def run_plan(run: Run) -> Exit:
    """`plan_and_write`; with `as_json` a refused folder is said as JSON besides."""
    try:
        return plan_and_write(run)
    except OutFolderRefused as error:
        if run.as_json:
            out_json({"exit_code": int(Exit.USAGE), "error": str(error)})
        raise


def plan_and_write(run: Run) -> Exit:
    """Read, plan, check and write; nothing is written unless all of it succeeds.

    Raises
    ------
    OutFolderRefused
        Before the search where that is certain, else before anything is written.
    PlanFault
        When the checker refuses the fresh plan.
    """
    problems = Problems()
    wanted = read_all(run.lists, run.stock, run.shop, problems, run.wishes, run.store)
    for line in problems.lines():
        err(line)
    if wanted is None:
        if run.as_json:
            out_json({"exit_code": int(Exit.INPUT), **problems.to_json()})
        err(tr("errors: {count}; nothing was written", count=problems.error_count))
        return Exit.INPUT
    check_folder(run.out, plan_id=None, replace=run.replace)
    check_not_cut(run.store, run.out)
    notice = CompileNotice()
    # a KeyboardInterrupt inside the compiler's own callbacks would be lost: take Ctrl-C, then obey
    with Interrupt() as interrupt, notice.watch():
        cannot = impossible(wanted.fresh, wanted.stock, wanted.shop)
    if interrupt.asked:
        raise KeyboardInterrupt
    if cannot and not run.rest:
        return _refuse(cannot, run)
    spares = spares_of(wanted.evidence, wanted.panels, cannot, wanted.stock, wanted.shop)
    plan, planner = _search(run, wanted, cannot, notice, spares)
    plan = with_order(plan, wanted.expected)
    if wanted.heard:
        plan = replace(plan, extra={**plan.extra, "warnings": list(wanted.heard)})
    # from here on a Ctrl-C that comes a moment late does not throw the search away; a second one does
    with Interrupt():
        checked(plan)
        figures = figures_of(plan)
        files = plan_files(plan, figures, wanted.shop, panel_drawings=run.panel_drawings, printed=run.printed)
        try:
            with (
                taking(run.store) as store,
                OutFolder(run.out, plan_id=plan.id, replace=run.replace) as folder,
            ):
                for name, content in files.items():
                    folder.write(name, content)
                taken = store.take(plan)
        except NotTaken as error:
            tell_not_taken(error)
            if run.as_json:
                out_json({"exit_code": int(Exit.INPUT), "not_taken": list(error.reasons)})
            return Exit.INPUT
    notes = [str(note) for note in (*problems.warnings, *problems.notes)]
    return _tell(run, plan, figures, sorted(files), wanted.shop, notes, planner, taken, spares)


def read_all(
    lists: Sequence[Path],
    stock: Path | None,
    shop_path: Path | None,
    problems: Problems,
    wishes: Wishes | None = None,
    store: FromStore | None = None,
) -> Wanted | None:
    """Everything that a run needs, or None when a file has errors; lengths are shown as the shop wants."""
    shop = choose_shop(shop_path, problems)
    use_style(shop.length_style)
    wishes = wishes or Wishes()
    shop = with_measured(shop, wishes.measured, store, problems)
    orders = read_orders(lists, shop, problems)
    panels = orders.panels
    earlier = earlier_plan(wishes, problems)
    expected: dict[str, tuple[str, int]] = {}
    if store is not None:
        offer = read_offer(store, shop, earlier, wishes.start_day, problems)
        pieces, expected = offer.pieces, offer.expected
    else:
        pieces = shop_stock(shop) if stock is None else read_stock_list(stock, shop, problems)
    if not panels and not problems:
        problems.add(
            ", ".join(map(str, lists)), tr("there is no panel to plan"), tr("fill in a row for each panel")
        )
    if problems:
        return None
    check_days(wishes, shop, problems)
    panels = with_racks(wishes, with_pins(wishes, panels, pieces, problems), problems)
    kept = kept_sheets(wishes, earlier, panels, pieces, shop, problems) or Kept(stock=tuple(pieces))
    pieces = without_left_out(wishes, kept.stock, problems)
    fillers = [] if wishes.fillers is None else read_filler_list(wishes.fillers, shop, problems)
    found = (
        evidence(wishes.breakage, shop, problems, store.address if store else None) if wishes.spares else None
    )
    if problems:
        return None
    heard = (*heard_of(orders, shop), *measured_lines(shop))
    return Wanted(panels, pieces, shop, replace(kept, stock=tuple(pieces)), fillers, heard, expected, found)


def _refuse(cannot: Sequence[Unplaced], run: Run) -> Exit:
    for row in unplaced_rows(cannot):
        err(_why(row))
    err(
        tr(
            "panels that no stock can yield: {count}; nothing was written. `--rest` plans the others.",
            count=len(cannot),
        )
    )
    if run.as_json:
        out_json(
            {
                "exit_code": int(Exit.INPUT),
                "unplaced": [{"panel": u.panel, "rule": u.rule, "reason": u.reason} for u in cannot],
            }
        )
    return Exit.INPUT


def _why(row: UnplacedRow) -> str:
    if row.pieces == 1:
        return tr(
            "panel {panel} cannot be placed: {rule}: {reason}",
            panel=shown(row.label, 160),
            rule=tr(row.rule),
            reason=row.reason,
        )
    return tr(
        "panel {panel} ({count} pieces) cannot be placed: {rule}: {reason}",
        panel=shown(row.label, 160),
        count=row.pieces,
        rule=tr(row.rule),
        reason=row.reason,
    )


def _search(
    run: Run, wanted: Wanted, cannot: Sequence[Unplaced], notice: CompileNotice, spares: Spares
) -> tuple[Plan, Planner]:
    for row in unplaced_rows(cannot):
        err(_why(row))
    workers = os.cpu_count() or 1
    with ThreadPoolExecutor(workers, thread_name_prefix="glass") as threads:
        planner = Planner(
            wanted.panels,
            wanted.stock,
            wanted.shop,
            seed=run.seed,
            effort=run.limit.effort,
            program=program(),
            unplaced=cannot,
            kept=wanted.kept,
            any_order=run.wishes.any_order,
            groups=not run.wishes.own_blanks,
            start_day=run.wishes.start_day,
            few_open=run.wishes.few_open,
            open_racks=run.wishes.open_racks,
            fillers=[*spares.fillers, *wanted.fillers],
            executor=threads if workers > 1 else None,
            workers=workers,
        )
        count, stops_at = len(wanted.fresh) - len(cannot), planner.stops_at
        plan = search(
            planner, run.limit, currency=wanted.shop.currency, panels=count, notice=notice, stops_at=stops_at
        )
    return plan, planner


def checked(plan: Plan) -> None:
    """Replay the plan from its own file text; raises `PlanFault` where the checker refuses it."""
    violations = check(loads(dumps(plan), source="fresh plan"))
    if violations:
        raise PlanFault(tuple(str(violation) for violation in violations))


def _tell(
    run: Run,
    plan: Plan,
    figures: PlanFigures,
    files: Sequence[str],
    shop: Shop,
    notes: Sequence[str],
    planner: Planner,
    taken: Taken | None,
    spares: Spares,
) -> Exit:
    """Say what was written, and why it costs what it costs where that is asked for."""
    if over := too_many_open(plan, run.wishes.open_racks):
        err(over)
    code = Exit.LEFT_OVER if plan.unplaced or late_of(plan) or over else Exit.DONE
    answers = None
    if run.ask_why and any(x.stopped_by == "interrupt" for x in plan.outcomes.values()):
        err(tr("interrupted; the plan is written, without the price of the rules"))
    elif run.ask_why:
        err(tr("written; now looking for the price of the rules ..."))
        try:
            answers = planner.why()
        except (KeyboardInterrupt, SystemError) as error:
            if not is_interrupt(error):
                raise
            err(tr("interrupted; the plan is written, without the price of the rules"))
    if planner.taken is not None and not run.as_json:
        err(few_open_table(planner.points, planner.taken, plan.currency))
    if run.as_json:
        said = summary_json(
            plan,
            lifts=shop.lifts,
            folder=str(run.out),
            files=list(files),
            exit_code=int(code),
            notes=[*notes, over] if over else notes,
            figures=figures,
        )
        if planner.taken is not None:
            said |= {"few_open": few_open_json(planner.points, planner.taken)}
        said |= spares.json(plan)
        said |= {"work": work_json(plan_work(plan, lifts=shop.lifts, rates=shop.work.rates))}
        if run.store is not None:
            said |= {"stock": taken_json(taken)}
        out_json(said if answers is None else said | {"why": why_json(answers)})
    else:
        steps = what_to_open(plan, run.out, printed=run.printed)
        if run.show_steps:
            out(as_text(screen_tables(plan, lifts=shop.lifts)))
        if run.show_waste:
            out(waste_tables(plan, figures) + "\n")
        if answers is not None:
            out(why_text(answers, plan.currency))
        if told := spares.text(plan):
            out(told)
        out(
            summary_text(
                plan,
                figures,
                lifts=shop.lifts,
                folder=run.out,
                next_steps=steps,
                rates=shop.work.rates,
            )
        )
        for line in taken_lines(taken, run.store):
            out(line)
    return code
