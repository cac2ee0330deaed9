"""The shop file: all settings of a shop in TOML, each with a sane range.

A setting that the file leaves out keeps its built-in value; an unknown one is an error.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

from panewright.io.language import NAMES
from panewright.io.problems import Problems
from panewright.io.shop_breakage import read_breakage
from panewright.io.shop_buying import read_buying
from panewright.io.shop_days import read_cutting_days
from panewright.io.shop_defaults import default_shop, shop_text
from panewright.io.shop_glass import GREATEST_GLASS, read_kinds, read_stock, read_thickness, read_trim
from panewright.io.shop_keys import Section
from panewright.io.shop_table import read_printing, read_racks, read_table_work
from panewright.io.shop_tanks import read_edging_line, read_lead_days, read_strength, read_tank_habits
from panewright.nesting.allowances import AllowanceStep
from panewright.nesting.edgework import Work
from panewright.nesting.shop import CuttingChoice, DateOrder, GlassChoice, GlassKind, Shop
from panewright.nesting.shop_table import Lifts, Table
from panewright.nesting.text import tr
from panewright.nesting.tips import TipRule
from panewright.nesting.units import INCH, LengthStyle, mm, show

__all__ = ["default_shop", "read_shop", "write_shop"]

MAX_BYTES: Final = 1_000_000
DATE_ORDERS: Final[tuple[DateOrder, ...]] = ("year first", "day first", "month first")


def write_shop(path: Path, *, replace: bool = False) -> None:
    """Write the built-in settings as a commented file to fill in.

    Raises
    ------
    FileExistsError
        When the file is there and is not to be replaced.
    OSError
        When the system refuses.
    """
    with path.open("w" if replace else "x", encoding="utf-8", newline="\n") as stream:
        stream.write(shop_text(default_shop()))


def read_shop(path: Path, problems: Problems, *, speak: Callable[[str], None] | None = None) -> Shop:
    """Read a shop file.

    Parameters
    ----------
    path
        A TOML file.
    problems
        Collects every problem; with errors in it the built-in values stand in for what is wrong.
    speak
        Is told the language of the file before the rest of it is read.
    """
    data = _load(path, problems)
    base = default_shop()
    if data is None:
        return base
    top = Section(data, "", str(path), problems)
    language = top.word("language", {code: code for code in NAMES}, base.language)
    if speak is not None:
        speak(language)
    kinds = read_kinds(top, base)
    style, list_unit = _lengths(top.section("lengths"), base)
    offcuts = top.section("offcuts")
    worth = offcuts.number("worth", 0, 1)
    a_plan = offcuts.whole("a_plan", 0, 100)
    tolerance = offcuts.number("tolerance", 0, Fraction(1, 2))
    days = offcuts.whole("days", 0, 10_000)
    offcuts.close()
    cutting = top.section("cutting")
    table = cutting.word("table", {t.value: t for t in Table}, base.table)
    choice = _choice(cutting, base.cutting)
    cutting.close()
    shop = Shop(
        name=top.text("name", base.name),
        language=language,
        currency=_currency(top, base),
        length_style=style,
        list_unit=list_unit,
        date_order=top.word("dates", {order: order for order in DATE_ORDERS}, base.date_order),
        table=table,
        offcut_worth=base.offcut_worth if worth is None else worth,
        offcuts_a_plan=base.offcuts_a_plan if a_plan is None else a_plan,
        offcut_days=days or None,
        offcut_tolerance=base.offcut_tolerance if tolerance is None else tolerance,
        cutting_days=read_cutting_days(top.section("cutting_days")),
        lifts=_lifts(top.section("lifts"), base.lifts),
        work=read_table_work(top.section("table")),
        racks=read_racks(top.section("racks")),
        printing=read_printing(top.section("print")),
        tips=_tips(top.section("tips"), base.tips),
        lead_days=read_lead_days(top.section("lead_days")),
        tanks=read_tank_habits(top.section("tanks")),
        edging=read_edging_line(top.section("edging")),
        strength=read_strength(top.section("strength")),
        breakage=read_breakage(top.section("breakage")),
        buying=read_buying(top.section("buying"), kinds),
        kinds=kinds,
        stock_sizes=read_stock(top, kinds, base),
        cutting=choice,
        for_glass=_for_glass(top, kinds),
        allowances=_allowances(top.section("allowances"), base),
    )
    top.close()
    return shop


def _load(path: Path, problems: Problems) -> dict[str, Any] | None:
    file = str(path)
    try:
        with path.open("rb") as stream:
            content = stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or type(error).__name__
        problems.add(
            file,
            tr("the file cannot be opened ({reason})", reason=reason),
            tr("check its name, or write one with `panewright shop write`"),
        )
        return None
    if len(content) > MAX_BYTES:
        problems.add(file, tr("the file is larger than 1 MB"), tr("name a shop file"))
        return None
    try:
        return tomllib.loads(content.decode("utf-8-sig"), parse_float=Decimal)
    except UnicodeDecodeError as error:
        row = content.count(b"\n", 0, error.start) + 1
        problems.add(file, tr("the file is not UTF-8 text"), tr("save it as UTF-8"), row=row)
    except (ValueError, ArithmeticError, RecursionError) as error:
        found = re.search(r"\(at line ([0-9]+), column [0-9]+\)", str(error))
        problems.add(
            file,
            tr("this is no valid TOML"),
            tr("correct that line; texts stand in quotes, decimals have a point"),
            row=int(found[1]) if found else None,
            value=str(error).partition(" (at ")[0],
        )
    return None


def _currency(top: Section, base: Shop) -> str:
    currency = top.text("currency", base.currency)
    if re.fullmatch(r"[A-Z]{3}", currency):
        return currency
    top.bad("currency", tr("a currency has three capital letters"), tr('write it as in "EUR"'))
    return base.currency


def _lengths(part: Section, base: Shop) -> tuple[LengthStyle, Any]:
    unit = part.word("show", {"mm": "mm", "in": "in"}, base.length_style.unit)
    decimals = part.whole("decimals", 0, 6)
    finest = part.word("finest", {f"1/{2**k}": 2**k for k in range(9)}, None)
    list_unit = part.word("lists", {"mm": "mm", "in": "in"}, base.list_unit)
    part.close()
    if unit == "in":
        return LengthStyle("in", INCH.fineness if finest is None else finest), list_unit
    return LengthStyle("mm", base.length_style.fineness if decimals is None else decimals), list_unit


def _lifts(part: Section, base: Lifts) -> Lifts:
    one, two = part.number("one_person_kg", 1, 100), part.number("two_persons_kg", 1, 200)
    length = part.length("one_person_length", mm(300), mm(5000))
    part.close()
    lifts = Lifts(
        one_grams=base.one_grams if one is None else int(one * 1000),
        one_length=base.one_length if length is None else length,
        two_grams=base.two_grams if two is None else int(two * 1000),
    )
    if lifts.two_grams < lifts.one_grams:
        part.bad("two_persons_kg", tr("two persons lift less than one"), tr("correct it"))
    return lifts


def _tips(part: Section, base: TipRule) -> TipRule:
    """Whether tips are cut back, and how far they may reach over the larger allowance."""
    cut_back, times = part.flag("cut_back", base.cut_back), part.number("reach", 1, 20)
    part.close()
    return TipRule(cut_back=bool(cut_back), times=base.times if times is None else times)


def _none_or(part: Section, key: str, word: str) -> bool:
    """Whether the file says ``none`` or ``free`` here."""
    value = part.raw(key)
    return isinstance(value, str) and value.strip().lower() == word


def _choice(part: Section, base: CuttingChoice) -> CuttingChoice:
    """The cutting rules that a table sets, over those of `base`."""

    def pick(value: Any, default: Any) -> Any:
        return default if value is None else value

    levels = 0 if _none_or(part, "levels", "free") else part.whole("levels", 2, 4)
    longest = part.none_or_length("longest_score", "none", mm(500), mm(12_000))
    if _none_or(part, "largest_piece", "none"):
        largest: tuple[int, int] | None = (0, 0)
    else:
        sides = part.lengths("largest_piece", 2, mm(500), mm(12_000))
        largest = (max(sides), min(sides)) if sides else None
    angled = part.none_or_length("longest_angled_score", "none", mm(300), mm(12_000))
    marks = part.none_or_length("marks", "exact", mm("0.1"), mm(2))
    radius = 0 if _none_or(part, "inner_radius", "none") else part.length("inner_radius", mm(1), mm(100))
    offcut = part.lengths("least_offcut", 2, mm(50), mm(6000))
    angle = part.number("least_angle", 10, 60)
    once = part.flag("deepest_once", base.deepest_once)
    if once and pick(levels, base.levels) not in (4, None):
        part.bad(
            "deepest_once",
            tr("the rule is one of the fourth level, and the table follows fewer or free ones"),
            tr("set levels to 4, or this to false"),
        )
    return CuttingChoice(
        break_out=pick(part.length("break_out", mm(5), mm(200)), base.break_out),
        levels=pick(levels, base.levels),
        last_cut=part.flag("last_cut", base.last_cut),
        longest_cut=pick(longest, base.longest_cut),
        largest_piece=pick(largest, base.largest_piece),
        level1_gap=pick(_distance(part), base.level1_gap),
        level1_width=pick(_level1_width(part), base.level1_width),
        level2_width=pick(part.length("level2_width", 0, mm(3000)), base.level2_width),
        least_waste=pick(part.length("least_waste", 0, mm(500)), base.least_waste),
        deepest_once=once,
        least_offcut=pick((max(offcut), min(offcut)) if offcut else None, base.least_offcut),
        corner_depth=pick(part.length("corner_depth", mm(1), mm(150)), base.corner_depth),
        least_angle=pick(None if angle is None else int(angle * 1000), base.least_angle),
        longest_angled_cut=pick(angled, base.longest_angled_cut),
        mark_step=pick(marks, base.mark_step),
        inner_radius=pick(radius, base.inner_radius),
        trim=pick(read_trim(part), base.trim),
    )


def _distance(part: Section) -> tuple[int, int | None] | None:
    both = _least_and_most(part, "level1_distance")
    if both is not None and both[1] is not None and both[1] < max(2 * both[0], mm(100)):
        part.bad(
            "level1_distance",
            tr("the greatest distance is below twice the least, or below {least}", least=show(mm(100))),
            tr('correct it; the second may be "none"'),
        )
        return None
    return both


def _level1_width(part: Section) -> tuple[int, int | None] | None:
    both = _least_and_most(part, "level1_width")
    if both is not None and both[1] is not None and both[1] < max(both[0], mm(100)):
        part.bad(
            "level1_width",
            tr("the greatest width is below the least, or below {least}", least=show(mm(100))),
            tr('correct it; the second may be "none"'),
        )
        return None
    return both


def _least_and_most(part: Section, key: str) -> tuple[int, int | None] | None:
    """A list of two lengths, the second perhaps ``none``; None where it is not set or wrong. [nm]"""
    value = part.raw(key)
    if isinstance(value, list) and len(value) == 2 and value[1] == "none":
        least = part.as_length(key, value[0], 0, mm(3000))
        return None if least is None else (least, None)
    both = None if value is None else part.lengths(key, 2, 0, mm(12_000), '[300, 600], [300, "none"]')
    return (both[0], both[1]) if both else None


def _for_glass(top: Section, kinds: dict[str, GlassKind]) -> tuple[GlassChoice, ...]:
    value = top.raw("for_glass")
    if value is None:
        return ()
    if not isinstance(value, list):
        top.bad("for_glass", tr("this is no list of tables"), tr("write [[for_glass]]"), "")
        return ()
    choices = []
    for number, each in enumerate(value, start=1):
        part = Section(each, f"for_glass {number}", top.file, top.problems)
        kind = part.word("kind", {name: name for name in kinds}, None)
        thickness = (
            read_thickness(part, "thickness", part.table["thickness"]) if part.has("thickness") else None
        )
        start = (
            read_thickness(part, "thickness_from", part.table["thickness_from"])
            if part.has("thickness_from")
            else None
        )
        choices.append(
            GlassChoice(
                kind=kind,
                thickness=thickness,
                thickness_from=start or 0,
                choice=_choice(part, CuttingChoice()),
            )
        )
        part.close()
    return tuple(choices)


def _allowances(part: Section, base: Shop) -> dict[Work, tuple[AllowanceStep, ...]]:
    """Allowances by edgework: one number, or steps by thickness and mitre angle."""
    out = dict(base.allowances)
    most = mm(10)
    for work in Work:
        value = part.raw(work.value)
        if value is None:
            continue
        if not isinstance(value, list):
            off = part.as_length(work.value, value, 0, most)
            if off is not None:
                out[work] = (AllowanceStep(allowance=off),)
            continue
        steps = []
        for each in value:
            entry = Section(each, part.path(work.value), part.file, part.problems)
            off = entry.length("off", 0, most)
            start = entry.length("from", 0, GREATEST_GLASS)
            angle = entry.number("from_angle", 0, 80)
            entry.close()
            if "off" not in entry.table:
                entry.bad("off", tr("the setting is missing"), tr("write it as in { from = 12, off = 2.0 }"))
            if off is not None:
                steps.append(
                    AllowanceStep(
                        allowance=off, thickness_from=start or 0, angle_from=int((angle or 0) * 1000)
                    )
                )
        steps.sort(key=lambda s: (s.thickness_from, s.angle_from))
        starts = [(s.thickness_from, s.angle_from) for s in steps]
        if len(steps) == len(value) and (not starts or starts[0] != (0, 0)):
            part.bad(
                work.value,
                tr("no step says what holds from the thinnest glass on"),
                tr("add one without from and from_angle, as in { off = 1.5 }"),
            )
        elif len(set(starts)) < len(starts):
            part.bad(work.value, tr("two steps begin at the same thickness and angle"), tr("delete one"))
        out[work] = tuple(steps)
    part.close()
    return out
