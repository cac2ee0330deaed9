"""The parts of the shop file that speak of glass: kinds, stock sizes and their trims."""

from __future__ import annotations

from typing import Final

from panewright.io.shop_keys import Section
from panewright.nesting.glass import kind_name
from panewright.nesting.panels import Turn
from panewright.nesting.shop import GlassKind, Process, Shop, StockSize
from panewright.nesting.stock import Trim
from panewright.nesting.text import tr
from panewright.nesting.units import MONEY, mm

LEAST_GLASS: Final = mm(1)
GREATEST_GLASS: Final = mm(50)
SIDES: Final = ("left", "right", "bottom", "top")


def read_trim(part: Section) -> Trim | None:
    """One trim for left and bottom, with 5 mm more at right and top, or one for each side."""
    value = part.raw("trim")
    if value is None:
        return None
    if not isinstance(value, dict):
        near = part.as_length("trim", value, 0, mm(100))
        return None if near is None else Trim(near, near + mm(5), near, near + mm(5))
    sides = part.section("trim")
    found = [sides.length(side, 0, mm(105)) for side in SIDES]
    for side in SIDES:
        if side not in sides.table:
            sides.bad(side, tr("the trim of this side is missing"), tr("give all four sides"))
    sides.close()
    return Trim(*(length or 0 for length in found))


def read_thickness(part: Section, key: str, value: object) -> int | None:
    """A nominal thickness in millimetres, as in glass keys. [nm]"""
    return part.as_length(key, value, LEAST_GLASS, GREATEST_GLASS)


def read_kinds(top: Section, base: Shop) -> dict[str, GlassKind]:
    """The kinds of the table ``kinds``, which replace the built-in ones."""
    part = top.section("kinds")
    if not part.table:
        return dict(base.kinds)
    kinds: dict[str, GlassKind] = {}
    for key in part.table:
        entry = part.section(key)
        name = kind_name(key)
        if name != key:
            part.bad(
                key,
                tr("a kind is small letters and digits with hyphens between"),
                tr("write {name}", name=name) if name else tr("rename it"),
                "",
            )
            continue
        thicknesses = []
        value = entry.raw("thicknesses")
        if not isinstance(value, list) or not value:
            entry.bad("thicknesses", tr("the thicknesses are missing"), tr("write them as in [6, 8, 10]"))
        else:
            found = [read_thickness(entry, "thicknesses", each) for each in value]
            thicknesses = sorted({t for t in found if t is not None})
        mirror = entry.flag("mirror", True)
        kinds[key] = GlassKind(
            kind=key,
            turn=entry.word("turn", {t.value: t for t in Turn}, Turn.ANY),
            mirror=mirror is not False,
            process=entry.word("process", {p.value: p for p in Process}, Process.CUT),
            thicknesses=tuple(thicknesses),
            # patterned glass is rolled, and the layer of laminated glass creeps under lasting load, so that it is
            # weaker than one plate: a file of before this setting must not have them checked as float
            is_float=entry.flag("float", not key.startswith(("patterned", "laminated"))) is not False,
        )
        entry.close()
    return kinds


def read_stock(top: Section, kinds: dict[str, GlassKind], base: Shop) -> tuple[StockSize, ...]:
    """The sizes of the table ``stock``; the built-in ones where there is none."""
    part = top.section("stock")
    if "stock" not in top.table:
        top.problems.note(
            top.file,
            tr("the file sets no stock sizes; the built-in sizes and prices are used, which are invented"),
            tr("add the table [stock]"),
        )
        part_shop = Shop(kinds=kinds)
        return tuple(size for size in base.stock_sizes if part_shop.has(size.glass))
    known = Shop(kinds=kinds)
    sizes: dict[str, StockSize] = {}
    for key in part.table:
        rows = part.raw(key)
        if not known.has(key) or known.kind_of(key).process is not Process.CUT:
            part.bad(
                key,
                tr("the shop cuts no such glass"),
                tr("write kind and thickness as in clear-10, both from the table [kinds]"),
                "",
            )
            continue
        if not isinstance(rows, list):
            part.bad(key, tr("this is no list of sizes"), tr("write [{ size = [3210, 2250], price = 99.5 }]"))
            continue
        for entry in rows:
            size = _size(Section(entry, part.path(key), part.file, part.problems), key)
            if size is not None and size.name in sizes:
                part.bad(key, tr("the size is listed twice"), tr("delete one of them"), size.name)
            elif size is not None:
                sizes[size.name] = size
    return tuple(sizes.values())


def _size(entry: Section, key: str) -> StockSize | None:
    sides = entry.lengths("size", 2, mm(300), mm(12_000))
    price = entry.number("price", 0, 1_000_000)
    lead = entry.whole("lead_days", 0, 1000)
    trim = read_trim(entry)
    entry.close()
    for name in ("size", "price"):
        if name not in entry.table:
            entry.bad(name, tr("the setting is missing"), tr("add it"))
    if sides is None or price is None:
        return None
    if (price * MONEY).denominator != 1:
        entry.bad("price", tr("the price has more than four decimals"), tr("round it"))
        return None
    return StockSize(
        glass=key, width=sides[0], height=sides[1], price=int(price * MONEY), trim=trim, lead_days=lead
    )
