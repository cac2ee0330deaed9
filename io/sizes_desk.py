"""What a study of stock sizes starts from: past weeks, all sizes on offer, and the sizes that are stocked now."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from panewright.io.problems import Problems, shown
from panewright.io.purchase_desk import Desk
from panewright.io.supply_list import read_supply, supply_of_shop
from panewright.nesting.assortment.demand import demand_of
from panewright.nesting.assortment.offers import offers_of
from panewright.nesting.assortment.study import Study
from panewright.nesting.buying.settings import Supply
from panewright.nesting.demand.weeks import week_name
from panewright.nesting.errors import NestingError
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr
from panewright.nesting.units import mm

_SIZE: Final = re.compile(r"\s*([0-9]+(?:\.[0-9]+)?)\s*[xX*\u00d7]\s*([0-9]+(?:\.[0-9]+)?)\s*")


class NoSuchSize(NestingError, ValueError):
    """A size that is said to be stocked, and is none or is not on offer.

    Parameters
    ----------
    text
        As given.
    """

    wrong_call = True

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(text)

    def __str__(self) -> str:
        return tr(
            "--now {size} is no size on offer; write width and height in mm, as in 3210x2250",
            size=shown(self.text),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The studies that are to be made, the weeks in words, and where there are none, why."""

    studies: tuple[Study, ...]
    about: str
    reason: str = ""


def chosen_studies(
    desk: Desk,
    offers: Path | None,
    glasses: Sequence[str],
    now: Sequence[str],
    *,
    past: int,
    most: int,
    deliveries: int,
    effort: int,
    seed: int,
) -> Chosen:
    """A study for every glass that was cut and that sizes are offered of.

    Parameters
    ----------
    desk
        The order book, and the terms that fit the tables.
    offers
        The list of offers, read again for the sizes that do not fit them.
    glasses
        Only these; empty: all.
    now
        Sizes that are stocked now; empty: those of the shop file.
    past
        Weeks looked at, the last ones.
    most, deliveries, effort, seed
        See `Study`.

    Raises
    ------
    NoSuchSize
        A size in `now` that no glass looked at is offered in.
    """
    book, shop = desk.book, desk.shop
    first = max(book.first_week, book.this_week - past)
    weeks = range(first, book.this_week)
    terms = _all_terms(desk, offers)
    about = tr(
        "{first} to {last}, {count} weeks",
        first=week_name(first),
        last=week_name(max(first, book.this_week - 1)),
        count=len(weeks),
    )
    sides = [_sides(text) for text in now]
    met: set[tuple[int, int]] = set()
    studies = []
    wanted = list(glasses) or sorted({t.glass for t in terms})
    for glass in wanted:
        demand = demand_of(book.past, glass, weeks, book.shut)
        if not demand.weeks or not any(t.glass == glass for t in terms):
            continue
        sizes = offers_of(terms, glass, shop, demand.a_year(demand.area), deliveries)
        met |= {_key(o.piece.width, o.piece.height) for o in sizes}
        stocked = {_key(s.width, s.height) for s in shop.sizes_of(glass)} if not now else set(sides)
        names = [o.name for o in sizes if _key(o.piece.width, o.piece.height) in stocked]
        studies.append(
            Study(demand, sizes, names, shop, most=most, deliveries=deliveries, effort=effort, seed=seed)
        )
    if studies:
        for text, size in zip(now, sides, strict=True):
            if size not in met:
                raise NoSuchSize(text)
    reason = tr(
        "no panels of {glasses} were cut in {about}, or no size of it is on offer; give --history, --offers or --on",
        glasses=", ".join(shown(g) for g in wanted) or tr("any glass"),
        about=about,
    )
    return Chosen(studies=tuple(studies), about=about, reason="" if studies else reason)


def _all_terms(desk: Desk, offers: Path | None) -> list[Supply]:
    """All terms, those of sizes too large for the tables among them; sizes of the shop file that no list names too."""
    wide = without_limits(desk.shop)
    terms = list(desk.supplies) if offers is None else read_supply(offers, wide, Problems())
    known = {(t.glass, _key(t.width, t.height)) for t in terms}
    own = [t for t in supply_of_shop(wide) if (t.glass, _key(t.width, t.height)) not in known]
    return terms + own


def without_limits(shop: Shop) -> Shop:
    """The shop with tables that take every sheet."""
    return replace(
        shop,
        cutting=replace(shop.cutting, largest_piece=(0, 0)),
        for_glass=tuple(replace(g, choice=replace(g.choice, largest_piece=None)) for g in shop.for_glass),
    )


def _key(width: int, height: int) -> tuple[int, int]:
    return max(width, height), min(width, height)


def _sides(text: str) -> tuple[int, int]:
    found = _SIZE.fullmatch(text)
    if not found:
        raise NoSuchSize(text)
    return _key(mm(found[1]), mm(found[2]))
