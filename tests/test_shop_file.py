"""The shop file: what is written reads back, every setting has a sane range, all problems at once."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from panewright.cli.shop import command
from panewright.io.problems import Problems
from panewright.io.shop_defaults import shop_text
from panewright.io.shop_file import default_shop, read_shop, write_shop
from panewright.nesting.allowances import AllowanceStep
from panewright.nesting.edgework import Work
from panewright.nesting.panels import Turn
from panewright.nesting.shop import Process, Shop, UnknownGlass, split_key
from panewright.nesting.shop_table import Table
from panewright.nesting.stock import Trim
from panewright.nesting.units import LengthStyle, inch, mm

Read = Callable[[str], tuple[Shop, Problems]]
STOCK = "[stock]\n"


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Reads a shop file given as text."""

    def reader(text: str) -> tuple[Shop, Problems]:
        path = tmp_path / "shop.toml"
        path.write_text(text, encoding="utf-8")
        problems = Problems()
        return read_shop(path, problems), problems

    return reader


def test_the_written_file_is_the_built_in_shop(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    write_shop(path)
    problems = Problems()
    assert read_shop(path, problems) == default_shop()
    assert not problems.lines()
    text = path.read_text(encoding="utf-8")
    assert "\r" not in text
    for word in ("common practice", "from memory", "INVENTED", "local rules decide", "hurt"):
        assert word in text
    with pytest.raises(FileExistsError):
        write_shop(path)


def test_an_empty_file_is_the_built_in_shop_with_a_note(read: Read) -> None:
    shop, problems = read("")
    assert shop == default_shop()
    assert not problems
    assert "invented" in problems.notes[0].reason


@given(
    st.text(alphabet=st.characters(categories=("L", "N", "P", "S", "Zs")), max_size=40).filter(
        str.isprintable
    )
)
def test_any_name_reads_back(name: str) -> None:
    import tomllib

    assert tomllib.loads(shop_text(replace(default_shop(), name=name)))["name"] == name


def test_defaults_follow_the_thickness() -> None:
    # common practice (shop settings): trim 2 t, break-out max(20, 3 t), corner depth 2.5 t, 30 degrees
    shop = default_shop()
    rules = shop.rules("clear-10")
    assert (rules.break_out, rules.corner_depth, rules.least_angle) == (mm(30), mm(25), 30_000)
    assert shop.rules("clear-6").break_out == mm(20)
    assert shop.rules("clear-19").corner_depth == mm("47.5")
    assert (rules.levels, rules.last_cut, rules.least_offcut) == (3, True, (mm(600), mm(300)))
    assert (rules.longest_cut, rules.largest_piece, rules.level1_gap) == (None, None, (0, None))
    assert shop.trim("clear-4") == Trim(mm(10), mm(15), mm(10), mm(15))
    assert replace(shop, table=Table.MACHINE).trim("clear-4") == Trim(mm(20), mm(25), mm(20), mm(25))
    assert shop.trim("clear-12") == Trim(mm(24), mm(29), mm(24), mm(29))


def test_marks_and_angled_scores_follow_the_table_and_the_unit() -> None:
    # common practice (shop settings): a tape is read to half a millimetre or 1/32 in; by machine, exact
    shop = default_shop()
    rules = shop.rules("clear-10")
    assert (rules.longest_angled_cut, rules.mark_step) == (mm(2500), mm("0.5"))
    assert replace(shop, length_style=LengthStyle("in", 64)).rules("clear-10").mark_step == inch("1/32")
    rules = replace(shop, table=Table.MACHINE).rules("clear-10")
    assert (rules.longest_angled_cut, rules.mark_step) == (None, None)


@pytest.mark.parametrize(
    ("work", "thickness", "expected"),
    # common practice, from memory: straight-line edger 1 to 1.5 mm, 2 mm from 12 mm glass on
    [
        (Work.CUT, 10, "0"),
        (Work.SEAMED, 10, "0"),
        (Work.GROUND, 19, "1"),
        (Work.POLISHED, 10, "1.5"),
        (Work.POLISHED, 12, "2"),
        (Work.PENCIL, 12, "1.5"),
        (Work.BEVEL, 6, "1"),
        (Work.MITRE, 10, "1.5"),
    ],
)
def test_default_allowances(work: Work, thickness: int, expected: str) -> None:
    assert default_shop().allowance(work, mm(thickness), 22_500 if work is Work.MITRE else 0) == mm(expected)


def test_kinds_of_the_built_in_shop() -> None:
    shop = default_shop()
    assert {(k.kind, k.turn, k.mirror) for k in shop.kinds.values() if k.process is Process.CUT} == {
        ("clear", Turn.ANY, True),
        ("low-iron", Turn.ANY, True),
        ("grey-tint", Turn.ANY, True),
        ("patterned", Turn.HALF, False),
        ("coated", Turn.ANY, False),
    }
    assert shop.kind_of("toughened-10").process is Process.NOT_CUTTABLE
    assert shop.kind_of("laminated-12").process is Process.OTHER
    assert not any(key.startswith(("toughened", "laminated")) for key in shop.glass_keys())
    for kind in ("clear", "low-iron"):
        for t in (6, 8, 10, 12, 15, 19):
            assert len(shop.sizes_of(f"{kind}-{t}")) >= 3
    with pytest.raises(UnknownGlass):
        shop.kind_of("rubber-10")
    assert split_key("low-iron-2.7") == ("low-iron", mm("2.7"))


def test_settings_read(read: Read) -> None:
    shop, problems = read(
        """
name = "Quay"
currency = "USD"
dates = "month first"
[lengths]
show = "in"
finest = "1/16"
lists = "in"
[offcuts]
worth = 0.35
a_plan = 2
tolerance = 0
[lifts]
one_person_kg = 20.5
one_person_length = "6 ft"
[cutting]
table = "machine"
levels = "free"
last_cut = false
longest_score = 3300
largest_piece = [3300, 6100]
level1_distance = [100, 3500]
least_offcut = [200, 500]
least_angle = 32.5
longest_angled_score = 1500
marks = "1/16 in"
break_out = "1 1/4 in"
corner_depth = 40
trim = 22
[[for_glass]]
kind = "coated"
trim = { left = 30, right = 31, bottom = 32, top = 33 }
[[for_glass]]
thickness_from = 15
break_out = 60
longest_score = "none"
longest_angled_score = "none"
marks = "exact"
[[for_glass]]
thickness = 19
levels = 2
[allowances]
polished = 2.5
mitre = [{ off = 1 }, { from_angle = 30, off = 2 }, { from = 12, off = 3 }]
[kinds.clear]
thicknesses = [12, 6, 19]
[kinds.coated]
mirror = false
turn = "half"
thicknesses = [6]
[stock]
clear-6 = [{ size = [3210, 2250], price = 66.4512, trim = 25, lead_days = 4 }]
"""
    )
    assert not problems.lines()
    assert (shop.name, shop.currency, shop.date_order, shop.list_unit) == ("Quay", "USD", "month first", "in")
    assert shop.length_style == LengthStyle("in", 16)
    assert (shop.offcut_worth, shop.offcuts_a_plan, shop.offcut_tolerance) == (Fraction(7, 20), 2, 0)
    assert (shop.lifts.one_grams, shop.lifts.one_length) == (20_500, mm("1828.8"))
    rules = shop.rules("clear-6")
    assert (rules.levels, rules.last_cut, rules.longest_cut) == (None, False, mm(3300))
    assert rules.largest_piece == (mm(6100), mm(3300))
    assert rules.level1_gap == (mm(100), mm(3500))
    assert rules.least_offcut == (mm(500), mm(200))
    assert (rules.least_angle, rules.break_out, rules.corner_depth) == (32_500, mm("31.75"), mm(40))
    assert (rules.longest_angled_cut, rules.mark_step) == (mm(1500), inch("1/16"))
    assert (shop.rules("clear-19").longest_angled_cut, shop.rules("clear-19").mark_step) == (None, None)
    assert shop.trim("clear-6") == Trim(mm(22), mm(27), mm(22), mm(27))
    assert shop.trim("coated-6") == Trim(mm(30), mm(31), mm(32), mm(33))
    thick = shop.rules("clear-19")
    assert (thick.break_out, thick.longest_cut, thick.levels) == (mm(60), None, 2)
    assert shop.allowance(Work.POLISHED, mm(12), 0) == mm("2.5")
    assert [shop.allowance(Work.MITRE, mm(6), a) for a in (22_500, 30_000)] == [mm(1), mm(2)]
    assert shop.allowance(Work.MITRE, mm(12), 22_500) == mm(3)
    assert shop.allowances[Work.GROUND] == (AllowanceStep(allowance=mm(1)),)
    assert shop.kinds["clear"].thicknesses == (mm(6), mm(12), mm(19))
    (size,) = shop.stock_sizes
    assert (size.price, size.lead_days) == (664_512, 4)
    assert size.trim == Trim(mm(25), mm(30), mm(25), mm(30))


@pytest.mark.parametrize(
    ("text", "column"),
    [
        ("[cutting]\nbreak_out = 0", "cutting.break_out"),
        ("[cutting]\ntrim = 500", "cutting.trim"),
        ("[cutting]\ntrim = { left = 5 }", "cutting.trim.right"),
        ("[cutting]\nlevels = 7", "cutting.levels"),
        ("[cutting]\nlevels = true", "cutting.levels"),
        ("[cutting]\nbreak_out = nan", "cutting.break_out"),
        ("[cutting]\nbreak_out = inf", "cutting.break_out"),
        ("[cutting]\nbreak_out = 1e300000", "cutting.break_out"),
        ("[cutting]\nbreak_out = 1e-300000", "cutting.break_out"),
        ("[cutting]\nbreak_out = [30]", "cutting.break_out"),
        ("[cutting]\nlast_cut = 1", "cutting.last_cut"),
        ("[cutting]\nleast_angle = 5", "cutting.least_angle"),
        ("[cutting]\nlongest_angled_score = 200", "cutting.longest_angled_score"),
        ("[cutting]\nlongest_angled_score = 'long'", "cutting.longest_angled_score"),
        ("[cutting]\nmarks = 0", "cutting.marks"),
        ("[cutting]\nmarks = 3", "cutting.marks"),
        ("[cutting]\nmarks = 'none'", "cutting.marks"),
        ("[cutting]\nleast_offcut = [600]", "cutting.least_offcut"),
        ("[cutting]\nlevel1_distance = [500, 200]", "cutting.level1_distance"),
        ("[cutting]\ntable = 'robot'", "cutting.table"),
        ("cutting = 5", "cutting"),
        ("[allowances]\npolished = 150", "allowances.polished"),
        ("[allowances]\npolished = -1", "allowances.polished"),
        ("[allowances]\npolished = [{ from = 12 }]", "allowances.polished.off"),
        ("[allowances]\npolished = [3]", "allowances.polished"),
        ("[allowances]\npolished = []", "allowances.polished"),
        ("[allowances]\npolished = [{ from = 12, off = 2.0 }]", "allowances.polished"),
        ("[allowances]\nmitre = [{ from_angle = 30, off = 2.0 }]", "allowances.mitre"),
        (
            "[allowances]\npolished = [{ off = 1 }, { from = 8, off = 2 }, { from = 8, off = 3 }]",
            "allowances.polished",
        ),
        ("[offcuts]\nworth = 2", "offcuts.worth"),
        ("[offcuts]\na_plan = 1.5", "offcuts.a_plan"),
        ("[lifts]\none_person_kg = 80\ntwo_persons_kg = 50", "lifts.two_persons_kg"),
        ("currency = 'euro'", "currency"),
        ("name = 5", "name"),
        ("dates = 'whatever'", "dates"),
        ("[kinds.Clear]\nthicknesses = [6]", "kinds.Clear"),
        ("[kinds.clear]\nthicknesses = []", "kinds.clear.thicknesses"),
        ("[kinds.clear]\nthicknesses = [6, 600]", "kinds.clear.thicknesses"),
        ("[stock]\nclear-7 = []", "stock.clear-7"),
        ("[stock]\ntoughened-6 = []", "stock.toughened-6"),
        ("[stock]\nclear-6 = 5", "stock.clear-6"),
        ("[stock]\nclear-6 = [{ size = [3210, 2250] }]", "stock.clear-6.price"),
        ("[stock]\nclear-6 = [{ size = [3210, 22500], price = 1 }]", "stock.clear-6.size"),
        ("[stock]\nclear-6 = [{ size = [3210, 2250], price = 1.00005 }]", "stock.clear-6.price"),
        ("[[for_glass]]\nkind = 'rubber'", "for_glass 1.kind"),
        ("for_glass = 3", "for_glass"),
    ],
)
def test_settings_out_of_range_are_errors(read: Read, text: str, column: str) -> None:
    _, problems = read(text + "\n")
    assert column in {p.column for p in problems.errors}, problems.lines()
    assert all(p.remedy for p in problems.errors)


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("[cutting]\nbreakout = 30", "break_out"),
        ("curency = 'EUR'", "currency"),
        ("[alowances]\ncut = 0", "allowances"),
        ("[kinds.clear]\nthicknesses = [6]\nmiror = true", "mirror"),
        ("[stock]\nclear-6 = [{ size = [3210, 2250], prize = 1, price = 1 }]", "price"),
    ],
)
def test_unknown_settings_name_the_nearest_known_one(read: Read, text: str, hint: str) -> None:
    _, problems = read(text + "\n")
    assert [p.remedy for p in problems.errors] == [f"did you mean {hint}?"]


def test_all_problems_at_once(read: Read) -> None:
    _, problems = read("curency = 'EUR'\n[cutting]\nbreak_out = 0\nlevels = 9\n[offcuts]\nworth = 7\n")
    assert len(problems.errors) == 4


@pytest.mark.parametrize(
    "content",
    [b"name = ", b"\xff\xfe", b"a = 1\na = 2", b"x = " + b"[" * 5000, b"n = " + b"9" * 5000, b"\0"],
)
def test_what_is_no_toml_is_a_problem(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "shop.toml"
    path.write_bytes(content)
    problems = Problems()
    read_shop(path, problems)
    assert len(problems.errors) == 1
    assert problems.errors[0].remedy


def test_the_line_of_a_syntax_error_is_named(read: Read) -> None:
    _, problems = read('currency = "EUR"\n[cutting]\nlevels = = 3\n')
    assert problems.errors[0].row == 3


def test_missing_file_and_folder(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        problems = Problems()
        read_shop(path, problems)
        assert len(problems.errors) == 1


def test_shop_command(tmp_path: Path) -> None:
    path = str(tmp_path / "shop.toml")
    runner = CliRunner()
    assert runner.invoke(command, ["write", path]).exit_code == 0
    again = runner.invoke(command, ["write", path])
    assert again.exit_code != 0
    assert runner.invoke(command, ["write", path, "--replace"]).exit_code == 0
    assert runner.invoke(command, ["check", path]).exit_code == 0
    Path(path).write_text("worth = 3\n", encoding="utf-8")
    checked = runner.invoke(command, ["check", path, "--json"])
    assert checked.exit_code == 3
    assert json.loads(checked.stdout)["errors"] == 1
