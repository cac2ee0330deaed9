"""Sheets with flaws, or with rules between their cuts: what the kernel is given, and its moves as patterns."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property, partial
from typing import Any, Final

import numpy as np

from ..flaws import EVERYWHERE, bands
from ..joint_blanks import Bundle
from ..ordered.laid import Laid, Span
from . import flawed_moves as fm
from .blocks import Blocks
from .flawed_kernel import beam_flawed
from .instance import Instance
from .moves import COLUMN, STRIP
from .pattern import Pattern

MANY: Final = 64
"""Blocks up to which the kernel tries every one."""
SOME: Final = 24
"""Blocks of a kind that it tries beyond that, and more where they fit better."""
BOTH_FRAMES: Final = 3
ALONE: Final = 4
"""Width of a beam that lays one panel."""


class Filled:
    """A sheet as filled. Most are dropped at once, so that its pattern is made when it is asked for.

    Parameters
    ----------
    make
        Makes the pattern.
    value
        Of what was laid.
    end
        Of the last strip. [search units]
    uses
        Panels of each type that were laid.
    """

    def __init__(self, make: Callable[[], Laid], value: float, end: int, uses: Any) -> None:
        self._make, self.value, self.end, self.uses = make, value, end, uses

    @cached_property
    def pattern(self) -> Laid:
        """The sheet cut up, with the strips that were there."""
        return self._make()


def needs_room(instance: Instance, sheet: int) -> bool:
    """Whether patterns for this sheet need waste where the plain kernel leaves none."""
    return bool(instance.sheets[sheet].piece.flaws) or instance.rules.sheet_rules


def suits(pattern: Pattern, instance: Instance) -> bool:
    """Whether a pattern is made for its sheet: others know nothing of its flaws."""
    return isinstance(pattern, Laid) or not needs_room(instance, pattern.sheet)


def numbers(instance: Instance, sheet: int, frame: int, levels: int) -> Any | None:
    """The numbers of a sheet in a frame (see `flawed_moves`); None where its first cuts would be too long."""
    rules, unit = instance.rules, instance.unit
    here = instance.sheets[sheet]
    piece, trim = here.piece, here.piece.trim
    length, depth = (here.width, here.height) if frame == 0 else (here.height, here.width)
    raw = (here.raw_right, here.raw_top) if frame == 0 else (here.raw_top, here.raw_right)
    near = (trim.left, trim.bottom) if frame == 0 else (trim.bottom, trim.left)
    far_x = trim.right if frame == 0 else trim.top
    if rules.longest_cut is not None and (piece.height if frame == 0 else piece.width) > rules.longest_cut:
        return None
    waste = max(rules.break_out, rules.least_waste)
    # a rule for waste holds at a raw side as well
    free = rules.least_waste <= rules.break_out
    (least_1, most_1), (gap_least, gap_most) = rules.level1_width, rules.level1_gap
    if levels == 2:
        in_column = 0
    elif levels == 3:
        in_column = 0 if instance.exact else 1
    else:
        in_column = 2 if rules.deepest_counts else 3
    small = min(min(r.width, r.height) for r in instance.rects)
    out = np.zeros(fm.NUMBERS, dtype=np.int64)
    out[fm.LENGTH], out[fm.DEPTH] = length, depth
    out[fm.RAW_X], out[fm.RAW_Y] = raw[0] and free, raw[1] and free
    out[fm.NEAR_X], out[fm.NEAR_Y] = near[0] > 0, near[1] > 0
    out[fm.WASTE] = -(-waste // unit)
    out[fm.LEAST_1] = -(-least_1 // unit)
    out[fm.MOST_1] = fm.FAR if most_1 is None else most_1 // unit
    out[fm.GAP_LEAST] = -(-gap_least // unit)
    out[fm.GAP_MOST] = fm.FAR if gap_most is None else gap_most // unit
    out[fm.LEAST_2] = -(-rules.level2_width // unit)
    out[fm.LONGEST] = fm.FAR if rules.longest_cut is None else rules.longest_cut // unit
    out[fm.TRIM_X] = -(-far_x // unit)
    out[fm.IN_COLUMN] = in_column
    out[fm.WHOLE_ROW] = gap_least == 0 and gap_most is None and small >= max(out[fm.LEAST_1], out[fm.LEAST_2])
    out[fm.TWO_LEVELS] = (2 if instance.exact else 1) if levels == 2 else 0
    out[fm.DISTANCES] = (
        rules.level1_gap != (0, None) or rules.level1_width != (0, None) or rules.level2_width > 0
    )
    return out


def flaws_in(instance: Instance, sheet: int, frame: int, kinds: Sequence[str]) -> Any:
    """The flaws of a sheet in its inner area in a frame, rounded outwards; the kind by its place in `kinds`."""
    piece, unit = instance.sheets[sheet].piece, instance.unit
    at = {kind: k for k, kind in enumerate(kinds)}
    rows = []
    for flaw in sorted(piece.flaws):
        # a scratch or a point is taken as 2 nm wide, as it is everywhere
        dx, dy = int(not flaw.width), int(not flaw.height)
        x0, x1 = flaw.x - dx - piece.trim.left, flaw.x + flaw.width + dx - piece.trim.left
        y0, y1 = flaw.y - dy - piece.trim.bottom, flaw.y + flaw.height + dy - piece.trim.bottom
        box = [x0 // unit, y0 // unit, -(-x1 // unit), -(-y1 // unit)]
        if frame == 1:
            box = [box[1], box[0], box[3], box[2]]
        rows.append([*box, at.get(flaw.kind, -1)])
    return np.array(rows, dtype=np.int64).reshape(-1, 5)


class FlawedSheets:
    """The kernel for sheets with flaws, bound to one instance.

    Parameters
    ----------
    instance
        What is cut.
    """

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        used = {t.kind for kind in instance.types for t in kind.panels[0].tolerates}
        there = {f.kind for s in instance.sheets for f in s.piece.flaws}
        self._kinds = sorted(used & there)
        narrow = [k for k, r in enumerate(instance.rects) if min(r.width, r.height) < instance.break_out]
        pairs = instance.levels >= 4
        self._blocks = [Blocks(instance, frame, pairs=pairs, without=narrow) for frame in (0, 1)]
        self._bands = [self._bands_of(frame) for frame in (0, 1)]
        self._sheets: dict[tuple[int, int, int], tuple[Any, Any]] = {}

    def _bands_of(self, frame: int) -> Any:
        """Depths of the bands of every block, [block, rectangle, kind, at the sides or at bottom and top]."""
        blocks, inst = self._blocks[frame], self.instance
        out = np.full((len(blocks.width), 2, max(1, len(self._kinds)), 2), -1, dtype=np.int64)
        if not self._kinds:
            return out
        for b in range(len(blocks.width)):
            for place, r in enumerate(blocks.rects[b].tolist()):
                if r < 0:
                    continue
                rect = inst.rects[r]
                panel = inst.types[rect.uses[0][0]].panels[0]
                if rect.blank is not None or isinstance(panel, Bundle):
                    continue
                xs = [p[0] for p in panel.cut]
                # along x of the sheet it is as wide as listed, or it is turned
                across = blocks.width[b] if frame == 0 else blocks.heights[b, place]
                turned = (max(xs) - min(xs)) // inst.unit != across
                for k, kind in enumerate(self._kinds):
                    depths = [
                        d if d < 0 or d == EVERYWHERE else d // inst.unit
                        for d in bands(panel.tolerates, kind)
                    ]
                    out[b, place, k] = depths[::-1] if turned != (frame == 1) else depths
        return out

    def _numbers(self, sheet: int, frame: int, levels: int) -> tuple[Any, Any]:
        key = (sheet, frame, levels)
        if key not in self._sheets:
            self._sheets[key] = (
                numbers(self.instance, sheet, frame, levels),
                flaws_in(self.instance, sheet, frame, self._kinds),
            )
        return self._sheets[key]

    def flaws(self, sheet: int, frame: int) -> Any:
        """(F, 5) flaws of a sheet in a frame. [search units]"""
        return self._numbers(sheet, frame, self.instance.levels)[1]

    def fill(
        self,
        sheet: int,
        demand: Sequence[int] | Any,
        *,
        value: Any,
        width: int,
        lean: float = 0.1,
        power: float = 1.0,
        frames: int = BOTH_FRAMES,
        whole: bool = False,
        upto: int | None = None,
        slack: int | None = None,
        some: int = SOME,
        levels: int | None = None,
        kept: tuple[Span, ...] = (),
        beyond: tuple[Span, ...] = (),
        stop: int | None = None,
    ) -> tuple[Filled | None, int]:
        """The most value of the demand on one sheet, or all of it; and the nodes spent.

        Parameters
        ----------
        sheet
            Index of the stock.
        demand
            Panels of each type.
        value
            Of every rectangle.
        width, lean, power
            Of the beam, and of its guide (lean + share of the sheet used) / value**power.
        frames
            Bit 0: first cut vertical; bit 1: horizontal.
        whole
            All of the demand on as little of the sheet as can be, or nothing.
        upto
            With `whole`: where the last strip must end, or before; None for the side. [search units]
        slack
            By how much a block may widen a strip that others began. [search units]
        some
            Blocks of a kind that are tried.
        levels
            Fewer than the rules allow; None for all of them.
        kept
            Strips that stay, in the one frame of `frames`; the sheet is filled beyond them.
        beyond, stop
            Strips that stay at the far side, and where they begin; only without rules for the distances of
            level-1 cuts, and not with `whole`. [search units]
        """
        start = kept[-1].end if kept else 0
        inst = self.instance
        wanted = np.asarray(demand, dtype=np.int32)
        best: Filled | None = None
        used = nodes = 0
        for frame in (0, 1):
            if not frames >> frame & 1:
                continue
            numbers, flaws = self._numbers(sheet, frame, levels or inst.levels)
            blocks = self._blocks[frame]
            live = blocks.live(wanted)
            if levels is not None and levels < 4:
                live = live[blocks.split[live] == 0]
            if numbers is None or not len(live):
                continue
            if stop is not None:
                numbers, flaws = numbers.copy(), flaws[flaws[:, 0] < stop]
                numbers[fm.LENGTH], numbers[fm.RAW_X], numbers[fm.TRIM_X] = stop, 0, 0
            limit = fm.FAR
            if whole:
                room = numbers[fm.LENGTH] if upto is None else min(upto, numbers[fm.LENGTH])
                limit = int((room - start) * numbers[fm.DEPTH]) - self._area(wanted) + 1
                if limit <= 0:
                    continue
            values = blocks.value(value)
            moves, spent = beam_flawed(
                numbers, flaws, blocks.width[live], blocks.height[live], live, blocks.split, self._bands[frame],
                blocks.uptr, blocks.utype, blocks.ucount, blocks.area, values, wanted,
                inst.arrays.codes, whole, width, lean, power, limit,
                int(numbers[fm.WASTE]) if slack is None else slack, MANY, some, start,
            )  # fmt: skip
            nodes += int(spent)
            if not len(moves):
                continue
            laid = moves[:, 0]
            worth = float(values[laid].sum())
            end = int(moves[-1, 2 + fm.X1])
            if stop is not None:
                if stop - end > numbers[fm.MOST_1]:
                    continue
                end = max((strip.end for strip in beyond if not strip.is_waste), default=end)
            make = partial(decode, moves, sheet, frame, inst, blocks, kept, beyond, stop)
            found = Filled(make, worth, end, blocks.uses(laid, len(wanted)))
            here = found.end * int(numbers[fm.DEPTH])
            if best is None or (here < used if whole else worth > best.value):
                best, used = found, here
        return best, nodes

    def _area(self, demand: Any) -> int:
        return int(np.dot(np.array(self.instance.type_area, dtype=np.int64), demand.astype(np.int64)))


def yields(instance: Instance) -> bool:
    """Whether one of the sheets with flaws yields the one panel of an instance."""
    kernel = FlawedSheets(instance)
    value = np.ones(len(instance.rects))
    return any(
        kernel.fill(k, instance.demand, value=value, width=ALONE)[0] is not None
        for k in range(len(instance.sheets))
        if needs_room(instance, k)
    )


def decode(
    moves: Any,
    sheet: int,
    frame: int,
    instance: Instance,
    blocks: Blocks,
    kept: tuple[Span, ...] = (),
    beyond: tuple[Span, ...] = (),
    stop: int | None = None,
) -> Laid:
    """The pattern of the kernel's moves on one sheet, beyond the strips that were there, up to where others begin."""
    here = instance.sheets[sheet]
    length, depth = (here.width, here.height) if frame == 0 else (here.height, here.width)
    table = moves.tolist()
    strips: list[Span] = list(kept)
    end = kept[-1].end if kept else 0
    for strip in _runs(table, (STRIP,)):
        first, last = strip[0][2:], strip[-1][2:]
        if first[fm.X1P] > end:
            strips.append(Span(first[fm.X1P]))
        end = last[fm.X1]
        rows: list[Span] = []
        top = 0
        for row in _runs(strip, tuple(k for k in (0, 1, 2) if k != COLUMN)):
            bottom, up = row[0][2 + fm.Y2P], row[-1][2 + fm.Y2]
            if bottom > top:
                rows.append(Span(bottom))
            top = up
            rows.append(Span(top, parts=_columns(row, first[fm.X1P], end, bottom, top, blocks)))
        if top < depth:
            rows.append(Span(depth))
        strips.append(Span(end, parts=tuple(rows)))
    far = length if stop is None else stop
    if end < far:
        strips.append(Span(far))
    strips += beyond
    return Laid(sheet, frame, tuple(strips))


def _runs(table: list[list[int]], begins: tuple[int, ...]) -> list[list[list[int]]]:
    """Runs of moves that each begin with one of these kinds."""
    out: list[list[list[int]]] = []
    for row in table:
        if not out or row[1] in begins:
            out.append([])
        out[-1].append(row)
    return out


def _columns(
    row: list[list[int]], left: int, right: int, bottom: int, top: int, blocks: Blocks
) -> tuple[Span, ...]:
    """The columns of a row, with the waste between them."""
    out = []
    at = left
    for move in row:
        b, x, y = move[0], move[2 + fm.X], move[2 + fm.Y]
        if x > at:
            out.append(Span(x))
        at = x + int(blocks.width[b])
        parts = [Span(y)] if y > bottom else []
        for r, h in zip(blocks.rects[b].tolist(), blocks.heights[b].tolist(), strict=True):
            if r >= 0:
                y += h
                parts.append(Span(y, r))
        if y < top:
            parts.append(Span(top))
        out.append(Span(at, parts[0].rect) if len(parts) == 1 else Span(at, parts=tuple(parts)))
    if at < right:
        out.append(Span(right))
    return tuple(out)
