"""What the README and the contributor's guide say of columns, options, commands and exit codes is so."""

from __future__ import annotations

import re
from pathlib import Path

import click
from click.testing import CliRunner

from panewright.cli.failures import Exit
from panewright.cli.main import COMMANDS, app
from panewright.io.arriving_list import COLUMNS as ARRIVING_COLUMNS
from panewright.io.filler_list import COLUMNS as FILLER_COLUMNS
from panewright.io.order_booked import HISTORY_COLUMNS
from panewright.io.panel_list import COLUMNS as PANEL_COLUMNS
from panewright.io.stock_list import COLUMNS as STOCK_COLUMNS
from panewright.io.supply_list import COLUMNS as SUPPLY_COLUMNS
from panewright.io.tank_list import TANK_COLUMNS

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def _rows(heading: str) -> list[str]:
    """First cells of the table that follows a heading."""
    part = README.split(heading, 1)[1].split("| --- | --- |\n", 1)[1]
    return [line.split("|")[1].strip() for line in part.split("\n\n", 1)[0].splitlines()]


def test_readme_lists_every_column_of_the_lists():
    assert _rows("**Tank orders**") == [c.name for c in TANK_COLUMNS]
    assert _rows("**Panel lists**") == [c.name for c in PANEL_COLUMNS]
    assert _rows("**Stock lists**") == [c.name for c in STOCK_COLUMNS]
    assert _rows("**Order histories**") == [c.name for c in HISTORY_COLUMNS]
    assert _rows("**Supply lists**") == [c.name for c in SUPPLY_COLUMNS]
    assert _rows("**Lists of what is on order**") == [c.name for c in ARRIVING_COLUMNS]
    assert _rows("**Fillers**") == [c.name for c in FILLER_COLUMNS]


def test_options_that_the_guides_mention_exist():
    known = {"--help", *(option for one in app.params for option in one.opts)}
    for name in COMMANDS:
        command = app.get_command(click.Context(app), name)
        for one in (command, *getattr(command, "commands", {}).values()):
            known |= {o for p in one.params for o in p.opts}
    ours = re.findall(r"panewright[^\n`]*", README) + re.findall(r"`(--[a-z-]+)`", README + DEVELOPERS)
    used = {o for text in ours for o in re.findall(r"(?<![\w-])--[a-z-]+", text)}
    assert used
    assert used <= known


def test_every_command_is_in_the_guides():
    for name in COMMANDS:
        assert f"panewright {name}" in README + DEVELOPERS


def test_exit_codes_are_the_same_everywhere():
    codes = sorted(int(e) for e in Exit)
    for text in (README.split("Exit codes:", 1)[1], DEVELOPERS.split("## Exit codes", 1)[1]):
        part = text.split("no plan.", 1)[0]
        assert sorted(int(n) for n in re.findall(r"(?:^|[;:\n ])\s*(\d+) ", part)) == codes


def test_the_tank_in_the_readme_is_what_the_command_shows():
    samples = ROOT / "samples"
    args = ["panels", str(samples / "week-tanks.csv"), "--shop", str(samples / "shop.toml")]
    said = CliRunner().invoke(app, args).stdout.splitlines()
    part = README.split("One tank of the sample week", 1)[1].split("```\n", 2)[1]
    assert part.startswith("H-2704: 1 tank")
    plain = [line.strip(" \u2500-") for line in said]
    assert [line for line in part.splitlines() if line.strip(" \u2500-") not in plain] == []
