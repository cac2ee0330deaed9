"""Panels that no stock can yield, each with the rule that forbids it, found before the search."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from .blanks import candidates
from .joint_blanks import Bundle, lonely, tied
from .optimizer.flawed import needs_room, yields
from .optimizer.instance import Instance, build
from .optimizer.limits import lies_alone
from .outlines import box, narrower_than
from .panels import Panel
from .plan import Unplaced
from .rules import Rules, RulesByGlass
from .stock import StockPiece
from .text import tr
from .units import show, show_size


def impossible(panels: Iterable[Panel], stock: Sequence[StockPiece], shop: RulesByGlass) -> list[Unplaced]:
    """Name every panel that no stock can yield.

    Parameters
    ----------
    panels
        Everything ordered.
    stock
        Sheets and offcuts; those neither on hand nor buyable do not count.
    shop
        Its rules.

    Returns
    -------
    list of Unplaced
        In the order of the panels.
    """
    usable = [s for s in stock if s.is_there]
    panels = list(panels)
    company, too_long = _in_company(panels, usable, shop)
    seen: dict[tuple[object, ...], tuple[str, str] | None] = {}
    out = []
    for panel in panels:
        asked, rules = panel.id, shop.rules(panel.glass)
        if asked in too_long:
            out.append(Unplaced(panel=asked, rule="longest angled score", reason=_long_angled(rules)))
            continue
        if asked in company:
            panel = company[asked]
        key = (panel.glass, panel.cut, panel.turn, panel.narrow, panel.from_stock, panel.tolerates)
        if key not in seen:
            mine = [s for s in usable if s.glass == panel.glass and panel.from_stock in (None, s.name)]
            seen[key] = _forbidden(panel, mine, rules)
        verdict = seen[key]
        if verdict is not None:
            out.append(Unplaced(panel=asked, rule=verdict[0], reason=verdict[1]))
    return out


def _in_company(
    panels: Sequence[Panel], stock: Sequence[StockPiece], shop: RulesByGlass
) -> tuple[dict[str, Panel], set[str]]:
    """The joint blanks of panels that no own blank yields, by the id of each (see `joint_blanks`).

    And the panels that would have one if angled scores might be longer.
    """
    out: dict[str, Panel] = {}
    too_long: set[str] = set()
    for glass in sorted({p.glass for p in panels}):
        rules = shop.rules(glass)
        there = [s for s in stock if s.glass == glass]
        ties = tied([p for p in panels if p.glass == glass], there, rules)
        for tie in ties.panels:
            if isinstance(tie, Bundle):
                out |= {p.id: tie for p in tie.parts}
        if ties.left and rules.longest_angled_cut is not None:
            left = {p.id for p in ties.left}
            free = replace(rules, longest_angled_cut=None)
            too_long |= left - {p.id for p in tied(ties.left, there, free).left}
    return out, too_long


def _on_any(instance: Instance) -> tuple[bool, bool, bool]:
    """Whether the one panel fits a sheet by its size, whether the rules let one yield it, and its flaws too."""
    fits = by_rules = False
    for k, sheet in enumerate(instance.sheets):
        for frame in (0, 1):
            length, depth = (sheet.width, sheet.height) if frame == 0 else (sheet.height, sheet.width)
            for w, h in zip(
                instance.arrays.vw[frame].tolist(), instance.arrays.vh[frame].tolist(), strict=True
            ):
                if w <= length and h <= depth:
                    fits = True
                    if lies_alone(instance, k, frame, w, h):
                        by_rules = True
                        if not needs_room(instance, k):
                            return True, True, True
    return fits, by_rules, by_rules and yields(instance)


def _long_score(size: str, rules: Rules) -> tuple[str, str]:
    return "longest score", tr(
        "cut size {size} needs a score longer than {most} on every sheet that holds it",
        size=size,
        most=show(rules.longest_cut or 0),
    )


def _long_angled(rules: Rules) -> str:
    """What is said of a panel that needs a longer angled score than the table makes, with the remedy."""
    return tr(
        "every blank needs an angled score longer than {most}; change the outline, or set "
        "longest_angled_score in the shop file where the table can score it",
        most=show(rules.longest_angled_cut or 0),
    )


def _forbidden(panel: Panel, stock: Sequence[StockPiece], rules: Rules) -> tuple[str, str] | None:
    if not stock and panel.from_stock is not None:
        return "no such stock", tr(
            "it is to be cut from {stock}, of which none is on hand or can be bought", stock=panel.from_stock
        )
    if not stock:
        return "no stock of this glass", tr(
            "no sheet or offcut of {glass} is on hand or can be bought", glass=panel.glass
        )
    x0, y0, x1, y1 = box(panel.cut)
    size = show_size(x1 - x0, y1 - y0)
    if not panel.narrow and narrower_than(panel.cut, rules.break_out):
        return "break-out distance", tr(
            "cut size {size} is narrower than the break-out distance {least}; cut it from a wider panel after "
            "edging, or mark it narrow",
            size=size,
            least=show(rules.break_out),
        )
    if not panel.is_rectangle and not candidates(panel.cut, panel.turn, rules):
        if candidates(panel.cut, panel.turn, replace(rules, longest_angled_cut=None)):
            return "longest angled score", _long_angled(rules)
        if candidates(panel.cut, panel.turn, replace(rules, longest_cut=None)):
            return _long_score(size, rules)
        if candidates(panel.cut, panel.turn, replace(rules, longest_cut=None, longest_angled_cut=None)):
            return "longest angled score", _long_angled(rules)
        without = lonely(panel, rules)
        return without.rule, without.reason
    instance = build([panel], stock, rules)
    fits, by_rules, beside_flaws = _on_any(instance)
    if beside_flaws:
        return None
    if by_rules:
        return "flaws in the sheet", tr(
            "cut size {size} has no place beside the flaws of any sheet or offcut that holds it",
            size=size,
        )
    if instance.ruled and _on_any(build([panel], stock, replace(rules, longest_cut=None)))[1]:
        return _long_score(size, rules)
    if fits and panel.narrow and narrower_than(panel.cut, rules.break_out):
        return "break-out distance", tr(
            "cut size {size} is narrower than the break-out distance {least}; such a panel is planned only "
            "with 3 levels and a last cut, or more, and beside no strip narrower than {least}",
            size=size,
            least=show(rules.break_out),
        )
    if fits:
        return "break-out distance", tr(
            "cut size {size} would leave a strip narrower than {least} on every sheet that holds it",
            size=size,
            least=show(rules.break_out),
        )
    turn = tr("turned any way") if panel.turn.by_quarter else tr("as it may not turn")
    return "larger than every sheet", tr(
        "cut size {size} ({turn}) is larger than the inner size of every sheet of {glass}",
        size=size,
        turn=turn,
        glass=panel.glass,
    )
