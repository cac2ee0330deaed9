"""What an offcut is good for, and which offcuts would do for a panel."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from panewright.io.store.items import Item
from panewright.io.store.uncut import Wanted
from panewright.io.store.valuing import Prices
from panewright.nesting.fits import Blank, Fit, Sheet, blank_of, fit, fit_blank
from panewright.nesting.outlines import Outline
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
    trim = shop.trim(one.glass).on(one.raw)
    return Sheet(width=one.width, height=one.height, raw=one.raw, trim=trim, flaws=one.flaws)


def usable_offcuts(items: Iterable[Item], shop: Shop) -> list[Item]:
    """Offcuts in the rack that no plan has taken and that are not set aside."""
    return [i for i in items if i.is_offcut and i.balance.free and not i.set_aside and shop.has(i.glass)]


class Demand:
    """Panels that are wanted, equal ones together, by glass.

    Parameters
    ----------
    wanted
        The panels.
    shop
        Its rules.
    """

    def __init__(self, wanted: Iterable[Wanted], shop: Shop) -> None:
        self._shop = shop
        groups: dict[tuple[str, str, str, str, Outline, Turn, bool, str | None], list[Wanted]] = {}
        for w in wanted:
            p = w.panel
            key = (p.glass, w.source, p.order, p.name, p.cut, p.turn, p.narrow, p.from_stock)
            groups.setdefault(key, []).append(w)
        self._of: dict[str, list[tuple[tuple[Wanted, ...], Blank]]] = {}
        for group in groups.values():
            panel = group[0].panel
            if shop.has(panel.glass):
                blank = blank_of(panel, shop.rules(panel.glass))
                self._of.setdefault(panel.glass, []).append((tuple(group), blank))

    def uses_of(self, one: Item) -> list[Use]:
        """The panels that could be cut from an offcut, those of most area first, then by due day.

        Panels that an order ties to other stock are left out.
        """
        mine = self._of.get(one.glass, ())
        if not mine:
            return []
        sheet, rules = sheet_of(one, self._shop), self._shop.rules(one.glass)
        ways: dict[Blank, Fit | None] = {}
        found = []
        for group, blank in mine:
            if group[0].panel.from_stock not in (None, one.name):
                continue
            if blank not in ways:
                ways[blank] = fit_blank(sheet, blank, rules)
            way = ways[blank]
            if way is not None:
                found.append(Use(wanted=group, width=blank.width, height=blank.height, fit=way))
        return sorted(
            found, key=lambda u: (-u.area, str(u.wanted[0].panel.due or "9999"), u.wanted[0].panel.id)
        )


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
