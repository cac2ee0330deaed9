"""The shop: its glasses, stock sizes, cutting rules, allowances and habits.

Everything here may be set in the shop file; the defaults follow the thickness of the glass. They are
common practice (trim, break-out, corners, allowances, lifts) and never a rule of law: the shop's own
tables and the local rules decide.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from fractions import Fraction
from functools import lru_cache
from typing import Final, Literal

from .allowances import DEFAULT_ALLOWANCES, AllowanceStep
from .breakage.settings import BreakageSettings
from .buying.settings import BuyingSettings
from .cutting_choice import CuttingChoice, GlassChoice
from .cutting_days import CuttingDays
from .edgework import Work
from .errors import InvalidRule, NestingError
from .glass import glass_key
from .panels import Turn
from .rules import Rules
from .shop_table import Lifts, Printing, Racks, Table, TableWork
from .shop_tanks import EdgingLine, LeadDays, Strength, TankHabits
from .stock import Trim
from .text import tr
from .tips import TipRule
from .to_the_mark import near_trims_to_the_mark, widths_to_the_mark
from .units import EXACT, MM, LengthStyle, LengthUnit, inch, mm, show

__all__ = [
    "HAND_ANGLED",
    "HAND_MARKS",
    "CuttingChoice",
    "DateOrder",
    "GlassChoice",
    "GlassKind",
    "Process",
    "Shop",
    "StockSize",
    "UnknownGlass",
    "split_key",
]

DateOrder = Literal["year first", "day first", "month first"]


class Process(Enum):
    """What this shop can do with a kind of glass."""

    CUT = "cut"
    NOT_CUTTABLE = "not cuttable"
    OTHER = "other process"


HAND_ANGLED: Final = mm(2500)
"""Longest angled score by hand, along a straightedge with no guide beside it [common practice]. [nm]"""
HAND_MARKS: Final = {"mm": mm("0.5"), "in": inch("1/32")}
"""To what a tape is read at a hand table: half a millimetre, or 1/32 in [common practice]. [nm]"""


class UnknownGlass(NestingError, LookupError):
    """A glass key whose kind the shop does not know."""

    def __init__(self, key: str) -> None:
        self.key = key
        super().__init__(key)

    def __str__(self) -> str:
        return tr("the shop knows no glass {key}; add its kind to the shop file", key=self.key)


@dataclass(frozen=True, slots=True, kw_only=True)
class GlassKind:
    """A kind of glass and what may be done with it.

    Parameters
    ----------
    kind
        Canonical name, for example ``low-iron``.
    turn, mirror
        Rotations that panels of it may take; whether they may be cut mirror-image.
    process
        Cut here, not cuttable (toughened), or another process (laminated).
    thicknesses
        Nominal thicknesses that the shop works, rising. [nm]
    is_float
        Float glass; the thickness check speaks of no other.
    """

    kind: str
    turn: Turn = Turn.ANY
    mirror: bool = True
    process: Process = Process.CUT
    thicknesses: tuple[int, ...] = ()
    is_float: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class StockSize:
    """A sheet size that can be bought.

    Parameters
    ----------
    glass
        Glass key.
    width, height
        Nominal size. [nm]
    price
        Price of one sheet. [1/10,000 of the currency]
    trim
        Trim of this size alone; None for that of the glass.
    lead_days
        Days until a bought one is here, or None.
    """

    glass: str
    width: int
    height: int
    price: int
    trim: Trim | None = None
    lead_days: int | None = None

    @property
    def name(self) -> str:
        """Glass and size in millimetres: ``clear-10 3210x2250``."""
        width, height = (show(side, EXACT, unit=False) for side in (self.width, self.height))
        return f"{self.glass} {width}x{height}"


_KEY: Final = re.compile(r"(?P<kind>[a-z][a-z0-9]*(?:-[a-z][a-z0-9]*)*)-(?P<mm>[0-9]{1,3}(?:\.[0-9]{1,3})?)")


@lru_cache(maxsize=1000)
def split_key(key: str) -> tuple[str, int]:
    """Kind and nominal thickness [nm] of a glass key.

    Raises
    ------
    UnknownGlass
        When the text is no glass key.
    """
    found = _KEY.fullmatch(key)
    if not found:
        raise UnknownGlass(key)
    return found["kind"], int(Fraction(found["mm"]) * 1_000_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """All settings of one shop.

    Parameters
    ----------
    name, language
        Name of the shop, for headings (may be empty); language of all texts, as in ISO 639-1.
    currency
        Three capital letters.
    length_style, list_unit
        How lengths are shown; unit of bare numbers in lists.
    date_order
        How a date such as 3.4.2027 is read; ``year first`` accepts ISO dates alone.
    table
        Hand or machine; decides the least trim.
    offcut_worth
        Worth of an offcut over the cheapest price per area of its glass, 0..1.
    offcuts_a_plan
        Offcuts that a plan may leave, the largest first.
    offcut_days
        Days after which an offcut is worth nothing, falling by an equal part a day; None: it keeps its worth.
    offcut_tolerance
        Two plans whose largest offcuts differ by no more than this share count as equal there.
    cutting_days
        The table's capacity and working days.
    lifts
        Limits for lifting by hand.
    work, racks, printing
        How the table is worked; where panels wait; paper for the cut book and labels.
    tips
        Whether sharp corners of cut outlines are cut back.
    lead_days, tanks, edging, strength, breakage, buying
        From cutting to delivery; how tanks are built; edging line; thickness check; breakage; how sheets are bought.
    kinds
        Kinds of glass by name.
    stock_sizes
        Sheets that can be bought.
    cutting
        Cutting rules for every glass.
    for_glass
        Cutting rules for some glasses; a later one goes over an earlier one.
    allowances
        Steps for each edgework; the last step that holds counts.
    """

    name: str = ""
    language: str = "en"
    currency: str = "EUR"
    length_style: LengthStyle = MM
    list_unit: LengthUnit = "mm"
    date_order: DateOrder = "year first"
    table: Table = Table.HAND
    offcut_worth: Fraction = Fraction(1, 2)
    offcuts_a_plan: int = 6
    offcut_days: int | None = None
    offcut_tolerance: Fraction = Fraction(1, 20)
    cutting_days: CuttingDays = field(default_factory=CuttingDays)
    lifts: Lifts = field(default_factory=Lifts)
    work: TableWork = field(default_factory=TableWork)
    racks: Racks = field(default_factory=Racks)
    printing: Printing = field(default_factory=Printing)
    tips: TipRule = field(default_factory=TipRule)
    lead_days: LeadDays = field(default_factory=LeadDays)
    tanks: TankHabits = field(default_factory=TankHabits)
    edging: EdgingLine = field(default_factory=EdgingLine)
    strength: Strength = field(default_factory=Strength)
    breakage: BreakageSettings = field(default_factory=BreakageSettings)
    buying: BuyingSettings = field(default_factory=BuyingSettings)
    kinds: Mapping[str, GlassKind] = field(default_factory=dict)
    stock_sizes: tuple[StockSize, ...] = ()
    cutting: CuttingChoice = field(default_factory=CuttingChoice)
    for_glass: tuple[GlassChoice, ...] = ()
    allowances: Mapping[Work, tuple[AllowanceStep, ...]] = field(
        default_factory=lambda: dict(DEFAULT_ALLOWANCES)
    )

    def __post_init__(self) -> None:
        if not re.fullmatch(r"[A-Z]{3}", self.currency):
            raise InvalidRule("currency", self.currency, tr("three capital letters"))
        if not 0 <= self.offcut_worth <= 1:
            raise InvalidRule("offcut_worth", str(self.offcut_worth), tr("0 to 1"))

    def kind_of(self, key: str) -> GlassKind:
        """The kind behind a glass key; raises `UnknownGlass` where the shop has none."""
        found = self.kinds.get(split_key(key)[0])
        if found is None:
            raise UnknownGlass(key)
        return found

    def has(self, key: str) -> bool:
        """Whether the shop works this kind in this thickness."""
        try:
            return split_key(key)[1] in self.kind_of(key).thicknesses
        except UnknownGlass:
            return False

    def _choices(self, key: str) -> list[CuttingChoice]:
        kind, thickness = split_key(key)
        return [self.cutting, *(g.choice for g in self.for_glass if g.meets(kind, thickness))]

    def rules(self, key: str) -> Rules:
        """The cutting rules that a glass is planned by; where sizes go up to the mark, least widths do so too."""
        return widths_to_the_mark(self.rules_as_set(key)) if self.work.to_the_mark else self.rules_as_set(key)

    def rules_as_set(self, key: str) -> Rules:
        """The cutting rules of a glass, as the shop file has them.

        Raises
        ------
        UnknownGlass
            When the text is no glass key.
        """
        thickness = split_key(key)[1]
        by_hand = self.table is Table.HAND
        rules = Rules(
            break_out=max(mm(20), 3 * thickness),
            corner_depth=5 * thickness // 2,
            least_angle=30_000,
            longest_angled_cut=HAND_ANGLED if by_hand else None,
            mark_step=HAND_MARKS[self.length_style.unit] if by_hand else None,
        )
        for choice in self._choices(key):
            rules = choice.over(rules)
        return rules

    def tape_step(self, key: str) -> int | None:
        """The step to which cut sizes of this glass go up (see `to_the_mark`); None: they are exact. [nm]"""
        return self.rules_as_set(key).mark_step if self.work.to_the_mark else None

    def trim(self, key: str, own: Trim | None = None) -> Trim:
        """The trims of a raw sheet of this glass: twice the thickness, more at the far sides.

        The far sides (right, top) get 5 mm more, for sheets come up to 5 mm short or long
        (stock-size tolerance of EN 572-2, from memory). A stock size may have its `own`. The near ones go up
        to the mark where cut sizes do.

        Raises
        ------
        UnknownGlass
            When the text is no glass key.
        """
        thickness = split_key(key)[1]
        near = max(2 * thickness, mm(20 if self.table is Table.MACHINE else 10))
        trim = Trim(near, near + mm(5), near, near + mm(5))
        for choice in self._choices(key):
            trim = choice.trim or trim
        return near_trims_to_the_mark(own or trim, self.tape_step(key))

    def allowance(self, work: Work, thickness: int, mitre: int = 0) -> int:
        """Glass that an edgework removes from one edge. [nm]

        Parameters
        ----------
        work
            The edgework.
        thickness
            Nominal thickness. [nm]
        mitre
            Angle from square, only with `Work.MITRE`. [1/1000 degree]
        """
        allowance = 0
        for step in self.allowances.get(work, ()):
            if thickness >= step.thickness_from and mitre >= step.angle_from:
                allowance = step.allowance
        return allowance

    def sizes_of(self, key: str) -> tuple[StockSize, ...]:
        """The stock sizes of a glass, in the order of the shop file."""
        return tuple(size for size in self.stock_sizes if size.glass == key)

    def glass_keys(self) -> list[str]:
        """The glass keys that the shop cuts, sorted by kind and thickness."""
        return [
            glass_key(kind.kind, thickness)
            for kind in sorted(self.kinds.values(), key=lambda k: k.kind)
            if kind.process is Process.CUT
            for thickness in kind.thicknesses
        ]
