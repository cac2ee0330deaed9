"""Languages: the catalogues are whole and fresh, a German run says nothing in English, and no file for programs changes."""

from __future__ import annotations

import gettext
import json
import re
import textwrap
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner

from panewright.cli import language as choice
from panewright.cli.catalogue import catalogue_files, entries
from panewright.cli.main import COMMANDS, ENGLISH_ONLY, app
from panewright.cli.summary import gap_text, per_cent
from panewright.io.language import DOMAIN, LOCALE, NAMES, language
from panewright.io.message_sources import UndeclaredMessage, messages_of
from panewright.io.panel_scene import panel_scene
from panewright.io.po_file import PLURALS, Entry, mo_bytes, po_text, read_po
from panewright.io.problems import Problems
from panewright.io.scene_model import Text
from panewright.io.sequence_csv import sequence_csv
from panewright.io.sequence_files import screen_tables, sequence_text
from panewright.io.sheet_scene import sheet_scene
from panewright.io.shop_file import default_shop, read_shop
from panewright.io.step_words import show_mass
from panewright.nesting import key_words
from panewright.nesting.plan import Plan
from panewright.nesting.text import ENGLISH, Language, current_language, tr, tr_count, use_language
from panewright.nesting.units import EXACT, INCH, MM, mm, show, show_money, show_size, use_style

ROOT = Path(__file__).resolve().parent.parent
CODES = sorted(set(NAMES) - {"en"})


@pytest.fixture(autouse=True)
def english() -> Iterator[None]:
    use_language(ENGLISH)
    use_style(MM)
    yield
    use_language(ENGLISH)
    use_style(MM)


@pytest.fixture
def german() -> None:
    use_language(language("de"))


def catalogue(code: str) -> list[Entry]:
    path = LOCALE / code / "LC_MESSAGES" / f"{DOMAIN}.po"
    return list(read_po(path.read_text(encoding="utf-8")).values())


@lru_cache
def wanted() -> tuple[Entry, ...]:
    return tuple(entries())


def fields(text: str) -> set[str]:
    return set(re.findall(r"\{[a-z_0-9]*(?:![a-z])?(?::[^{}]*)?\}", text))


# ---------------------------------------------------------------- the catalogues


def test_the_catalogues_are_fresh() -> None:
    for path, content in catalogue_files().items():
        held = path.read_bytes()
        if path.suffix != ".mo":
            held = held.replace(b"\r\n", b"\n")  # git on Windows
        assert held == content, f"run python -m panewright.cli.catalogue ({path.name} is not up to date)"


@pytest.mark.parametrize("code", CODES)
def test_every_message_is_translated_with_the_same_fields(code: str) -> None:
    found = catalogue(code)
    assert {e.key for e in found} == {e.key for e in wanted()}
    assert len(found) > 1000
    for entry in found:
        forms = (entry.one,) if entry.many is None else (entry.one, entry.many)
        assert len(entry.said) == len(forms)
        for english, said in zip(forms, entry.said, strict=True):
            assert said.strip(), english
            assert fields(said) == fields(english), (english, said)
            assert said.startswith(" ") == english.startswith(" ")
            # of the tail of a message the eye sees as much as of its words
            assert [said[-1] == sign for sign in ".:? "] == [english[-1] == sign for sign in ".:? "], said


@pytest.mark.parametrize("code", CODES)
def test_every_message_can_be_filled_in(code: str) -> None:
    use_language(language(code))
    for entry in catalogue(code):
        form = entry.many or entry.one
        found = re.findall(r"\{([a-z_][a-z_0-9]*)(?:![a-z])?(:[^{}]*)?\}", entry.one + form)
        values: dict[str, Any] = {name: 1.5 if spec else f"<{name}>" for name, spec in found}
        if not values:
            continue
        said = tr(entry.one, **values)
        if entry.many is not None:
            values.pop("count", None)
            said = tr_count(entry.one, entry.many, 2, **values)
        here = [name for name in values if re.search(rf"\{{{name}[!:}}]", form)]
        assert all(values[name] in said for name in here if isinstance(values[name], str)), said


@pytest.mark.parametrize("code", CODES)
def test_the_librarys_gettext_reads_what_we_compile(code: str) -> None:
    # the reader of Python's standard library, written by others after the GNU gettext manual
    with (LOCALE / code / "LC_MESSAGES" / f"{DOMAIN}.mo").open("rb") as stream:
        read = gettext.GNUTranslations(stream)
    assert read.info()["content-type"] == "text/plain; charset=UTF-8"
    assert read.info()["plural-forms"] == PLURALS[code]
    for entry in catalogue(code):
        if entry.many is None:
            assert read.gettext(entry.one) == entry.said[0]
        else:
            # German takes the singular for one alone (GNU gettext manual, "Additional functions for plural forms")
            assert [read.ngettext(entry.one, entry.many, n) for n in (0, 1, 2, 21)] == [
                entry.said[1],
                entry.said[0],
                entry.said[1],
                entry.said[1],
            ]


def test_a_po_file_comes_back_as_it_was_written() -> None:
    there = [
        Entry(one='a "b" \\ {c}', said=("ä\n\tö\n",), places=("x.py", "y.py")),
        Entry(one="{count} x", many="{count} xs", said=("ein x", "{count} xe")),
        Entry(one="not yet"),
    ]
    assert list(read_po(po_text(there, "de")).values()) == there
    for bad in (
        'msgid "a"\nmsgstr "b"\n\nmsgid "a"\nmsgstr "c"\n',
        '#, fuzzy\nmsgid "a"\nmsgstr "b"\n',
        "x\n",
    ):
        with pytest.raises(ValueError):
            read_po(bad)
    assert b"not yet" not in mo_bytes(there, "de")


def test_translations_from_elsewhere_fill_gaps_and_nothing_else() -> None:
    first, second = catalogue("de")[:2]
    more = {
        first.key: replace(first, said=("otherwise",)),
        ("no message", None): Entry(one="no message", said=("x",)),
    }
    assert catalogue_files(more) == catalogue_files()
    assert first.said != ("otherwise",) and second.said[0]


def test_messages_are_found_in_source_and_none_in_silence(tmp_path: Path) -> None:
    path = tmp_path / "some.py"
    path.write_text(
        textwrap.dedent(
            """
            TABLE: Final = {1: "one of a table", 2: "two of it"}

            class Kind(Enum):
                A = "a member"

                @property
                def words(self):
                    return tr(self.value)

            def f(x, n):
                template = "yes {x}" if x else "no"
                tr_count("{count} sheet", "{count} sheets", n)
                return tr(template, x=x), tr(TABLE[n]), tr("plain"), tr(x.edge.value)
            """
        ),
        encoding="utf-8",
    )
    found = messages_of(path, "some.py", {"edge.value": lambda: ["left"]})
    assert [m.one for m in found] == [
        "a member",
        "{count} sheet",
        "yes {x}",
        "no",
        "one of a table",
        "two of it",
        "plain",
        "left",
    ]
    for line in ("tr(f'sheet {n}')", "tr(words)", "tr('a' + 'b')", "tr_count(one, 'many', 2)"):
        path.write_text(line, encoding="utf-8")
        with pytest.raises(UndeclaredMessage):
            messages_of(path, "some.py", {})


def test_every_rule_and_bound_has_words() -> None:
    source = "".join(
        path.read_text(encoding="utf-8")
        for path in [*sorted((ROOT / "nesting").rglob("*.py")), ROOT / "io" / "plan_check.py"]
        # rules of another kind, with words of their own in the reports
        if path.parent.name not in ("assortment", "week_sheets")
    )
    rules = set(re.findall(r'\b(?:bad|say|report)\(\s*"([a-z0-9 -]+)",\s*(?:tr|text)\b', source))
    rules |= set(re.findall(r'\brule="([^"]+)"', source)) | set(
        re.findall(r'return "([a-z -]+)", tr', source)
    )
    rules |= set(re.findall(r'\bRulePrice\("([^"]+)"', source))
    rules |= set(re.findall(r'cases\.append\(\("([^"]+)"', source))
    assert len(rules) > 30
    assert rules <= set(key_words.RULES)
    bounds = set(re.findall(r'\bby="([^"]+)"', source)) | set(re.findall(r'\bby = "([^"]+)"', source))
    assert bounds and bounds <= set(key_words.BOUNDS)
    said = {e.one for e in wanted()}
    assert {*key_words.RULES, *key_words.BOUNDS, *key_words.STOPS} <= said


# ---------------------------------------------------------------- which language


def first_line(runner: CliRunner, *args: str, env: dict[str, str] | None = None) -> str:
    return runner.invoke(app, list(args), env=env).output.splitlines()[0]


def test_option_goes_before_environment_before_shop_file_before_english(tmp_path: Path) -> None:
    runner = CliRunner()
    (tmp_path / "shop.toml").write_text('language = "de"\n', encoding="utf-8")
    shop = ("orders", "check", str(tmp_path / "no.csv"), "--shop", str(tmp_path / "shop.toml"))
    assert "no such file" in runner.invoke(app, ["orders", "check", "no.csv"]).output
    assert "diese Datei gibt es nicht" in runner.invoke(app, list(shop)).output
    env = {choice.VARIABLE: "en"}
    assert "no such file" in runner.invoke(app, list(shop), env=env).output
    assert "diese Datei" in runner.invoke(app, ["--language", "de", *shop], env=env).output
    assert current_language() is ENGLISH  # nothing stays behind for whoever calls us as a library


def test_the_systems_own_language_does_not_count() -> None:
    env = {"LANGUAGE": "de", "LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"}
    assert first_line(CliRunner(), "--help", env=env).startswith("Usage:")


@pytest.mark.parametrize("args", [["--language", "de", "--help"], ["--help", "--language=de"]])
def test_help_is_in_the_language_wherever_the_option_stands(args: list[str]) -> None:
    assert first_line(CliRunner(), *args).startswith("Aufruf:")


def test_a_language_that_there_is_not_is_refused(tmp_path: Path) -> None:
    runner = CliRunner()
    for args, env in ((["--language", "xx", "demo"], {}), (["demo"], {choice.VARIABLE: "xx"})):
        result = runner.invoke(app, args, env=env)
        assert (result.exit_code, "'xx'" in result.output) == (2, True)
    path, problems = tmp_path / "shop.toml", Problems()
    path.write_text('language = "xx"\n', encoding="utf-8")
    assert read_shop(path, problems).language == "en"
    assert [(p.column, p.value) for p in problems.errors] == [("language", "xx")]


def test_what_is_wrong_with_a_shop_file_is_said_in_its_language(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text('language = "de"\ncolour = 1\n', encoding="utf-8")
    result = CliRunner().invoke(app, ["shop", "check", str(path)])
    assert result.exit_code == 3
    assert "diese Einstellung ist nicht bekannt" in result.output


def test_help_of_every_command_is_german_and_the_english_one_comes_back() -> None:
    runner = CliRunner()
    texts = {e.one: e.said[0] for e in catalogue("de") if e.many is None}
    for name in [n for n in COMMANDS if n != ENGLISH_ONLY]:
        command = app.get_command(click.Context(app), name)
        assert command is not None
        for one in ([name], *([name, sub] for sub in getattr(command, "commands", {}))):
            english = runner.invoke(app, [*one, "--help"]).output
            german = runner.invoke(app, ["--language", "de", *one, "--help"]).output
            assert english == runner.invoke(app, [*one, "--help"]).output
            for words in ("Usage:", "Options:", "Commands:", "Show this message", "default:", "required"):
                assert words not in german
            assert "Optionen:" in german and "Diese Hilfe zeigen" in german
        first = command.help or ""
        assert texts[first] != first


def test_measurements_speak_english() -> None:
    assert first_line(CliRunner(), "--language", "de", ENGLISH_ONLY, "--help").startswith("Usage:")


# ---------------------------------------------------------------- numbers


def test_numbers_for_people_have_the_signs_of_the_language(german: None) -> None:
    # decimal comma and thousands point of German (DIN 1333 for the comma; the point is common practice)
    assert show(mm("1203.5")) == "1203,5 mm"
    assert show_size(mm("1203.5"), mm(600)) == "1203,5 x 600 mm"
    assert show(mm("-0.25"), unit=False) == "-0,25"
    assert show_money(12_345_678_900, "EUR") == "1.234.567,89 EUR"
    assert show_mass(12_340) == "12,4 kg"
    assert (per_cent(mm(1) * 0 + default_shop().offcut_worth), gap_text(None)) == ("50,0 %", "-")
    assert tr("{stress:.2f} N/mm2", stress=4.5) == "4,50 N/mm2"
    assert show(mm("600.075"), INCH) == '23-5/8"'


def test_names_and_files_keep_the_point(german: None) -> None:
    assert show(mm("1203.5"), EXACT, unit=False) == "1203.5"
    stock = replace(default_shop().stock_sizes[0], width=mm("3210.5"))
    assert stock.name.endswith(" 3210.5x2250")


# ---------------------------------------------------------------- what people read

MARKED = Language(
    code="en",
    translate=lambda message: f"\x02{message}\x03" if message else "",
    translate_count=lambda one, many, count: f"\x02{one if count == 1 else many}\x03",
)
"""Every text of the catalogue between two signs: what stands outside them never went through it."""


def outside(text: str) -> set[str]:
    """The words of a text that are in no message."""
    depth, rest = 0, []
    for sign in text:
        depth += (sign == "\x02") - (sign == "\x03")
        rest.append(sign if not depth and sign not in "\x02\x03" else " ")
    assert not depth
    return set(re.findall(r"[^\W\d_]{2,}", "".join(rest)))


def drawn(plan: Plan) -> str:
    scenes = [sheet_scene(plan, layout) for layout in plan.layouts]
    scenes += [panel_scene(plan, panel) for panel in plan.panels]
    return "\n".join(part.text for scene in scenes for part in scene.parts if isinstance(part, Text))


@pytest.mark.parametrize("style", [MM, INCH])
@pytest.mark.parametrize("name", ["hand_plan", "pentagon_plan", "octagon_plan", "inch_plan", "trapezoids"])
def test_every_text_of_sequence_and_drawings_goes_through_the_catalogue(
    name: str, style: Any, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan: Plan = request.getfixturevalue(name)
    use_style(style)
    use_language(MARKED)
    # lines are not wrapped here, since a message may then be cut in two
    monkeypatch.setattr("panewright.io.sequence_files.textwrap.wrap", lambda text, *_, **__: [text])
    data = f"{plan.id} " + " ".join(f"{p.order} {p.name} {p.glass} {p.note}" for p in plan.panels)
    data += " ".join(f"{x.stock} {leaf.offcut}" for x in plan.layouts for leaf in x.leaves)
    known = set(re.findall(r"[^\W\d_]{2,}", data)) | {"mm"}
    for text in (sequence_text(plan), drawn(plan)):
        assert "\x02" in text
        assert outside(text) <= known
        assert style.unit == "mm" or "mm" not in outside(text) or "mm" in data


def english_scraps() -> list[str]:
    """Stretches of English messages, long enough to be no chance, that no German one holds."""
    found = catalogue("de")
    german = " ".join(" ".join(" ".join(form.split()) for form in e.said) for e in found)
    scraps = {
        " ".join(part.split())
        for e in found
        for form in (e.one, e.many or "")
        for part in re.split(r"\{[^{}]*\}", form)
    }
    return sorted(s for s in scraps if len(s) >= 9 and " " in s and s not in german)


def scraps_in(text: str) -> list[str]:
    flat = " ".join(text.split())
    return [s for s in english_scraps() if s in flat]


@pytest.fixture(scope="module")
def lists(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("lists")
    rows = [
        "order,panel,quantity,width,height,corners,glass,thickness,edges,due",
        "left,front,2,600,400,,clear,10,polished,2027-03-09",
        "sheet 3,<b>Größe</b> 1.5,2,500.5,300.25,,clear,10,ground,",
        "A,{order} {name},1,,,0 0|700 0|500 450|0 450,clear,10,seamed,",
        "A,huge,1,5000,2900,,clear,10,cut,",
        "A,narrow,1,900,15,,clear,10,cut,",
    ]
    (folder / "list.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    stock = "kind,glass,thickness,width,height,quantity,price,buy\nsheet,clear,10,3210,2250,2,61.40,yes\n"
    (folder / "stock.csv").write_text(stock, encoding="utf-8")
    return folder


def planned(folder: Path, code: str, *more: str) -> Any:
    args = ["--language", code, "plan", str(folder / "list.csv"), "--stock", str(folder / "stock.csv")]
    args += ["--rest", "--effort", "3", "--out", str(folder / code), "--replace", *more]
    result = CliRunner().invoke(app, args)
    assert result.exit_code == 1, result.output  # two panels cannot be placed
    return result


def without_texts(data: Any) -> Any:
    """A plan file without the four keys that hold sentences."""
    if isinstance(data, dict):
        return {
            k: "" if k in ("reason", "warnings", "class", "notes") else without_texts(v)
            for k, v in data.items()
        }
    return [without_texts(x) for x in data] if isinstance(data, list) else data


def keys_of(data: Any, path: str = "") -> set[str]:
    if isinstance(data, dict):
        return {f"{path}.{k}" for k in data} | {x for k, v in data.items() for x in keys_of(v, f"{path}.{k}")}
    return {x for one in data for x in keys_of(one, path)} if isinstance(data, list) else set()


def test_a_german_run_says_nothing_in_english_and_changes_no_plan(lists: Path) -> None:
    english = planned(lists, "en", "--steps", "--waste", "--why")
    german = planned(lists, "de", "--steps", "--waste", "--why")
    assert len(scraps_in(english.output)) > 40  # the test sees English where there is some
    assert scraps_in(german.output) == []
    assert "Mindestbrechmaß" in german.output and "Schnittfeste Handschuhe" in german.output

    plans = {code: json.loads((lists / code / "plan.json").read_bytes()) for code in ("en", "de")}
    assert plans["en"]["plan"] == plans["de"]["plan"]
    assert without_texts(plans["en"]) == without_texts(plans["de"])
    assert [u["rule"] for u in plans["de"]["unplaced"]] == [u["rule"] for u in plans["en"]["unplaced"]]

    names = {code: sorted(p.name for p in (lists / code).iterdir()) for code in ("en", "de")}
    assert names["en"] == names["de"]
    for name in names["en"]:
        one, other = ((lists / code / name).read_text(encoding="utf-8") for code in ("en", "de"))
        if name.endswith(".csv"):
            assert one.splitlines()[0] == other.splitlines()[0]
            if name.startswith("waste"):
                assert one == other  # figures alone
        if name.endswith((".txt", ".svg")):
            assert scraps_in(other) == []


def test_drawings_for_machines_differ_in_their_texts_alone(lists: Path) -> None:
    import ezdxf

    planned(lists, "en")
    planned(lists, "de")
    for path in sorted((lists / "en").glob("*.dxf")):
        seen = []
        for code in ("en", "de"):
            drawing = ezdxf.readfile(lists / code / path.name)  # type: ignore[attr-defined]
            layers = [layer.dxf.name for layer in drawing.layers]
            lines = [
                (e.dxftype(), e.dxf.layer, str(e.dxf.start), str(e.dxf.end))
                for e in drawing.modelspace().query('LINE[layer=="SCORE-1"]')
                if e.dxf.start.y >= 0  # below it stands the key, as wide as its words
            ]
            outlines = [
                (e.dxf.layer, [tuple(p) for p in e.get_points()])
                for e in drawing.modelspace().query("LWPOLYLINE")
            ]
            seen.append((layers, lines, outlines, drawing.header["$INSUNITS"]))
        assert seen[0] == seen[1]


def test_json_keeps_its_keys(lists: Path) -> None:
    english, german = (json.loads(planned(lists, code, "--json").stdout) for code in ("en", "de"))
    assert keys_of(english) == keys_of(german)
    assert english["figures"]["total"] == german["figures"]["total"]


def test_odd_names_are_not_translated(lists: Path, hand_plan: Plan, german: None) -> None:
    odd = [
        "left",
        "{count} sheets",
        "trim",
        "<script>alert(1)</script>",
        "שלום",
        "\U0001f41f",
        "panel {order} {name}",
    ]
    panels = tuple(replace(p, order=odd[i], name=odd[i + 3]) for i, p in enumerate(hand_plan.panels))
    plan = replace(hand_plan, panels=panels)
    for text in (" ".join(sequence_text(plan).split()), sequence_csv(plan)):
        for panel in panels:
            assert f"Scheibe {panel.order} {panel.name}" in text
    planned(lists, "de")
    said = next((lists / "de").glob("sequence-*.txt")).read_text(encoding="utf-8")
    flat = " ".join(said.split())
    for name in ("Scheibe left front", "Scheibe sheet 3 <b>Größe</b> 1.5", "Scheibe A {order} {name}"):
        assert name in flat


def test_german_inches(hand_plan: Plan, german: None) -> None:
    use_style(INCH)
    text = sequence_text(hand_plan)
    assert " ab Rohkante links" in text and re.search(r'[0-9]-[0-9]+/[0-9]+"', text)
    assert " mm" not in text.replace(hand_plan.layouts[0].stock, "")
    assert "Zoll" in drawn(hand_plan) and " mm" not in drawn(hand_plan)


def test_columns_of_the_text_stand_under_each_other_in_every_language(hand_plan: Plan, german: None) -> None:
    lines = sequence_text(hand_plan).splitlines()
    assert all(len(line) <= 78 for line in lines)
    starts = {
        re.search(r"(?:TEIL|MASS) +", line).end() for line in lines if re.search(r"(?:TEIL|MASS) +", line)
    }  # type: ignore[union-attr]
    assert len(starts) == 1


def test_numbers_for_programs_keep_the_point(pentagon_plan: Plan, german: None) -> None:
    use_language(ENGLISH)
    english = sequence_csv(pentagon_plan).splitlines()
    use_language(language("de"))
    other = sequence_csv(pentagon_plan).splitlines()
    assert english[0] == other[0]
    for one, two in zip(english, other, strict=True):
        assert re.findall(r"(?<=,)[0-9]+\.[0-9]+(?=,)", one) == re.findall(r"(?<=,)[0-9]+\.[0-9]+(?=,)", two)


def test_screen_tables_are_german(pentagon_plan: Plan, german: None) -> None:
    from panewright.cli.tables import as_text

    assert scraps_in(as_text(screen_tables(pentagon_plan))) == []


def test_plurals_follow_the_count(german: None) -> None:
    said: Callable[[int], str] = lambda n: tr_count("{count} cut", "{count} cuts", n)
    assert [said(n) for n in (0, 1, 2)] == ["0 Schnitte", "1 Schnitt", "2 Schnitte"]
