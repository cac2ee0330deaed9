"""Bring the catalogues of messages up to date: ``python -m panewright.cli.catalogue`` after any change of a text.

For whoever changes the program; it works on the source that the package is run from.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Final

import click

from panewright.cli.click_words import COUNTED, WORDS
from panewright.cli.main import COMMANDS, ENGLISH_ONLY, app
from panewright.cli.output import out
from panewright.cli.translated import help_texts
from panewright.io import palette, tank_figures
from panewright.io.dxf_reading import OTHER_UNITS
from panewright.io.language import DOMAIN, LOCALE
from panewright.io.message_sources import Message, messages_of
from panewright.io.po_file import PLURALS, Entry, mo_bytes, po_text, read_po
from panewright.io.record_file import What
from panewright.io.tank_shape import SHAPES
from panewright.nesting.breakage.size_class import SizeClass
from panewright.nesting.edgework import Work
from panewright.nesting.flaws import KINDS as FLAW_KINDS
from panewright.nesting.happened import AtStep
from panewright.nesting.key_words import BOUNDS, RULES, STOPS
from panewright.nesting.ledger import SheetState
from panewright.nesting.panels import Purpose
from panewright.nesting.pieces import Direction
from panewright.nesting.shop_tanks import WallsAt
from panewright.nesting.steps import Caution, End, Lift
from panewright.nesting.stock import Side
from panewright.nesting.tanks.tank import Water

ROOT: Final = LOCALE.parent.parent


def _members(kind: type[Enum]) -> Callable[[], Iterable[str]]:
    return lambda: [one.value for one in kind]


def _table(module: str, name: str) -> Callable[[], Iterable[str]]:
    """An enumeration or a list of texts, imported when the source asks for it."""

    def texts() -> Iterable[str]:
        found = getattr(importlib.import_module(f"panewright.{module}"), name)
        return _members(found)() if isinstance(found, type) else found

    return texts


_HEADINGS: Final = (*tank_figures.CHECK_HEADINGS, *tank_figures.SINGLE_HEADINGS, *tank_figures.PIECE_HEADINGS)
DECLARED: Final[Mapping[str, Callable[[], Iterable[str]]]] = {
    **{
        f"{name}.value": _members(kind)
        for kind, names in {
            Direction: ("part", "edge", "square_to"),
            End: ("end",),
            Lift: ("lift",),
            Caution: ("caution",),
            Work: ("work",),
            Purpose: ("purpose",),
            WallsAt: ("walls",),
            Water: ("water",),
            Side: ("side",),
            AtStep: ("step", "at_step"),
            What: ("what", "other"),
            SheetState: ("state",),
            SizeClass: ("size",),
        }.items()
        for name in names
    },
    "edge.small_face": lambda: ("up", "down"),
    "cli/tank_tables.py heading": lambda: _HEADINGS,
    "cli/tank_tables.py PIECE_HEADINGS[i]": lambda: _HEADINGS,
    "layer.words": lambda: [x.words for x in (*palette.LAYERS, *palette.SHARES) if x.words],
    **dict.fromkeys(("self.rule", "row.rule", "rule.rule"), lambda: RULES),
    "one.bound.by": lambda: BOUNDS,
    "outcome.stopped_by": lambda: STOPS,
    # a warning of a plan file that holds no value is in the catalogue anyhow
    "shown(line, 300)": tuple,
    "cli/main.py line": lambda: [line for _, line in COMMANDS.values()],
    "io/dxf_reading.py name": lambda: OTHER_UNITS.values(),
    "shape.kind": lambda: SHAPES,
    "spot.kind or 'other'": lambda: FLAW_KINDS,
    "spot.kind": lambda: FLAW_KINDS,
    "one.kind or 'other'": lambda: FLAW_KINDS,
    "lift_of(sheet, shop).value": _members(Lift),
    "machine.value": _table("nesting.day.edging", "Machine"),
    "tool.value": _table("nesting.day.tooling", "Tool"),
    "io/day_words.py sides[i]": _members(Side),
    "by.value": _table("nesting.remake.changes", "By"),
    "sign.value": _table("io.step_signs", "Sign"),
    "io/step_signs.py word": lambda: [w for _, w in _table("io.step_signs", "OF_CAUTION")().values()],  # type: ignore[attr-defined]
    "io/book_cover.py head": lambda: [row[0] for row in _table("io.book_cover", "_HEADS")()],
    "io/book_waste.py head": _table("io.book_waste", "_HEADS"),
    "io/table_data.py a.value": _table("io.record_code", "AtStep"),
    "p.state.value": _table("nesting.ledger", "PlanState"),
    "v.value.basis.value": _table("io.store.valuing", "Basis"),
    # the help of commands is collected apart
    "cli/translated.py text": tuple,
    "cli/translated.py parameter.help": tuple,
}
"""Expressions in the source that stand for the messages of a table; a plain name with the module it is in."""


@cache
def messages() -> list[Message]:
    """Every message of the program in the order of its modules, then the help of commands and click's own words."""
    found: list[Message] = []
    for layer in ("nesting", "io", "cli"):
        for path in sorted((ROOT / layer).rglob("*.py")):
            if not path.name.startswith(ENGLISH_ONLY) and path.name != "text.py":
                found += messages_of(path, path.relative_to(ROOT).as_posix(), DECLARED)
    commands = [
        app,
        *(app.get_command(click.Context(app), name) for name in COMMANDS if name != ENGLISH_ONLY),
    ]
    for command in commands:
        if command is not None:
            found += [Message(one=text, many=None, place="help") for text in help_texts(command)]
    found += [Message(one=text, many=None, place="click") for text in WORDS]
    found += [Message(one=one, many=many, place="click") for one, many in COUNTED]
    return found


def entries() -> list[Entry]:
    """The messages, each once, with all places that use it."""
    places: dict[tuple[str, str | None], dict[str, None]] = {}
    for message in messages():
        places.setdefault((message.one, message.many), {})[message.place] = None
    counted = {one: many for one, many in places if many is not None}
    out = []
    for (one, many), where in places.items():
        if many is None and one in counted:
            continue  # gettext finds the first form of the counted one
        out.append(Entry(one=one, many=many, places=tuple(sorted(where))))
    return out


def with_translations(wanted: Iterable[Entry], said: Mapping[tuple[str, str | None], Entry]) -> list[Entry]:
    """The entries with what a .po file says of them; what it does not know is left empty."""
    out = []
    for entry in wanted:
        known = said.get(entry.key)
        forms = known.said if known else ("",) * (1 if entry.many is None else 2)
        out.append(Entry(one=entry.one, many=entry.many, places=entry.places, said=forms))
    return out


def catalogue_files(more: Mapping[tuple[str, str | None], Entry] | None = None) -> dict[Path, bytes]:
    """What the files of all catalogues should hold, with the translations that they hold now.

    Parameters
    ----------
    more
        Translations for what they lack.
    """
    wanted = entries()
    files = {LOCALE / f"{DOMAIN}.pot": po_text(with_translations(wanted, {})).encode()}
    for code in PLURALS:
        folder = LOCALE / code / "LC_MESSAGES"
        source = folder / f"{DOMAIN}.po"
        said = read_po(source.read_text(encoding="utf-8")) if source.is_file() else {}
        said = {**(more or {}), **{key: entry for key, entry in said.items() if all(entry.said)}}
        done = with_translations(wanted, said)
        files[source] = po_text(done, code).encode()
        files[folder / f"{DOMAIN}.mo"] = mo_bytes(done, code)
    return files


def main(arguments: Sequence[str] = ()) -> None:
    """Write the catalogues anew and name the messages that want a translation.

    Parameters
    ----------
    arguments
        Names of .po files with further translations, such as a translator sends or a merge leaves.
    """
    more: dict[tuple[str, str | None], Entry] = {}
    for name in arguments:
        more |= read_po(Path(name).read_text(encoding="utf-8"))
    for path, content in catalogue_files(more).items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
        if path.suffix == ".po":
            missing = [e.one for e in read_po(content.decode()).values() if not all(e.said)]
            out(f"{path.parent.parent.name}: {len(missing)} messages want a translation")
            for one in missing:
                out(f"  {one}")


if __name__ == "__main__":
    main(sys.argv[1:])
