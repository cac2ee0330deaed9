"""Options that mark flaws: places typed, their kinds, a drawing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

import click

from panewright.cli.options import file_path
from panewright.io.problems import Problems
from panewright.nesting.flaws import KINDS, Flaw
from panewright.nesting.text import tr
from panewright.nesting.units import LengthUnit

Decorated = TypeVar("Decorated", bound="Callable[..., Any]")


def flaw_options(command: Decorated) -> Decorated:
    """`--flaw`, `--kind` and `--drawing`."""
    for option in reversed(
        [
            click.option(
                "--flaw",
                "flaws",
                multiple=True,
                metavar="X,Y,W,H",
                help="Where a flaw lies, from the lower left corner; may be given again.",
            ),
            click.option(
                "--kind",
                "kinds",
                multiple=True,
                type=click.Choice(KINDS),
                help="Its kind: one for all flaws, or one behind each of them.",
            ),
            click.option(
                "--drawing",
                "drawing",
                type=file_path,
                metavar="FILE.dxf",
                help="Drawing of the sheet with its flaws on the layer FLAW, or on FLAW-SEED and so on.",
            ),
        ]
    ):
        command = option(command)
    return command


def typed_flaws(texts: Sequence[str], kinds: Sequence[str], unit: LengthUnit) -> list[Flaw]:
    """The flaws of `--flaw`, with the kinds of `--kind`; with decimal commas their lengths are parted by ``;``."""
    from panewright.io.flaw_text import parse_flaw
    from panewright.io.lengths import BadValue

    if kinds and len(kinds) not in (1, len(texts)):
        raise click.UsageError(tr("give --kind once, or once behind every --flaw"))
    out = []
    for place, text in enumerate(texts):
        try:
            flaw = parse_flaw(text.replace(";", " "), unit)
        except BadValue as error:
            raise click.UsageError(f"--flaw: {error.reason}; {error.remedy}") from None
        kind = kinds[min(place, len(kinds) - 1)] if kinds else flaw.kind
        out.append(Flaw(*flaw.box, kind))
    return out


def drawn_flaws(
    drawing: Path | None, kinds: Sequence[str], width: int, height: int, problems: Problems
) -> list[Flaw]:
    """The flaws of `--drawing` on a sheet of this size [nm]; those without a kind have the one of `--kind`."""
    if drawing is None:
        return []
    from panewright.io.flaw_drawing import read_flaws

    found = read_flaws(drawing, width, height, problems)
    kind = kinds[0] if len(kinds) == 1 else ""
    return [Flaw(*f.box, f.kind or kind) for f in found]
