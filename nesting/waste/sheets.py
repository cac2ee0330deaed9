"""One sheet in a waste report: its sums, and what of them falls to each order and product."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from ..figures import Figures, shares
from ..glass import mass_grams
from ..happened import AtStep
from ..panels import Purpose
from .over_bound import NONE, OverBound, money_of
from .sums import WasteSums, shared_out


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A panel on a sheet; areas twice nm2. `broke` is the work at which it broke, None while it is whole."""

    panel: str
    order: str
    product: str
    purpose: Purpose
    cut: int
    finished: int
    broke: AtStep | None = None


@dataclass(frozen=True, slots=True)
class Away:
    """Glass of offcuts that the plan wanted kept and that is none now: to trim and to cullet. [twice nm2]"""

    trim: int = 0
    cullet: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What of a sheet falls to one product of one order; no order: spares and fillers alone."""

    order: str
    product: str
    sums: WasteSums


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetWaste:
    """A sheet that was planned for a span of the period, or cut in it.

    Parameters
    ----------
    span
        Number of the week or month within the period; -1 where its day is not known.
    plan, number, glass, stock, is_offcut
        As in the plan that speaks for it now.
    sums
        Of the whole sheet.
    parts
        By order and product; they add up to `sums` but for its count of sheets.
    pieces
        Its panels.
    """

    span: int
    plan: str
    number: int
    glass: str
    stock: str
    is_offcut: bool
    sums: WasteSums
    parts: tuple[Part, ...]
    pieces: tuple[Piece, ...]


def sheet_waste(
    *,
    span: int,
    plan: str,
    number: int,
    glass: str,
    stock: str,
    is_offcut: bool,
    figures: Figures,
    pieces: Sequence[Piece],
    thickness: int,
    worth: Fraction = Fraction(0),
    over: OverBound = NONE,
    away: Away = Away(),
) -> SheetWaste:
    """The waste of one sheet.

    Parameters
    ----------
    figures
        As planned.
    pieces
        Its panels, those that broke with the work at which they did; none broken for a sheet as planned.
    thickness
        Nominal. [nm]
    worth
        Of a kept offcut. [1/10,000 of the currency per nm2]
    over
        What it bears of the excess of its plan.
    away
        Offcuts thrown away or made smaller.
    """
    lost = [p for p in pieces if p.broke is not None]

    def area(purpose: Purpose) -> int:
        return sum(p.cut for p in lost if p.purpose is purpose)

    good = [p for p in pieces if p.broke is None and p.purpose is Purpose.ORDER]
    sums = WasteSums(
        sheets=1,
        from_offcuts=int(is_offcut),
        panels=len(good),
        broken=len(lost),
        sheet=figures.sheet,
        cut=figures.cut - area(Purpose.ORDER),
        finished=figures.finished - sum(p.finished for p in lost if p.purpose is Purpose.ORDER),
        spare=figures.spare - area(Purpose.SPARE),
        filler=figures.filler - area(Purpose.FILLER),
        lost=sum(p.cut for p in lost),
        trim=figures.trim + away.trim,
        cullet=figures.cullet + away.cullet,
        offcut=figures.offcut - away.trim - away.cullet,
        thrown=away.trim + away.cullet,
        rest=over.area,
        cost=figures.cost,
    )
    panels, extras, _ = money_of(figures)
    less = shares(over.dear, [panels, extras])
    panels, extras = panels - less[0], extras - less[1]
    sums.in_panels, broken = shares(panels, [sums.cut, area(Purpose.ORDER)])
    sums.in_extras, more = shares(extras, [sums.spare + sums.filler, sums.lost - area(Purpose.ORDER)])
    sums.in_broken, sums.in_rest = broken + more, over.money
    kept = sums.offcut // 2
    sums.worth = (2 * kept * worth.numerator + worth.denominator) // (2 * worth.denominator)
    sums.scrap_grams = mass_grams(sums.scrap, thickness)
    return SheetWaste(
        span=span,
        plan=plan,
        number=number,
        glass=glass,
        stock=stock,
        is_offcut=is_offcut,
        sums=sums,
        parts=_parts(sums, pieces),
        pieces=tuple(pieces),
    )


def _parts(whole: WasteSums, pieces: Iterable[Piece]) -> tuple[Part, ...]:
    found: dict[tuple[str, str], WasteSums] = {}
    other = 0
    for p in pieces:
        if p.purpose is not Purpose.ORDER:
            other += p.broke is not None
            continue
        mine = found.setdefault((p.order, p.product), WasteSums())
        if p.broke is None:
            mine.panels, mine.cut, mine.finished = (
                mine.panels + 1,
                mine.cut + p.cut,
                mine.finished + p.finished,
            )
        else:
            mine.broken, mine.lost = mine.broken + 1, mine.lost + p.cut
    if not found:
        found["", ""] = WasteSums()
    keys = sorted(found)
    own = [found[key] for key in keys]
    # spares and fillers that broke are borne together, as the sound ones are
    spoilt = whole.lost - sum(part.lost for part in own)
    weights = [part.cut + part.lost for part in own]
    for part, area in zip(own, shares(spoilt, weights if any(weights) else [1]), strict=True):
        part.lost += area
    own[-1].broken += other
    shared_out(whole, own)
    return tuple(
        Part(order=order, product=product, sums=part)
        for (order, product), part in zip(keys, own, strict=True)
    )
