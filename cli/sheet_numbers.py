"""Sheet numbers on the command line that keep their order: ``3,1-2``."""

from __future__ import annotations

import click

from panewright.cli.options import MOST_NUMBERS
from panewright.nesting.text import tr


def numbers_in_order(text: str, ctx: click.Context, parameter: click.Parameter, wrong: str) -> list[int]:
    """The numbers as they stand.

    Parameters
    ----------
    text
        As in ``3,1-2``.
    ctx, parameter
        For the error.
    wrong
        What to say where it is no list of numbers.

    Raises
    ------
    click.BadParameter
        No numbers, or far too many.
    """
    out: list[int] = []
    for part in text.split(","):
        first, dash, last = (word.strip() for word in part.partition("-"))
        ends = [first, last] if dash else [first]
        if not all(e.isascii() and e.isdecimal() and len(e) <= 6 and int(e) for e in ends):
            raise click.BadParameter(wrong, ctx, parameter)
        low, high = int(ends[0]), int(ends[-1])
        if low > high or high - low >= MOST_NUMBERS:
            raise click.BadParameter(tr("{part} is no range of sheets", part=part.strip()), ctx, parameter)
        out += range(low, high + 1)
    return out
