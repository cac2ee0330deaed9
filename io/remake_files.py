"""What a plan made again leaves in its folder: the plan, what changed, and new papers for changed sheets alone."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import Any, Final

from panewright.io.day_text import hung
from panewright.io.draw_outputs import Wishes, output_files
from panewright.io.drawings import drawing_files
from panewright.io.file_names import PLAN_FILE
from panewright.io.flaw_text import flaw_text
from panewright.io.flaw_words import flaw_words
from panewright.io.numbers_text import money
from panewright.io.plan_file import dumps
from panewright.io.problems import shown
from panewright.io.sequence_files import sequence_files
from panewright.io.waste_files import waste_files
from panewright.nesting.figures import PlanFigures
from panewright.nesting.plan import Plan
from panewright.nesting.remake.changes import By, ChangedSheet, Changes, Placed
from panewright.nesting.remake.marks import Marked
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr, tr_count
from panewright.nesting.units import show_money

LINE: Final = 78
MOST_FLAWS: Final = 12
"""Flaws of a sheet told in the text; the others are counted."""
MOST_LABELS: Final = 400
"""Panels named in the text; the others are counted."""


def remake_files(
    plan: Plan,
    earlier: Plan,
    changes: Changes,
    figures: PlanFigures,
    shop: Shop,
    *,
    renumbered: Collection[int] = (),
    panel_drawings: bool = True,
    printed: bool = False,
) -> dict[str, str | bytes]:
    """Everything that is written, by file name.

    Parameters
    ----------
    plan, figures
        A plan that the checker has passed, and its figures.
    earlier, changes
        The plan before, and what is otherwise.
    shop
        Limits for lifting, paper and labels.
    renumbered
        Numbers of sheets that were cut out of turn, and whose steps are counted anew.
    panel_drawings
        Draw every panel of changed sheets besides.
    printed
        Cut book and page for the table too.
    """
    numbers = changes.numbers | {x.number for x in plan.layouts if x.number in renumbered}
    files: dict[str, str | bytes] = {
        PLAN_FILE: dumps(plan),
        f"changes-{plan.id}.txt": changes_text(plan, earlier, changes, renumbered),
        **waste_files(plan, figures),
    }
    if numbers:
        part = replace(plan, layouts=tuple(x for x in plan.layouts if x.number in numbers))
        files |= sequence_files(part, lifts=shop.lifts, rates=shop.work.rates)
        files |= dict(drawing_files(plan, sheets=numbers, panels=panel_drawings))
    if not (numbers or changes.labels):
        return files
    whole = frozenset(s.number for s in changes.sheets if s.number != s.before or s.around)
    wishes = Wishes(sheets=whole, pieces=frozenset(changes.labels), printing=shop.printing, lifts=shop.lifts)
    files |= dict(output_files(plan, ("labels",), wishes))
    if printed and numbers:
        files |= dict(output_files(plan, ("book", "page"), replace(wishes, sheets=numbers)))
    return files


def changes_text(plan: Plan, earlier: Plan, changes: Changes, renumbered: Collection[int] = ()) -> str:
    """What changed, for people."""
    title = tr("WHAT CHANGED: plan {plan} in place of {before}", plan=plan.id, before=earlier.id)
    if plan.id == earlier.id:
        title = tr("WHAT CHANGED: plan {plan}, whose sheets all stay", plan=plan.id)
    lines = ["=" * LINE, title, ""]
    for row in changes.placed:
        lines += hung("- ", placed_words(row, plan))
    if changes.cancelled:
        lines += hung("- ", tr("wanted no longer: {panels}", panels=_names(changes.cancelled)))
    if changes.left_out:
        lines += hung(
            "- ", tr("spares and fillers not cut any more: {panels}", panels=_names(changes.left_out))
        )
    lines += ["", tr("SHEETS")]
    for number, why in changes.flawed:
        words = tr("sheet {number} cannot be cut as planned: {why}", number=number, why=shown(why, 200))
        lines += hung("- ", words)
    for mark in changes.marked:
        lines += hung("- ", marked_words(mark))
    for sheet in changes.sheets:
        lines += hung("- ", sheet_words(sheet))
    for number in sorted({x.number for x in plan.layouts} & set(renumbered)):
        words = tr("sheet {number}: its steps are counted anew, those that are done first", number=number)
        lines += hung("- ", words)
    replaced = {s.before for s in changes.sheets}
    for number in changes.dropped:
        if number not in replaced:
            lines += hung("- ", tr("sheet {number} is not cut any more", number=number))
    if not (changes.sheets or changes.dropped or renumbered):
        lines += hung("- ", tr("all sheets are cut as planned"))
    lines += ["", tr("COST")]
    lines += hung("- ", cost_words(plan, changes))
    lines += ["", tr("LABELS")]
    if changes.labels:
        count = tr_count("{count} new label", "{count} new labels", len(changes.labels))
        lines += hung("- ", f"{count}: {_names(changes.labels)}")
        lines += hung(
            "- ", tr("throw away the old labels of these panels, and the papers of replaced sheets")
        )
    else:
        lines += hung("- ", tr("no new labels"))
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _names(names: tuple[str, ...]) -> str:
    text = ", ".join(shown(n, 160) for n in names[:MOST_LABELS])
    if len(names) > MOST_LABELS:
        text += tr(" and {count} more", count=len(names) - MOST_LABELS)
    return text


def placed_words(row: Placed, plan: Plan) -> str:
    """One line about a panel that was missing."""
    name = shown(row.panel, 160)
    if row.by is By.GIVEN:
        return tr(
            "{panel}: takes the equal piece {piece} of sheet {sheet}; put its new label on it",
            panel=name, piece=shown(row.piece or "", 160), sheet=row.sheet,
        )  # fmt: skip
    what, step, by = name, row.broke, row.by
    if row.instead_of is not None and step is not None:
        what = tr(
            "{panel} in place of {broken} (broken: {work})",
            panel=name, broken=shown(row.instead_of, 160), work=tr(step.value),
        )  # fmt: skip
    elif row.instead_of is not None:
        what = tr("{panel} in place of {broken}", panel=name, broken=shown(row.instead_of, 160))
    if row.sheet is None or by is None:
        reason = next((u.reason for u in plan.unplaced if u.panel == row.panel), "")
        return tr("{panel}: finds no place: {reason}", panel=what, reason=reason)
    return tr("{panel}: sheet {sheet}, {how}", panel=what, sheet=row.sheet, how=tr(by.value))


def sheet_words(sheet: ChangedSheet) -> str:
    """One line about a changed sheet."""
    stock = shown(sheet.stock, 60)
    if sheet.broken_off:
        return tr("sheet {number} is done with: what is left of it is on the table", number=sheet.number)
    if sheet.before is None:
        text = tr("sheet {number} is new: {stock}", number=sheet.number, stock=stock)
    elif sheet.around:
        text = tr("sheet {number} is cut otherwise, around its flaws", number=sheet.number)
    elif sheet.before == sheet.number:
        return tr("sheet {number} goes on otherwise from where it stands", number=sheet.number)
    elif sheet.relaid:
        text = tr(
            "sheet {number}: the cuts of sheet {before} on another {stock}",
            number=sheet.number, before=sheet.before, stock=stock,
        )  # fmt: skip
    else:
        text = tr(
            "sheet {number} in place of sheet {before}: {stock}",
            number=sheet.number, before=sheet.before, stock=stock,
        )  # fmt: skip
    return tr("{sheet} (to buy)", sheet=text) if sheet.buy else text


def marked_words(mark: Marked) -> str:
    """What flaws marked on a sheet did, in whole sentences."""
    flaws = "; ".join(flaw_words(flaw) for flaw in mark.flaws[:MOST_FLAWS])
    if len(mark.flaws) > MOST_FLAWS:
        flaws += tr(" and {count} more", count=len(mark.flaws) - MOST_FLAWS)
    words = [tr("sheet {number}: {flaws}.", number=mark.number, flaws=flaws)]
    if mark.hit:
        words.append(tr("Under it lies: {panels}.", panels=_names(mark.hit)))
    if mark.crossed:
        words.append(tr_count("{count} cut crosses it.", "{count} cuts cross it.", mark.crossed))
    if mark.useless:
        words.append(tr("None of its panels finds room beside it: the sheet is not cut any more."))
    elif not (mark.anew or mark.spoiled):
        words.append(tr("Neither a panel nor a cut is hit: the sheet is cut as planned."))
    elif not mark.moved:
        words.append(tr("All its panels stay on the sheet."))
    else:
        stay = tr_count("{count} panel stays on the sheet", "{count} panels stay on the sheet", mark.stayed)
        words.append(tr("{stay}; cut elsewhere: {panels}.", stay=stay, panels=_names(mark.moved)))
    if mark.spoiled:
        words.append(tr("Cut all the same, and no good: {panels}.", panels=_names(mark.spoiled)))
    return " ".join(words)


def cost_words(plan: Plan, changes: Changes) -> str:
    """What it costs, in one line."""
    if changes.cost > 0:
        stock = tr("stock for {money} more", money=show_money(changes.cost, plan.currency))
    elif changes.cost < 0:
        stock = tr("stock for {money} less", money=show_money(-changes.cost, plan.currency))
    else:
        stock = tr("no more stock")
    if changes.offcuts > 0:
        worth = show_money(changes.offcuts, plan.currency)
        return tr("{stock}, offcuts worth {money} less are left", stock=stock, money=worth)
    if changes.offcuts < 0:
        worth = show_money(-changes.offcuts, plan.currency)
        return tr("{stock}, offcuts worth {money} more are left", stock=stock, money=worth)
    return stock


def changes_json(changes: Changes) -> dict[str, Any]:
    """The same for programs (write it with `numbers_text.spread`)."""
    return {
        "placed": [
            {
                "panel": row.panel,
                "instead_of": row.instead_of,
                "broke_at": row.broke.value if row.broke else None,
                "sheet": row.sheet,
                "how": row.by.name.lower() if row.by else None,
                "piece": row.piece,
            }
            for row in changes.placed
        ],
        "sheets": [
            {
                "number": s.number,
                "in_place_of": s.before,
                "stock": s.stock,
                "buy": s.buy,
                "same_cuts": s.relaid,
            }
            for s in changes.sheets
        ],
        "dropped": list(changes.dropped),
        "flawed": [{"sheet": number, "why": why} for number, why in changes.flawed],
        "marked": [
            {
                "sheet": mark.number,
                "flaws": [flaw_text(flaw) for flaw in mark.flaws],
                "hit": list(mark.hit),
                "cuts_hit": mark.crossed,
                "cut_anew": mark.anew,
                "stayed": mark.stayed,
                "moved": list(mark.moved),
                "no_good": list(mark.spoiled),
                "not_cut": mark.useless,
            }
            for mark in changes.marked
        ],
        "cancelled": list(changes.cancelled),
        "left_out": list(changes.left_out),
        "extra_cost": money(changes.cost),
        "offcuts_lost": money(changes.offcuts),
        "labels": list(changes.labels),
    }
