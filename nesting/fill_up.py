"""Fills a sheet that holds certain panels up with others, so that none of the certain ones is lost."""

from __future__ import annotations

from collections.abc import Generator, Mapping, Sequence
from typing import Any

from .optimizer.pattern import Pattern
from .optimizer.runner import Runner
from .slices import to_the_end

BOOSTS = (1000.0, 30.0, 4.0)
"""How many times as much as the most valuable other panel one of the sheet's own counts, tried in turn."""
WIDTH = 60
LEAN = 0.1


def refill(
    runner: Runner,
    pattern: Pattern,
    others: Sequence[int],
    values: Any,
    *,
    width: int = WIDTH,
) -> list[Pattern]:
    """Patterns of the same sheet that hold all that this one holds, and perhaps some of the others.

    Parameters
    ----------
    runner
        The kernel.
    pattern
        The sheet.
    others
        How many more of each type may be added.
    values
        Of every rectangle, at most about 1, for what is added.
    width
        Of the beams.
    """
    return refill_content(runner, pattern.sheet, pattern.uses(runner.instance), others, values, width=width)


def refill_content(
    runner: Runner,
    sheet: int,
    own: Mapping[int, int],
    others: Sequence[int],
    values: Any,
    *,
    width: int = WIDTH,
) -> list[Pattern]:
    """Patterns of a sheet that hold all of `own` (types with their number), and perhaps some of the others."""
    instance = runner.instance
    demand = list(others)
    for kind, count in own.items():
        demand[kind] += count
    part = runner.part(demand)
    found = []
    for boost in BOOSTS:
        value = values.copy()
        for i, rect in enumerate(instance.rects):
            if any(kind in own for kind, _ in rect.uses):
                value[i] += boost
        filled = runner.run(part, [sheet], value=value, lean=LEAN, width=width, fill=True)
        for new in filled or ():
            uses = new.uses(instance)
            if all(uses[kind] >= count for kind, count in own.items()):
                found.append(new)
    return found


def area_of(runner: Runner, pattern: Pattern) -> int:
    """Area of the panels of a pattern. [search units squared]"""
    return sum(runner.type_area[t] * c for t, c in pattern.uses(runner.instance).items())


def fill_up(runner: Runner, patterns: Sequence[Pattern], others: Sequence[int]) -> list[Pattern]:
    """The same sheets with as much as possible of the others, the emptiest filled first.

    Parameters
    ----------
    runner
        The kernel of an instance that holds all of the types.
    patterns
        Sheets, each of which keeps what it holds.
    others
        How many of each type may be added, all sheets together.
    """
    return to_the_end(filling_up(runner, patterns, others))


def filling_up(
    runner: Runner, patterns: Sequence[Pattern], others: Sequence[int], *, least: int = 0
) -> Generator[None, None, list[Pattern]]:
    """The same as `fill_up` for sheets with so much free area [per cent] or more; yields after every sheet."""
    left = list(others)
    out = list(patterns)
    room = [runner.instance.sheets[p.sheet].area for p in out]
    order = sorted(range(len(out)), key=lambda i: (area_of(runner, out[i]) - room[i], i))
    for i in order:
        if not any(left):
            break
        if (room[i] - area_of(runner, out[i])) * 100 < least * room[i]:
            continue
        before = out[i].uses(runner.instance)
        tried = refill(runner, out[i], left, runner.value(1.0))
        best = max([out[i], *tried], key=lambda p: area_of(runner, p))
        for kind, count in best.uses(runner.instance).items():
            left[kind] -= count - before[kind]
        out[i] = best
        yield
    return out
