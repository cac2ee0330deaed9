"""One run of `remake`, from a plan folder and what happened to a new folder."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from panewright.cli.failures import Exit, program, reason_of
from panewright.cli.from_store import (
    FromStore,
    Remade,
    check_not_cut,
    now,
    taken_json,
    taken_lines,
    taking,
    tell_not_taken,
)
from panewright.cli.options import choose_shop
from panewright.cli.output import err, out, out_json
from panewright.cli.planning import checked
from panewright.cli.record_hits import under_flaws, under_json
from panewright.cli.remake_told import Told, as_it_was_cut, cut_out_of_turn, happened_as_told
from panewright.cli.searching import CompileNotice, Interrupt, Limit, search
from panewright.io.order_lists import read_orders
from panewright.io.out_folder import OutFolder, OutFolderRefused, check_folder
from panewright.io.plan_reader import load, loads
from panewright.io.plan_values import PlanFileError
from panewright.io.problems import Problems, shown
from panewright.io.record_file import Record
from panewright.io.record_state import both, happened_of, kept_offcuts, read_records, records_beside
from panewright.io.remake_files import changes_json, changes_text, remake_files
from panewright.io.remake_store import happened_in_store, stock_in_store
from panewright.io.stock_list import cheapest, offcut_cost, read_stock_list, shop_stock
from panewright.io.store.engine import open_store
from panewright.io.store.errors import NotTaken, StoreError, UnknownName
from panewright.io.store.plan_lists import plan_text
from panewright.nesting.check_remake import check_remake
from panewright.nesting.errors import PlanFault
from panewright.nesting.figures import figures_of
from panewright.nesting.flaw_parts import on_smaller, within
from panewright.nesting.happened import Happened
from panewright.nesting.late import late_of
from panewright.nesting.outlines import box
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Plan
from panewright.nesting.remake.recut import as_stock
from panewright.nesting.remake.request import CannotRemake, Request
from panewright.nesting.remake.search import Remaking
from panewright.nesting.remake.sheets import lying_offcuts, on_table_stock
from panewright.nesting.remake.under import off_under_flaws
from panewright.nesting.shop import Shop
from panewright.nesting.spots import flaws_of
from panewright.nesting.stock import StockPiece
from panewright.nesting.text import tr
from panewright.nesting.units import use_style


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What the user asked for.

    Parameters
    ----------
    plan
        The plan, or its folder.
    told
        What happened, as the command line says it.
    added, cancelled, swap
        Order lists; orders and panels; whether cut pieces of later orders are taken first.
    stock, store, shop
        Stock list, stock store and shop file; None for the defaults.
    out, limit, seed, replace, as_json, printed, panel_drawings
        As in `planning.Run`.
    """

    plan: Path
    told: Told
    out: Path
    limit: Limit
    added: tuple[Path, ...] = ()
    cancelled: tuple[str, ...] = ()
    swap: bool = False
    stock: Path | None = None
    store: FromStore | None = None
    shop: Path | None = None
    seed: int = 0
    replace: bool = False
    as_json: bool = False
    printed: bool = False
    panel_drawings: bool = True


def run_remake(run: Run) -> Exit:
    """`_remake`; with `as_json` a refused folder is said as JSON besides."""
    try:
        return _remake(run)
    except OutFolderRefused as error:
        if run.as_json:
            out_json({"exit_code": int(Exit.USAGE), "error": str(error)})
        raise


def _remake(run: Run) -> Exit:
    problems = Problems()
    shop = choose_shop(run.shop, problems)
    use_style(shop.length_style)
    known = None if problems else what_is_known(run, shop, problems)
    added = read_orders(run.added, shop, problems).panels if run.added else []
    it = None
    if known is not None and not problems:
        it = _remaking(run, known, added, shop, problems)
    for line in problems.lines():
        err(line)
    if it is None or known is None:
        if run.as_json:
            out_json({"exit_code": int(Exit.INPUT), **problems.to_json()})
        err(tr("errors: {count}; nothing was written", count=problems.error_count))
        return Exit.INPUT
    earlier = known[0]
    under = off_under_flaws(earlier, it.request.happened)
    for line in under_flaws(under):
        err(line)
    if it.nothing:
        return _nothing(run, earlier, under)
    check_folder(run.out, plan_id=None, replace=run.replace)
    check_not_cut(run.store, run.out)
    plan = search(it, run.limit, currency=earlier.currency, panels=len(it.needs), notice=CompileNotice())
    changes = it.ending.changes
    renumbered = cut_out_of_turn(run.told, earlier)
    if changes.nothing:
        return _nothing(run, earlier, under)
    with Interrupt():
        checked(plan)
        faults = check_remake(earlier, it.request.happened, plan)
        if faults:
            raise PlanFault(tuple(faults))
        figures = figures_of(plan)
        files = remake_files(
            plan,
            earlier,
            changes,
            figures,
            shop,
            renumbered=renumbered,
            panel_drawings=run.panel_drawings,
            printed=run.printed,
        )
        try:
            with (
                taking(run.store) as store,
                OutFolder(run.out, plan_id=plan.id, replace=run.replace) as folder,
            ):
                for name, content in files.items():
                    folder.write(name, content)
                told = happened_as_told(run.told, earlier, shop.length_style.unit, problems)
                pieces = on_table_stock(earlier, it.request.happened)
                taken = store.take(plan, Remade(earlier, told, pieces, _records(run, earlier, problems)))
        except NotTaken as error:
            tell_not_taken(error)
            if run.as_json:
                out_json({"exit_code": int(Exit.INPUT), "not_taken": list(error.reasons)})
            return Exit.INPUT
    code = Exit.LEFT_OVER if plan.unplaced or late_of(plan) or under else Exit.DONE
    if run.as_json:
        said = {
            "exit_code": int(code),
            "plan": plan.id,
            "follows": plan.extra["follows"],
            "folder": str(run.out),
        }
        late = [row.row() for row in late_of(plan)]
        unplaced = [{"panel": u.panel, "rule": u.rule, "reason": u.reason} for u in plan.unplaced]
        stock = {"stock": taken_json(taken)} if run.store is not None else {}
        rest = {**changes_json(changes), "late": late, "unplaced": unplaced, **stock, **under_json(under)}
        out_json({**said, "files": sorted(files), **rest})
        return code
    out(changes_text(plan, earlier, changes, renumbered))
    for row in late_of(plan):
        line = tr("late: {panel}: due {due}, cut on {day}", panel=shown(row.panel, 160), due=row.due.isoformat(),
                  day=row.day.isoformat())  # fmt: skip
        err(line)
    names = {s.name for s in pieces}
    later = not any(x.stock in names for x in plan.layouts)
    for text in taken_lines(taken, run.store, later=later):
        out(text)
    out(tr("written to {folder}: {count} files", folder=shown(run.out, 300), count=len(files)))
    return code


def _nothing(run: Run, earlier: Plan, under: Mapping[int, Sequence[str]]) -> Exit:
    code = Exit.LEFT_OVER if under else Exit.DONE
    text = tr("nothing to make again: plan {plan} goes on as it is; nothing was written", plan=earlier.id)
    if run.as_json:
        out_json({"exit_code": int(code), "plan": earlier.id, "nothing": True, **under_json(under)})
    else:
        out(text)
    return code


def _remaking(
    run: Run,
    known: tuple[Plan, Happened, list[StockPiece]],
    added: Sequence[Panel],
    shop: Shop,
    problems: Problems,
) -> Remaking | None:
    earlier, happened, stock = known
    there = {s.name for s in stock if s.is_offcut} | {x.stock for x in earlier.layouts if x.is_offcut}
    there |= {leaf.offcut for x in earlier.layouts for leaf in x.leaves if leaf.offcut is not None}
    for name in sorted({*run.told.gone} - there):
        reason = tr("neither plan {plan} nor the stock has an offcut of this number", plan=earlier.id)
        problems.add("--gone", reason, tr("write the number as on the label of the offcut"), value=name)
    if problems:
        return None
    request = Request(
        earlier=earlier,
        happened=happened,
        stock=tuple(stock),
        shop=shop,
        added=tuple(added),
        cancelled=run.cancelled,
        swap=run.swap,
        seed=run.seed,
    )
    try:
        return Remaking(request, effort=run.limit.effort, program=program())
    except CannotRemake as error:
        for fault in error.faults:
            reason = tr("{where}: {reason}", where=fault.where, reason=fault.reason)
            problems.add(run.plan, reason, fault.remedy)
        return None


def what_is_known(run: Run, shop: Shop, problems: Problems) -> tuple[Plan, Happened, list[StockPiece]] | None:
    """The earlier plan, what happened to it, and the stock; the one place where these come from.

    The stock is what is free, and what the plan takes for its sheets that are not cut yet.
    """
    earlier = _earlier(run.plan, run.store, problems)
    if earlier is None:
        return None
    earlier = as_it_was_cut(run.told, earlier, problems)
    records = _records(run, earlier, problems)
    happened = both(
        happened_of(records), happened_as_told(run.told, earlier, shop.length_style.unit, problems)
    )
    if run.store is not None:
        return _from_store(run.store, earlier, happened, shop, problems)
    if run.stock is not None:
        return earlier, happened, read_stock_list(run.stock, shop, problems)
    err(tr("stock: what the plan takes, and the sizes of the shop file to buy"))
    lying: dict[str, tuple[int, int] | None] = dict.fromkeys(lying_offcuts(earlier, happened))
    thrown = {name for r in records for name, there in r.done().offcuts.items() if not there}
    kept = {name: size for name, size in lying.items() if name not in thrown} | kept_offcuts(records)
    here = offcut_stock(earlier, kept, shop)
    return earlier, happened, [*stock_of_plan(earlier, happened, shop), *here]


def _records(run: Run, earlier: Plan, problems: Problems) -> list[Record]:
    """The record files of a run: those named, and those beside the plan."""
    beside = records_beside(run.plan) if _there(run.plan) else []
    return read_records(earlier, run.told.records, beside, problems)


def _from_store(
    source: FromStore, earlier: Plan, happened: Happened, shop: Shop, problems: Problems
) -> tuple[Plan, Happened, list[StockPiece]] | None:
    try:
        with open_store(source.address) as store, store.reading() as connection:
            standing, known = happened_in_store(connection, earlier)
            if standing != earlier.id:
                reason = tr("plan {plan} stands in its place in the stock store", plan=standing)
                problems.add(earlier.id, reason, tr("make that plan again"))
                return None
            happened = both(known, happened)
            return earlier, happened, stock_in_store(connection, earlier, happened, shop, now().date())
    except StoreError as error:
        problems.add(error.where, error.reason, error.remedy)
        return None


def offcut_stock(earlier: Plan, kept: Mapping[str, tuple[int, int] | None], shop: Shop) -> list[StockPiece]:
    """The offcuts of the plan's sheets that are in the rack, as the records say."""
    out = []
    used = {x.stock for x in earlier.layouts}
    for layout in earlier.layouts:
        for leaf in layout.leaves:
            if leaf.offcut is None or leaf.offcut not in kept or leaf.offcut in used:
                continue
            x0, y0, x1, y1 = box(leaf.outline)
            planned = (x1 - x0, y1 - y0)
            width, height = kept[leaf.offcut] or planned
            price = cheapest(shop, layout.glass) or Fraction(layout.cost, layout.width * layout.height)
            out.append(
                StockPiece(
                    name=leaf.offcut,
                    glass=layout.glass,
                    width=width,
                    height=height,
                    is_offcut=True,
                    raw=leaf.raw,
                    trim=shop.trim(layout.glass, None).on(leaf.raw),
                    cost=offcut_cost(shop, width * height, price),
                    on_hand=1,
                    flaws=on_smaller(within(flaws_of(layout), (x0, y0, x1, y1)), planned, (width, height)),
                )
            )
    return out


def stock_of_plan(earlier: Plan, happened: Happened, shop: Shop) -> list[StockPiece]:
    """Sheets and offcuts that the plan takes from the rack and that are no worse, and sizes to buy."""
    lost = {*happened.cut, *happened.flawed}
    racked = [x for x in earlier.layouts if x.number not in lost and not x.buy]
    count = Counter((x.glass, x.stock) for x in racked)
    out = {(s.glass, s.name): s for s in shop_stock(shop)}
    alike = Counter((x.glass, x.stock) for x in earlier.layouts)
    for layout in earlier.layouts:
        key = (layout.glass, layout.stock)
        mine = as_stock(layout)
        if alike[key] > 1 or layout.buy:
            mine = replace(mine, flaws=())  # flaws marked on one sheet of many
        piece = out.get(key, mine)
        same = (piece.width, piece.height, set(piece.raw), piece.trim)
        if same != (layout.width, layout.height, set(layout.raw), layout.trim):
            piece = replace(mine, buyable=piece.buyable and layout.buy)
        if layout.buy and layout.number not in lost:
            piece = replace(piece, buyable=True)
        out[key] = replace(piece, on_hand=count[key])
    return list(out.values())


def _there(path: Path) -> bool:
    # a name that no system takes is not there either: `Path.exists` raises
    return os.path.exists(path)  # noqa: PTH110


def _by_id(source: FromStore, name: str) -> str | None:
    """The plan file that the store has of this id: what its other commands call a plan by."""
    with open_store(source.address) as store, store.reading() as connection:
        try:
            return plan_text(connection, name)
        except UnknownName:
            return None


def _earlier(path: Path, source: FromStore | None, problems: Problems) -> Plan | None:
    try:
        named = None if source is None or _there(path) else _by_id(source, str(path).upper())
        return loads(named, source=str(path)) if named is not None else load(path)[0]
    except StoreError as error:
        problems.add(error.where, error.reason, error.remedy)
    except PlanFileError as error:
        for found in error.problems:
            problems.add(path, found.reason, found.remedy, column=found.column, value=found.value)
    except OSError as error:
        problems.add(path, reason_of(error), tr("give a plan file, or a folder with a plan.json"))
    return None
