"""An instance as chains: the arrays of the ordered beam, for a part of the demand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

import numpy as np

from ..flaws import EVERYWHERE, KINDS, bands
from ..optimizer.instance import Instance, PanelType
from ..outlines import box
from ..phantoms import PHANTOM
from . import front as f
from .chains import chains

KIND: Final = {"": 0, **{kind: k + 1 for k, kind in enumerate(KINDS)}}
NO_BAND: Final = -1


# what a trial needs of a variant, in one line of the cache
W: Final = 0
H: Final = 1
AREA: Final = 2
RACK: Final = 3
"""Chain of its panel if that is a rack, else -1."""
INNER: Final = 4
"""Whether it is a blank that is cut up further."""
TIE: Final = 5
"""Stock that it is bound to, -1: none, -2: no stock."""
BAND: Final = 6
"""Table of bands in which flaws may lie."""
WIDTH: Final = 7
"""Number of its width among all."""
SHAPE: Final = 8


class Chains(NamedTuple):
    """Chains of panels and the rectangles that hold them, for the kernel.

    A chain is a rack, whose panels leave in order, or a type of which any may be next. A position of a chain
    names a type; a type has the variants from `tfirst` to `tlast`; the variants from `own` on use more than
    one panel.
    """

    first: Any  # (chains + 1,): first position of each
    racked: Any  # (chains,)
    ptype: Any  # (positions,): type there
    codes: Any  # (positions,): random code, for the hash of what is placed
    tchain: Any  # (types,): chain of a type, -1: none is asked for
    tfirst: Any
    tlast: Any
    vrect: Any  # (variants,): rectangle of each
    shape: Any  # (2, variants, SHAPE): what a trial needs of it, by frame
    tol: (
        Any  # (tables, kinds, 2): depth of the bands left and right, bottom and top; the first allows nothing
    )
    uptr: Any
    utype: Any
    ucount: Any
    area: Any  # (rects,)


@dataclass(frozen=True, slots=True)
class Ordered:
    """The arrays of one part of the demand."""

    instance: Instance
    chains: Chains
    own: int
    panels: int
    area: int
    least: int
    """Least side of any rectangle."""


def ordered(instance: Instance, demand: Sequence[int]) -> Ordered:
    """The arrays for so many panels of each type."""
    types = instance.types
    in_racks = [[t for t in chain if demand[t]] for chain in chains(instance)]
    in_racks = [chain for chain in in_racks if chain]
    lined = [(chain, True) for chain in in_racks]
    known = {t for chain in in_racks for t in chain}
    lined += [([t] * n, False) for t, n in enumerate(demand) if n and t not in known]
    first = np.zeros(len(lined) + 1, dtype=np.int64)
    first[1:] = np.cumsum([len(chain) for chain, _ in lined])
    tchain = np.full(len(types), -1, np.int64)
    for c, (chain, _) in enumerate(lined):
        tchain[chain] = c
    total = int(first[-1])
    codes = np.random.Generator(np.random.PCG64(20270301)).integers(-(2**62), 2**62, max(total, 1))
    rects = instance.rects
    variants, tfirst, tlast = _variants(instance, demand, known)
    own = int(tlast.max(initial=0))
    vw = np.array([[v[0] for v in variants], [v[1] for v in variants]], np.int64).reshape(2, -1)
    vh = np.array([[v[1] for v in variants], [v[0] for v in variants]], np.int64).reshape(2, -1)
    tables, classes = _tolerances(instance, variants)
    uptr = np.zeros(len(rects) + 1, np.int64)
    uptr[1:] = np.cumsum([len(r.uses) for r in rects])
    names = {sheet.piece.name: k for k, sheet in reversed(list(enumerate(instance.sheets)))}
    tie = []
    for r in rects:
        bound = {types[t].panels[0].from_stock for t, _ in r.uses if types[t].panels} - {None}
        tie.append(-1 if not bound else names.get(min(bound, key=str) or "", -2) if len(bound) == 1 else -2)
    vrect = np.array([v[2] for v in variants], np.int64)
    shape = np.zeros((2, len(variants), SHAPE), np.int64)
    shape[:, :, W], shape[:, :, H], shape[:, :, BAND] = vw, vh, classes
    shape[:, :, AREA] = instance.arrays.area[vrect]
    shape[:, :, RACK] = [_rack(rects[i].uses[0][0], known, tchain) for i in vrect]
    shape[:, :, INNER] = [rects[i].blank is not None for i in vrect]
    shape[:, :, TIE] = [tie[i] for i in vrect]
    for frame in (0, 1):
        shape[frame, :, WIDTH] = np.unique(vw[frame], return_inverse=True)[1].reshape(-1)
    made = Chains(
        first=first,
        racked=np.array([racked for _, racked in lined], np.int64),
        ptype=np.array([t for chain, _ in lined for t in chain], np.int64),
        codes=codes,
        tchain=tchain,
        tfirst=tfirst,
        tlast=tlast,
        vrect=vrect,
        shape=shape,
        tol=tables,
        uptr=uptr,
        utype=np.array([t for r in rects for t, _ in r.uses], np.int64),
        ucount=np.array([n for r in rects for _, n in r.uses], np.int64),
        area=instance.arrays.area,
    )  # fmt: skip
    area = sum(instance.type_area[t] * n for t, n in enumerate(demand))
    return Ordered(instance, made, own, total, area, int(min(vw.min(initial=f.FAR), vh.min(initial=f.FAR))))


Variant = tuple[int, int, int]


def _rack(kind: int, racked: set[int], chain: Any) -> int:
    return int(chain[kind]) if kind in racked else -1


def _variants(instance: Instance, demand: Sequence[int], racked: set[int]) -> tuple[list[Variant], Any, Any]:
    """Width, height (first cut vertical) and rectangle of each variant: type by type, then the groups."""
    of_type: dict[int, list[Variant]] = {}
    groups: list[Variant] = []
    for i, r in enumerate(instance.rects):
        if any(demand[t] < n for t, n in r.uses):
            continue
        ways = [(r.width, r.height, i)]
        if r.turns and r.width != r.height:
            ways.append((r.height, r.width, i))
        if len(r.uses) == 1 and r.uses[0][1] == 1:
            of_type.setdefault(r.uses[0][0], []).extend(ways)
        elif sum(t in racked for t, _ in r.uses) == 0:
            groups += ways
    variants: list[Variant] = []
    tfirst, tlast = np.zeros(len(demand), np.int64), np.zeros(len(demand), np.int64)
    for t in range(len(demand)):
        tfirst[t] = len(variants)
        variants += of_type.get(t, [])
        tlast[t] = len(variants)
    return variants + groups, tfirst, tlast


def _tolerances(instance: Instance, variants: Sequence[Variant]) -> tuple[Any, Any]:
    """Tables of bands, and the table of each variant by frame; the first allows no flaw."""
    none = tuple((NO_BAND, NO_BAND) for _ in KIND)
    numbers = {none: 0}
    classes = []
    for width, _, rect in variants:
        r = instance.rects[rect]
        table = none
        if r.blank is None:
            table = tuple(_bands(instance, instance.types[r.uses[0][0]], width, kind) for kind in KIND)
        turned = tuple((b, a) for a, b in table)
        classes.append([numbers.setdefault(t, len(numbers)) for t in (table, turned)])
    tables = np.array(list(numbers), np.int64).reshape(len(numbers), len(KIND), 2)
    return tables, np.array(classes, np.int64).reshape(-1, 2).T.copy()


def _bands(instance: Instance, kind: PanelType, width: int, flaw: str) -> tuple[int, int]:
    """Bands of every panel of the type, laid with this width. [search units]"""
    across = along = EVERYWHERE
    for panel in kind.panels:
        side, upright = bands(panel.tolerates, flaw)
        x0, _, x1, _ = box(panel.cut)
        if x1 - x0 != width * instance.unit:
            side, upright = upright, side
        across, along = min(across, side), min(along, upright)
    unit = instance.unit
    return (
        NO_BAND if across < 0 else min(across // unit, f.FAR),
        NO_BAND if along < 0 else min(along // unit, f.FAR),
    )


class Sheets(NamedTuple):
    """A sequence of sheets for the kernel."""

    numbers: Any  # (sheets, 2, NUMBERS)
    prefix: Any  # (sheets + 1,): area of those before
    fptr: Any  # (2, sheets + 1): first flaw of each, by frame
    flaws: Any  # (flaws, 5): left, bottom, right, top, kind, by right end; None where no sheet has one


def sheets(instance: Instance, sequence: Sequence[int], *, strict: bool = True) -> Sheets:
    """The numbers and flaws of sheets in a sequence; `strict` as in `OrderedSearch`."""
    known = {k: [_numbers(instance, k, frame) for frame in (0, 1)] for k in sorted(set(sequence))}
    numbers = np.array([known[k] for k in sequence], np.int64)
    if len(sequence):
        numbers[:, :, f.STRICT] = strict
    prefix = np.zeros(len(sequence) + 1, np.int64)
    prefix[1:] = np.cumsum([instance.sheets[k].area for k in sequence])
    fptr = np.zeros(len(sequence) + 1, np.int64)
    rows: list[tuple[int, ...]] = []
    turned: list[tuple[int, ...]] = []
    for n, k in enumerate(sequence):
        flaws = flaws_in_units(instance, k)
        rows += sorted(flaws, key=_by_right_end)
        turned += sorted(((y0, x0, y1, x1, kind) for x0, y0, x1, y1, kind in flaws), key=_by_right_end)
        fptr[n + 1] = len(rows)
    both = np.array(rows + turned, np.int64) if rows else None
    fptr = np.stack([fptr, fptr + len(rows)])
    return Sheets(numbers.reshape(len(sequence), 2, f.NUMBERS), prefix, fptr, both)


def _by_right_end(flaw: tuple[int, ...]) -> tuple[int, ...]:
    return (flaw[2], *flaw)


def flaws_in_units(instance: Instance, sheet: int) -> list[tuple[int, ...]]:
    """Left, bottom, right, top and kind of the flaws of a sheet, from the corner of its inner area.

    Rounded outward; what has no width takes a unit to either side, but nothing lies outside the sheet.
    """
    piece, unit = instance.sheets[sheet].piece, instance.unit
    out: list[tuple[int, ...]] = []
    for flaw in sorted(piece.flaws):
        ends = []
        for at, size, whole, near in (
            (flaw.x, flaw.width, piece.width, piece.trim.left),
            (flaw.y, flaw.height, piece.height, piece.trim.bottom),
        ):
            low, high = (at - near) // unit, -(-(at + size - near) // unit)
            if size == 0:
                low, high = -(-(at - near) // unit) - 1, (at - near) // unit + 1
            ends.append((max(low, -(near // unit)), min(high, -(-(whole - near) // unit))))
        (x0, x1), (y0, y1) = ends
        out.append((x0, y0, x1, y1, KIND.get(flaw.kind, 0)))
    return out


def _stands_for(instance: Instance, k: int) -> int:
    """The stock itself; of stock that is not there the one that ran out, to which panels may be bound."""
    name = instance.sheets[k].piece.name
    if not name.startswith(PHANTOM):
        return k
    names = [sheet.piece.name for sheet in instance.sheets]
    real = name.removeprefix(PHANTOM)
    return names.index(real) if real in names else k


def _numbers(instance: Instance, k: int, frame: int) -> list[int]:
    rules, unit, sheet = instance.rules, instance.unit, instance.sheets[k]
    trim, levels = sheet.piece.trim, instance.rules.levels
    near_x, near_y, far_x, far_y = trim.left, trim.bottom, trim.right, trim.top
    length, depth, raw_x, raw_y = sheet.width, sheet.height, sheet.raw_right, sheet.raw_top
    deep = sheet.piece.height
    if frame == 1:
        near_x, near_y, far_x, far_y = near_y, near_x, far_y, far_x
        length, depth, raw_x, raw_y = depth, length, raw_y, raw_x
        deep = sheet.piece.width
    least = -(-max(rules.break_out, rules.least_waste) // unit)
    strict = rules.least_waste > rules.break_out
    least1, most1 = rules.level1_width
    gap_least, gap_most = rules.level1_gap
    min1 = max(-(-least1 // unit), least)
    max1 = f.FAR if most1 is None else most1 // unit
    gap1 = f.FAR if gap_most is None else gap_most // unit
    longest = rules.longest_cut
    one_strip = longest is not None and deep > longest
    usable = longest is None or not one_strip or (near_x == 0 and length * unit + far_x <= longest)
    if one_strip:
        min1 = length
    out = [0] * f.NUMBERS
    out[f.LENGTH], out[f.DEPTH] = length, depth
    out[f.RAW_X], out[f.RAW_Y] = raw_x and not strict, raw_y and not strict
    out[f.NEAR_X], out[f.NEAR_Y] = near_x > 0, near_y > 0
    out[f.TRIM_X], out[f.TRIM_Y] = far_x > 0, far_y > 0
    out[f.USABLE] = usable
    out[f.MIN1], out[f.MAX1] = min1, max1
    out[f.NEXT_MIN1], out[f.NEXT_MAX1] = max(min1, -(-gap_least // unit)), min(max1, gap1)
    out[f.WASTE1], out[f.WIDE1] = max(least, -(-gap_least // unit)), min(max1, gap1)
    out[f.MIN2] = max(-(-rules.level2_width // unit), least)
    out[f.LONG] = out[f.HIGH] = f.FAR if longest is None else longest // unit
    out[f.LONG_END] = f.FAR if longest is None else (longest - far_x) // unit
    out[f.HIGH_END] = f.FAR if longest is None else (longest - far_y) // unit
    out[f.LEAST] = least
    out[f.RULED] = bool(
        rules.level1_width != (0, None) or rules.level2_width or rules.level1_gap != (0, None)
    )
    out[f.FILLS] = levels == 2 or (levels == 3 and not rules.last_cut)
    out[f.ALONE] = levels == 2
    out[f.FILLS_X] = levels == 2 and not rules.last_cut
    out[f.PAIRS] = levels is None or levels >= 4
    out[f.STOCK] = _stands_for(instance, k)
    return [int(n) for n in out]
