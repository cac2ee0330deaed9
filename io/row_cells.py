"""The cells of one row of a list, read as lengths, numbers, days and glass, with their problems."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping
from datetime import date
from typing import Final, TypeVar

from panewright.io.lengths import BadValue, has_unit, parse_decimal, parse_fraction, parse_length
from panewright.io.problems import Problems, Severity
from panewright.io.table_reader import Row, Table
from panewright.nesting.glass import INCH_NAMES, designation, glass_key, kind_name
from panewright.nesting.shop import DateOrder, GlassKind, Process, Shop, UnknownGlass, split_key
from panewright.nesting.text import local_number, tr
from panewright.nesting.units import NM_PER_INCH, NM_PER_MM, LengthUnit, mm

YES: Final = ("yes", "y", "true", "x", "1")
NO: Final = ("no", "n", "false", "0", "-")

T = TypeVar("T")


class Cells:
    """Reads the cells of a row; `fine` turns false with the first error.

    Parameters
    ----------
    table, row
        Where the cells come from.
    shop
        Default unit, date order and glasses.
    problems
        Collects what is wrong.
    """

    def __init__(self, table: Table, row: Row, shop: Shop, problems: Problems) -> None:
        self.table, self.row, self.shop, self.problems = table, row, shop, problems
        self.fine = True
        self.unit: LengthUnit = shop.list_unit

    def text(self, name: str) -> str:
        """The text of a cell."""
        return self.row.get(name)

    def bad(self, name: str, reason: str, remedy: str, value: str | None = None) -> None:
        """Note an error in this cell."""
        self.fine = False
        self._add("error", name, reason, remedy, value)

    def note(self, name: str, reason: str, remedy: str = "", value: str | None = None) -> None:
        """Note something worth knowing about this cell."""
        self._add("note", name, reason, remedy, value)

    def warn(self, name: str, reason: str, remedy: str = "") -> None:
        """Note something about this cell that must be heard."""
        self._add("warning", name, reason, remedy, None)

    def _add(self, severity: Severity, name: str, reason: str, remedy: str, value: str | None) -> None:
        self.problems.add(
            self.table.file,
            reason,
            remedy,
            row=self.row.number,
            column=self.table.header(name),
            value=self.text(name) if value is None else value,
            severity=severity,
        )

    def attempt(self, name: str, read: Callable[[], T]) -> T | None:
        """What `read` makes of a cell; None with an error where it raises `BadValue`."""
        try:
            return read()
        except BadValue as error:
            self.bad(name, error.reason, error.remedy)
            return None

    def word(self, name: str, words: Mapping[str, T], default: T) -> T:
        """What one of some words means; the default where the cell is empty."""
        text = " ".join(self.text(name).lower().split())
        if text and text not in words:
            self.bad(name, tr("this word is not known"), tr("write one of: {words}", words=", ".join(words)))
        return words.get(text, default)

    def line(self, name: str, longest: int = 60) -> str | None:
        """A short text that must be there, in printable characters."""
        text = re.sub(r"\s", " ", self.text(name))
        if not text:
            self.bad(name, tr("the cell is empty"), tr("fill it in"))
        elif not text.isprintable():
            self.bad(name, tr("the text holds characters that cannot be printed"), tr("type it again"))
        elif len(text) > longest:
            self.bad(
                name,
                tr("the text is longer than {limit} characters", limit=longest),
                tr("shorten it, and put the rest into the note"),
            )
        else:
            return text
        return None

    @staticmethod
    def normal(text: str) -> str:
        """A name in the composed form of its letters, so that equal names are equal texts."""
        return unicodedata.normalize("NFC", text)

    def named_unit(self, name: str) -> bool:
        """Whether the cell, its header or the row's unit cell names the unit of a length."""
        return bool(self.text("unit")) or name in self.table.units or has_unit(self.text(name))

    def in_mm(self, name: str) -> bool:
        """Whether a bare or marked length of this cell is metric."""
        word = re.search(r"[a-z]+|[\"'″′]", self.text(name).lower())
        unit = word[0] if word else self.table.units.get(name, self.unit)
        return unit in ("mm", "cm", "m")

    def corner_unit(self, name: str = "corners") -> LengthUnit:
        """The unit of bare numbers in a list of corners or openings: its header's, else the row's."""
        unit = self.table.units.get(name)
        if unit is None:
            return self.unit
        return "in" if unit in ("in", "inch", "inches", '"') else "mm"

    def read_unit(self) -> None:
        """Take the row's unit cell, if there is one."""
        text = self.text("unit").lower()
        if text in ("mm", "millimetre", "millimeter"):
            self.unit = "mm"
        elif text in ("in", "inch", "inches", '"'):
            self.unit = "in"
        elif text:
            self.bad("unit", tr("this unit is not known"), tr("write mm or in, or leave the cell empty"))

    def length(self, name: str) -> int | None:
        """A length that must be there. [nm]"""
        text = self.text(name)
        if not text:
            self.bad(name, tr("the cell is empty"), tr("fill it in"))
            return None
        header_unit = self.table.units.get(name)
        if header_unit and not has_unit(text):
            text = f"{text} {header_unit}"
        return self.attempt(name, lambda: parse_length(text, self.unit, self.table.decimal))

    def whole(self, name: str, low: int, high: int, default: int | None = None) -> int | None:
        """A whole number within limits."""
        text = self.text(name)
        if not text and default is not None:
            return default
        if re.fullmatch(r"[0-9]{1,9}(?:[.,]0{1,2})?", text):
            number = int(re.split("[.,]", text)[0])
            if low <= number <= high:
                return number
        self.bad(
            name,
            tr("this is no whole number from {low} to {high}", low=low, high=high),
            tr("correct it"),
        )
        return None

    def money(self, name: str) -> int | None:
        """An amount of money. [1/10,000 of the currency]"""
        text = self.text(name).upper().replace(self.shop.currency, "").strip()
        amount = self.attempt(name, lambda: parse_decimal(text, self.table.decimal) * 10_000)
        if amount is None:
            return None
        if amount.denominator != 1:
            self.bad(name, tr("the price has more than four decimals"), tr("round it"))
            return None
        return int(amount)

    def yes_no(self, name: str, default: bool) -> bool:
        """Yes or no."""
        text = self.text(name).casefold()
        if not text:
            return default
        if text not in YES and text not in NO:
            self.bad(name, tr("this is neither yes nor no"), tr("write yes or no"))
        return text in YES

    def day(self, name: str) -> date | None:
        """A day, or None where the cell is empty."""
        if not self.text(name):
            return None
        return self.attempt(name, lambda: parse_day(self.text(name), self.shop.date_order))

    def glass(self) -> tuple[str, int] | None:
        """Glass key and nominal thickness [nm] from the cells ``glass`` and ``thickness``."""
        kind, in_key = self.kind("glass", self.text("glass"))
        if kind is None:
            return None
        stated = self.text("thickness")
        thickness = self.stated_thickness(in_key) if stated else in_key
        if thickness is None:
            if not stated:
                self.bad("thickness", tr("the thickness is missing"), tr("fill it in, as in 10 or 3/8 in"))
            return None
        if not self.worked("thickness" if stated else "glass", kind, thickness):
            return None
        return glass_key(kind.kind, thickness), thickness

    def kind(self, name: str, text: str) -> tuple[GlassKind | None, int | None]:
        """The kind of glass that a text of this cell names, and the thickness [nm] where it is a whole key.

        Nothing, with an error, where the shop does not know it or does not cut it.
        """
        word, thickness = self.kind_and_key(text)
        if word is None:
            self.bad(
                name,
                tr("the cell is empty") if not text else tr("this glass is not known"),
                tr("the shop has {kinds}", kinds=", ".join(sorted(self.shop.kinds)) or tr("none")),
                text,
            )
            return None, None
        kind = self.shop.kinds[word]
        if kind.process is Process.CUT:
            return kind, thickness
        if kind.process is Process.NOT_CUTTABLE:
            reason = tr("{kind} glass cannot be cut any more", kind=word)
        else:
            reason = tr("{kind} glass takes another process", kind=word)
        self.bad(name, reason, tr("plan the raw glass that it is made from"), text)
        return None, None

    def stated_thickness(self, in_key: int | None) -> int | None:
        """The nominal thickness of the cell ``thickness``, which agrees with that of a glass key. [nm]"""
        given = self.thickness()
        if given is not None and in_key not in (None, given):
            self.bad(
                "thickness",
                tr("the thickness does not agree with the glass {glass}", glass=self.text("glass")),
                tr("correct one of them"),
            )
            return None
        return given

    def worked(self, name: str, kind: GlassKind, thickness: int) -> bool:
        """Whether the shop works a kind in this thickness [nm]; an error in the cell where it does not."""
        if thickness in kind.thicknesses:
            return True
        self.bad(
            name,
            tr(
                "the shop has no {kind} glass of {thickness} mm",
                kind=kind.kind,
                thickness=local_number(designation(thickness)),
            ),
            tr(
                "it has {list} mm; add others to the shop file",
                list=", ".join(designation(t) for t in kind.thicknesses) or tr("none"),
            ),
        )
        return False

    def kind_and_key(self, text: str) -> tuple[str | None, int | None]:
        """The known kind, and the thickness where the text is a whole key such as ``clear-10``."""
        name = kind_name(text)
        if name in self.shop.kinds:
            return name, None
        try:
            kind, thickness = split_key(re.sub(r"[\s_-]+", "-", text.strip().lower()))
        except UnknownGlass:
            return None, None
        return (kind, thickness) if kind in self.shop.kinds else (None, None)

    def thickness(self) -> int | None:
        """The nominal thickness [nm] from a number in mm or an inch name."""
        return self.attempt("thickness", lambda: parse_thickness(self.text("thickness"), self.unit))


def parse_thickness(text: str, unit: LengthUnit = "mm") -> int:
    """A nominal thickness from a number in mm (``10``) or an inch name (``3/8``). [nm]

    Inch names stand for the designation in mm of ASTM C1036: 3/8 in is 10 mm glass.

    Raises
    ------
    BadValue
        When it is neither.
    """
    plain = text.strip().lower().replace("″", '"').replace("”", '"')
    bare = re.sub(r"\s*(?:in|inch|\")$", "", plain)
    marked = bare != plain
    fraction = parse_fraction(bare)
    if fraction is not None or marked or (unit == "in" and bare == "1"):
        wanted = fraction if fraction is not None else parse_decimal(bare, "point")
        for name, millimetres in INCH_NAMES.items():
            if parse_fraction(name) == wanted or (name == "1" and wanted == 1):
                return mm(millimetres)
        raise BadValue(
            tr("no glass has this thickness in inches"),
            tr("the names are {names}", names=", ".join(INCH_NAMES)),
        )
    thickness = parse_decimal(re.sub(r"\s*mm$", "", plain)) * NM_PER_MM
    if not NM_PER_MM <= thickness <= 2 * NM_PER_INCH:
        raise BadValue(tr("no glass has this thickness"), tr("give millimetres, as in 10, or 3/8 in"))
    return int(thickness)


_DAY_FORMS: Final[dict[DateOrder, str]] = {
    "year first": "2027-03-09",
    "day first": "2027-03-09, 9.3.2027",
    "month first": "2027-03-09, 3/9/2027",
}


def parse_day(text: str, order: DateOrder) -> date:
    """A day as ISO date, or in the shop's own order of day, month and year.

    Raises
    ------
    BadValue
        When it is no day, or one that can be read in two ways.
    """
    remedy = tr("write it as {form}", form=_DAY_FORMS[order])
    iso = re.fullmatch(r"([0-9]{4})-([0-9]{2})-([0-9]{2})(?:[ T]00:00(?::00)?)?", text)
    own = re.fullmatch(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4})", text)
    if iso:
        year, month, day = (int(part) for part in iso.groups())
    elif own and order != "year first":
        first, second, year = int(own[1]), int(own[3]), int(own[4])
        day, month = (first, second) if order == "day first" else (second, first)
    elif own:
        raise BadValue(
            tr("day and month may be read either way"),
            remedy + tr(", or set the order of dates in the shop file"),
        )
    else:
        raise BadValue(tr("this is no day"), remedy)
    try:
        found = date(year, month, day)
    except ValueError:
        raise BadValue(tr("the calendar has no such day"), remedy) from None
    if not 2000 <= found.year < 2200:
        raise BadValue(tr("the year is not within 2000 to 2199"), remedy)
    return found
