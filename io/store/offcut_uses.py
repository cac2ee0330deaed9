"""What an offcut is good for, and which offcuts would do for a panel."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from panewright.io.store.items import Item
from panewright.io.store.uncut import Wanted
from panewright.io.store.valuing import Prices
from panewright.nesting.fits import Fit, Sheet, fit, fit_panel
from panewright.nesting.outlines import Outline, box
from panewright.nesting.panels import Turn
from panewright.nesting.shop import Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """Equal panels that an offcut would yield, one of them at a time.

    Parameters
    ----------
    wanted
        At least one; equal in source, order, name, cut outline and turn.
    width, height
        Of the rectangle around the cut outline. [nm]
    fit
        How it would be cut.
    """

    wanted: tuple[Wanted, ...]
    width: int
    height: int
    fit: Fit

    @property
    def area(self) -> int:
        """Of that rectangle. [nm2]"""
        return self.width * self.height


@dataclass(frozen=True, slots=True)
class WouldDo:
    """An offcut that would yield a panel, what it is worth [1/10,000 of the currency], and how it would be cut."""

    item: Item
    worth: int
    fit: Fit


def sheet_of(one: Item, shop: Shop) -> Sheet:
    """The item with the trims of the shop on its raw sides."""
    return Sheet(width=one.width, height=one.height, raw=one.raw, trim=shop.trim(one.glass).on(one.raw))


def usable_offcuts(items: Iterable[Item], shop: Shop) -> list[Item]:
    """Offcuts in the rack that no plan has taken and that have no flaw."""
    return [i for i in items if i.is_offcut and i.balance.free and not i.flaws and shop.has(i.glass)]


def uses_of(one: Item, wanted: Sequence[Wanted], shop: Shop) -> list[Use]:
    """The panels that could be cut from an offcut, those of most area first, then by due day.

    Panels that an order ties to other stock are left out.
    """
    sheet, rules = sheet_of(one, shop), shop.rules(one.glass)
    groups: dict[tuple[str, str, str, Outline, Turn, bool], list[Wanted]] = {}
    for w in wanted:
        p = w.panel
        if p.glass == one.glass and p.from_stock in (None, one.name):
            groups.setdefault((w.source, p.order, p.name, p.cut, p.turn, p.narrow), []).append(w)
    found = []
    for group in groups.values():
        panel = group[0].panel
        way = fit_panel(sheet, panel, rules)
        if way is not None:
            x0, y0, x1, y1 = box(panel.cut)
            found.append(Use(wanted=tuple(group), width=x1 - x0, height=y1 - y0, fit=way))
    return sorted(found, key=lambda u: (-u.area, str(u.wanted[0].panel.due or "9999"), u.wanted[0].panel.id))


def would_do(
    offcuts: Iterable[Item], glass: str, width: int, height: int, shop: Shop, prices: Prices
) -> list[WouldDo]:
    """The offcuts from which a panel of this cut size could be cut, the least worth first. [nm]"""
    rules = shop.rules(glass)
    found = []
    for one in offcuts:
        if one.glass != glass:
            continue
        way = fit(sheet_of(one, shop), width, height, rules)
        if way is not None:
            found.append(WouldDo(one, prices.of(one).each, way))
    return sorted(found, key=lambda d: (d.worth, d.item.width * d.item.height, d.item.name))
