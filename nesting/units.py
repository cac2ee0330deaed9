"""Lengths, areas and money as whole numbers, and the one formatter that shows them.

Every length of the domain is a whole number of nanometres: 0.01 mm and 1/64 in are both exact.
Readers round an input length once, to a multiple of `TICK`, so that the optimizer can work on a
common divisor and never meets a fraction.
"""

from __future__ import annotations

from contextvars import ContextVar
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from .text import local_number

NM_PER_MM: Final = 1_000_000
NM_PER_INCH: Final = 25_400_000
TICK: Final = 625
"""Greatest common divisor of 0.01 mm and 1/64 in. [nm]"""
NM2_PER_MM2: Final = NM_PER_MM**2
NM2_PER_M2: Final = (1000 * NM_PER_MM) ** 2
NM3_PER_LITRE: Final = (100 * NM_PER_MM) ** 3
NM3_PER_GALLON: Final = 231 * NM_PER_INCH**3
"""US gallon of 231 cubic inches. [nm3]"""
MONEY: Final = 10_000
"""Whole money units in one unit of the currency."""

LengthUnit = Literal["mm", "in"]
UNITS: Final[tuple[LengthUnit, ...]] = ("mm", "in")


def to_tick(length: Fraction | int) -> int:
    """Round a length to the nearest multiple of `TICK`, halves away from zero.

    Parameters
    ----------
    length
        Any length. [nm]

    Returns
    -------
    int
        The rounded length; 0.01 mm and 1/64 in stay exact, other decimals move by at most
        0.32 um. [nm]
    """
    if isinstance(length, int):
        if not length % TICK:
            return length
        whole = (2 * abs(length) + TICK) // (2 * TICK)
        return (whole if length >= 0 else -whole) * TICK
    ticks = Fraction(length) / TICK
    whole = (abs(ticks) * 2 + 1) // 2
    return int(whole if ticks >= 0 else -whole) * TICK


def ceil_tick(length: int) -> int:
    """The next multiple of `TICK` at or above `length`. [nm]"""
    return -(-length // TICK) * TICK


def mm(value: int | str | Fraction) -> int:
    """Millimetres as nanometres on the tick lattice: ``mm("1203.5") == 1203500000``."""
    return to_tick(Fraction(value) * NM_PER_MM)


def inch(value: int | str | Fraction) -> int:
    """Inches as nanometres on the tick lattice: ``inch("1/64") == 396875``."""
    return to_tick(Fraction(value) * NM_PER_INCH)


@dataclass(frozen=True, slots=True)
class LengthStyle:
    """How lengths are shown: the unit and the finest step.

    Parameters
    ----------
    unit
        ``"mm"`` (decimals) or ``"in"`` (whole inches and a fraction).
    fineness
        mm: number of decimals at most; in: denominator of the finest fraction, a power of two.
    is_local
        Decimals have the sign of the language; else the point, as in names and in files for programs.
    """

    unit: LengthUnit = "mm"
    fineness: int = 2
    is_local: bool = True

    def __post_init__(self) -> None:
        if self.unit == "in" and (self.fineness < 1 or self.fineness & (self.fineness - 1)):
            raise ValueError(f"inch fineness {self.fineness} is no power of two")
        if self.unit == "mm" and not 0 <= self.fineness <= 6:
            raise ValueError(f"{self.fineness} decimals of a millimetre")


MM: Final = LengthStyle("mm", 2)
INCH: Final = LengthStyle("in", 64)
EXACT: Final = LengthStyle("mm", 6, is_local=False)
"""To the nanometre, the same in every language: for names and files."""

_style: ContextVar[LengthStyle] = ContextVar("length_style", default=MM)


def use_style(style: LengthStyle) -> None:
    """Set the style in which `show` and all messages give lengths."""
    _style.set(style)


def current_style() -> LengthStyle:
    """The style set by `use_style`."""
    return _style.get()


def style_for(unit: LengthUnit) -> LengthStyle:
    """The style set by `use_style` where it has this unit, else the plain style of the unit."""
    current = _style.get()
    if current.unit == unit:
        return current
    return INCH if unit == "in" else MM


def show(length: int, style: LengthStyle | None = None, *, unit: bool = True) -> str:
    """A length as text, the only way lengths reach a user.

    Parameters
    ----------
    length
        [nm]
    style
        Default: the style set by `use_style`.
    unit
        Append the unit (`` mm`` or the inch mark).

    Examples
    --------
    >>> show(1_203_500_000, MM)
    '1203.5 mm'
    >>> show(600_075_000, INCH)
    '23-5/8"'
    """
    style = style or _style.get()
    sign = "-" if length < 0 else ""
    if style.unit == "mm":
        scale = 10**style.fineness
        whole, rest = divmod((abs(length) * scale * 2 + NM_PER_MM) // (2 * NM_PER_MM), scale)
        decimals = f"{rest:0{style.fineness}d}".rstrip("0") if style.fineness else ""
        body = f"{whole}.{decimals}" if decimals else str(whole)
        sign = sign if body.strip("0.") else ""
        return f"{sign}{local_number(body) if style.is_local else body}{' mm' if unit else ''}"
    parts = (abs(length) * style.fineness * 2 + NM_PER_INCH) // (2 * NM_PER_INCH)
    whole, rest = divmod(parts, style.fineness)
    sign = sign if parts else ""
    mark = '"' if unit else ""
    if not rest:
        return f"{sign}{whole}{mark}"
    fraction = Fraction(rest, style.fineness)
    text = f"{fraction.numerator}/{fraction.denominator}"
    return f"{sign}{whole}-{text}{mark}" if whole else f"{sign}{text}{mark}"


def show_size(width: int, height: int, style: LengthStyle | None = None) -> str:
    """Two lengths as ``1200 x 600 mm`` or ``47-1/4" x 23-5/8"``. [nm]"""
    style = style or _style.get()
    if style.unit == "in":
        return f"{show(width, style)} x {show(height, style)}"
    return f"{show(width, style, unit=False)} x {show(height, style)}"


def show_money(amount: int, currency: str = "") -> str:
    """Money as text: ``614000`` units are ``61.40``. [1/10,000 of the currency]"""
    cents = (abs(amount) * 2 + 100) // 200
    text = local_number(f"{'-' if amount < 0 and cents else ''}{cents // 100:,}.{cents % 100:02d}")
    return f"{text} {currency}".rstrip()
