"""Reports as workbook, page, PDF, data and on the screen: read back by other programs' eyes."""

from __future__ import annotations

import json
import os
import re
import shutil
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime
from fractions import Fraction
from importlib.resources import files
from io import BytesIO
from pathlib import Path
from typing import Any

import openpyxl
import pypdfium2
import pytest

from panewright.cli.report_screen import report_screen
from panewright.io.file_names import PLAN_FILE
from panewright.io.language import language
from panewright.io.numbers_text import spread
from panewright.io.out_folder import OutFolderRefused
from panewright.io.report.as_json import report_json
from panewright.io.report.files import report_files, write_report
from panewright.io.report.model import (
    Band,
    Bars,
    Cloud,
    Column,
    Curve,
    Fan,
    Kind,
    Report,
    Subject,
    Table,
    Value,
)
from panewright.io.report.page import page_text
from panewright.io.report.paper import paper_bytes
from panewright.io.report.value_text import text_of
from panewright.io.report.workbook import report_workbook, sheet_names
from panewright.nesting.demand.weeks import week_of
from panewright.nesting.shop import Shop
from panewright.nesting.shop_table import Paper
from panewright.nesting.text import ENGLISH, Language, use_language
from panewright.nesting.units import MONEY, NM2_PER_M2, mm

ALL = bool(os.environ.get("PANEWRIGHT_TEST_ALL"))
SHOP = Shop()
WEEK = week_of(date(2027, 3, 8))
HOSTILE = (
    "=1+1",
    "+49 30 123",
    "@SUM(A1)",
    "-cmd|' /C calc'!A0",
    "<script>alert(1)</script>",
    "</style><img src=x onerror=alert(1)>",
    "אקווריום 12",
    "Größe Übermaß ß",
    "a\x00b\x1b[31m",
    "x" * 200,
    "\u202eevil",
    "\ufffe",
)
KINDS: tuple[tuple[str, Kind], ...] = (
    ("order", "text"),
    ("week", "week"),
    ("needed by", "day"),
    ("sheets", "count"),
    ("a week", "number"),
    ("yield", "share"),
    ("cost", "money"),
    ("sheet area", "m2"),
    ("scrap", "kg"),
    ("score", "metres"),
    ("why", "text"),
)


def row(i: int) -> tuple[Value, ...]:
    return (
        HOSTILE[i % len(HOSTILE)],
        WEEK + i,
        date(2027, 3, 1 + i % 28),
        i,
        Fraction(i, 7),
        Fraction(700 + i, 1000),
        1234_5600 + i * 100,
        i * NM2_PER_M2 // 4,
        1500 * i,
        i * mm(1250),
        None if i % 3 else "because",
    )


ROWS = tuple(row(i) for i in range(300))
TOTAL: tuple[Value, ...] = (
    "all",
    None,
    None,
    sum(range(300)),
    None,
    Fraction(4, 5),
    sum(1234_5600 + i * 100 for i in range(300)),
    # not the sum of the rows: some areas were rounded before they were added
    17,
    1500 * sum(range(300)),
    mm(1250) * sum(range(300)),
    None,
)
BIG = Table(
    title="Needs by week",
    columns=tuple(Column(name=name, kind=kind) for name, kind in KINDS),
    rows=ROWS,
    total=TOTAL,
    note="Sheets are whole.",
)
ODD = Table(
    title="Odd [a/b]*?",
    columns=(
        Column(name="=name"),
        Column(name="count", kind="count"),
        Column(name="number", kind="number"),
        Column(name="money", kind="money"),
        Column(name=""),
    ),
    rows=(
        ("-1", -3, float("nan"), -5_000, "x"),
        ("huge", 10**25, 1e300, 10**19, ""),
        ("none", None, None, None, None),
        ("half", Fraction(1, 2), float("inf"), 1, "'quoted"),
        ("beyond", 10**320, -0.001, 0, "y"),
    ),
)
EMPTY = Table(title="Nothing", columns=(Column(name="glass"), Column(name="sheets", kind="count")), rows=())
NEEDS = (
    Fan(
        title="Needs <of> clear-10",
        places=("2027-W10", "2027-W11", "2027-W12"),
        up="sheets",
        bands=(Band(name="80 of 100", low=(1.0, 2.0, 3.0), high=(4.0, 6.0, 9.0)),),
        curves=(Curve(name="median", values=(2.0, 4.0, None)),),
        levels=(("reorder point", 3.0),),
    ),
)
PICTURES = (
    *NEEDS,
    replace(NEEDS[0], title="Needs of low-iron-12"),
    Bars(
        title="Cost",
        places=HOSTILE[:5],
        up="EUR",
        series=(Curve(name="=a", values=(1.0, 2.0, 3.5, 0.0, 5.0)),),
    ),
    Cloud(title="Yield", across="m2", up="%", groups=(("clear-10", ((1.5, 80.25), (2.0, 81.0))),)),
    Fan(title="Unknown", places=(), up="sheets"),
)
REPORT = Report(
    title="Purchasing of Becken & Söhne",
    about="Looked at on 2027-03-08; seed 0",
    lead=("Order 12 sheets of clear-10 by 2027-03-11.", "<b>Low-iron</b> lasts."),
    subjects=(
        Subject(name="What to buy", words=("Words & more.",), tables=(BIG,), pictures=PICTURES),
        Subject(name="More: all/kinds", tables=(EMPTY, ODD)),
    ),
    cautions=("A forecast is no promise.", "Glass is heavy: lift it with the right gear."),
)


@pytest.fixture
def german() -> Iterator[None]:
    known = language("de")
    # the catalogue may not know the newest texts yet: signs and code are what is tested
    use_language(
        Language(code="de", translate=known.translate, decimal=known.decimal, thousands=known.thousands)
    )
    yield
    use_language(ENGLISH)


# ------------------------------------------------------------ values as text


@pytest.mark.parametrize(
    ("value", "kind", "english", "in_german"),
    [
        (1234_5678, "money", "1,234.57", "1.234,57"),
        (-49, "money", "0.00", "0,00"),
        (-50, "money", "-0.01", "-0,01"),
        (NM2_PER_M2 * 5 // 4, "m2", "1.25", "1,25"),
        (1250, "kg", "1.3", "1,3"),
        (mm(12_345), "metres", "12.3", "12,3"),
        (Fraction(1, 3), "share", "33.3 %", "33,3 %"),
        (Fraction(-1, 2000), "share", "-0.1 %", "-0,1 %"),
        (10_000, "count", "10,000", "10.000"),
        (Fraction(2, 3), "number", "0.67", "0,67"),
        (0.125, "number", "0.13", "0,13"),
        (WEEK, "week", "2027-W10", "2027-W10"),
        (10**12, "week", "1000000000000", "1000000000000"),
        (date(2027, 3, 8), "day", "2027-03-08", "2027-03-08"),
        (None, "money", "", ""),
        (float("nan"), "number", "-", "-"),
        ("over 12", "count", "over 12", "over 12"),
    ],
)
def test_values_read_as_their_kind(
    value: Value, kind: Kind, english: str, in_german: str, request: pytest.FixtureRequest
) -> None:
    assert text_of(value, kind) == english
    request.getfixturevalue("german")
    assert text_of(value, kind) == in_german


# ------------------------------------------------------------ screen


def test_the_screen_shows_words_tables_and_cautions() -> None:
    text = report_screen(REPORT, most=4)
    lines = text.splitlines()
    assert lines[0] == REPORT.title and lines[-1].strip() == REPORT.cautions[-1]
    assert "4 of 300 rows" in text and "nothing to list" in text and "Sheets are whole." in text
    (all_of,) = [line for line in lines if line.split()[:1] == ["all"]]
    assert all_of.split()[1:4] == ["44,850", "80.0", "%"]
    assert "cost EUR" in text and "sheet area m2" in text
    assert "\x1b" not in text and "\x00" not in text and "\u202e" not in text


# ------------------------------------------------------------ workbook


@pytest.fixture(scope="module")
def content() -> bytes:
    return report_workbook(REPORT)


@pytest.fixture(scope="module")
def book(content: bytes) -> Any:
    return openpyxl.load_workbook(BytesIO(content))


def test_cells_are_numbers_dates_and_texts(book: Any) -> None:
    sheet = book["What to buy"]
    heads = [cell.value for cell in sheet[1]]
    assert heads == [
        "order", "week", "needed by", "sheets", "a week", "yield", "cost EUR", "sheet area m2", "scrap kg", "score m",
        "why",
    ]  # fmt: skip
    cells = sheet[9]  # the eighth row of numbers
    assert [c.data_type for c in cells] == ["s", "s", "d", "n", "n", "n", "n", "n", "n", "n", "n"]
    assert [c.value for c in cells[1:10]] == [
        "2027-W17",
        datetime(2027, 3, 8),  # noqa: DTZ001 - days of workbooks have no zone
        7,
        1,
        pytest.approx(0.707, abs=1e-12),
        1234.63,
        1.75,
        10.5,
        8.75,
    ]
    assert [c.number_format for c in cells[2:10]] == [
        "yyyy-mm-dd", "#,##0", "#,##0.00", "0.0%", "#,##0.00", "#,##0.00", "#,##0.0", "#,##0.0",
    ]  # fmt: skip
    assert cells[10].value is None


def test_the_head_stays_and_filters_hold_the_rows_alone(book: Any) -> None:
    sheet = book["What to buy"]
    assert (sheet.freeze_panes, sheet.auto_filter.ref, sheet.print_title_rows) == ("C2", "A1:K301", "$1:$1")
    assert all(cell.font.bold for cell in sheet[1])
    assert [cell.value for cell in sheet[302]] == [None] * 11
    assert all(8 <= sheet.column_dimensions[c].width <= 48 for c in "ABCDEFGHIJK")
    empty = book["Nothing"]
    assert (empty.auto_filter.ref, empty.max_row) == ("A1:B1", 1)


def test_totals_follow_the_filter_where_they_are_sums(book: Any, content: bytes) -> None:
    stored = openpyxl.load_workbook(BytesIO(content), data_only=True)["What to buy"][303]
    formulas = book["What to buy"][303]
    for j, name in ((3, "D"), (6, "G"), (8, "I"), (9, "J")):
        assert formulas[j].value == f"=SUBTOTAL(109,{name}2:{name}301)"
        # what is stored beside the formula is what the cells come to
        values = [book["What to buy"].cell(r, j + 1).value for r in range(2, 302)]
        assert stored[j].value == pytest.approx(sum(values), rel=1e-12)
    # a share is no sum, and neither is a total that differs from it
    assert (formulas[5].value, formulas[7].value) == (0.8, pytest.approx(17 / NM2_PER_M2))


def test_no_text_becomes_a_formula(book: Any) -> None:
    formulas = 0
    for sheet in book.worksheets:
        for cells in sheet.iter_rows():
            for cell in cells:
                if cell.data_type == "f":
                    assert str(cell.value).startswith("=SUBTOTAL(109,")
                    formulas += 1
                elif isinstance(cell.value, str) and cell.value[:1] in "=+-@":
                    assert cell.data_type == "s" and cell.quotePrefix, cell.value
    assert formulas == 4
    names = [cell.value for cell in book["What to buy"]["A"]]
    assert names[1:5] == list(HOSTILE[:4])


def test_absurd_numbers_do_not_stop_the_workbook(book: Any) -> None:
    cells = [[c.value for c in r] for r in book["Odd a b"].iter_rows(min_row=2)]
    assert cells[0] == ["-1", -3, "-", -0.5, "x"]
    assert cells[1][1] == 1e25 and cells[1][2] == 1e300
    assert cells[2] == ["none", None, None, None, None]
    assert cells[3][1] == 0.5
    assert cells[4][1] == "1.000E+320"


def test_the_first_sheet_says_what_matters_and_leads_to_the_others(book: Any) -> None:
    first = book.worksheets[0]
    texts = [cell.value for cells in first.iter_rows() for cell in cells if cell.value]
    for text in (REPORT.title, REPORT.about, *REPORT.lead, *REPORT.cautions, "Words & more."):
        assert text in texts
    links = {cell.value: cell.hyperlink.location for cell in first["A"] if cell.hyperlink}
    assert list(links) == book.sheetnames[1:]
    assert all(place.endswith("!A1") for place in links.values())


def test_names_of_sheets_are_taken_by_every_program() -> None:
    names = sheet_names(["a" * 40, "A" * 40, "Needs: W10/W11 [all]?*\\", "'", "History", "", "a\x07b"])
    assert len({name.lower() for name in names}) == len(names)
    # ECMA-376-1, 18.2.19 (sheet): 31 characters; what programs refuse in them [common practice]
    assert all(0 < len(name) <= 31 and not re.search(r"[\[\]:*?/\\]|^'|'$", name) for name in names)


def test_the_numbers_of_pictures_of_one_kind_share_a_sheet(book: Any) -> None:
    rows = [[cell.value for cell in r] for r in book["Pictures of What to buy"].iter_rows()]
    assert rows[0] == ["picture", "at", "80 of 100, from", "80 of 100, to", "median", "reorder point"]
    assert rows[1] == ["Needs <of> clear-10", "2027-W10", 1, 4, 2, 3] and rows[3][4] is None
    assert rows[4][0] == "Needs of low-iron-12" and len(rows) == 7
    assert [name for name in book.sheetnames if name.startswith("Pictures")] == [
        "Pictures of What to buy",
        "Pictures of What to buy 2",
        "Pictures of What to buy 3",
    ]


# ------------------------------------------------------------ same bytes, data


def test_the_same_report_gives_the_same_bytes(content: bytes) -> None:
    assert report_workbook(REPORT) == content
    assert report_files(SMALL, SHOP) == report_files(SMALL, SHOP)
    with zipfile.ZipFile(BytesIO(content)) as archive:
        assert {part.date_time for part in archive.infolist()} == {(2000, 1, 1, 0, 0, 0)}
        assert set(re.findall(rb"\d{4}-\d\d-\d\dT", archive.read("docProps/core.xml"))) == {b"2000-01-01T"}


def test_data_holds_the_numbers_exactly() -> None:
    data = json.loads(spread(report_json(REPORT), 6), parse_float=str)
    table = data["subjects"][0]["tables"][0]
    assert [column["unit"] for column in table["columns"]] == [
        "",
        "",
        "",
        "",
        "",
        "",
        "EUR",
        "m2",
        "kg",
        "m",
        "",
    ]
    assert table["rows"][7][1:10] == [
        "2027-W17", "2027-03-08", 7, 1, "0.707", "1234.63", "1.75", "10.5", "8.75",
    ]  # fmt: skip
    odd = data["subjects"][1]["tables"][1]["rows"]
    assert odd[0][2] is None and odd[1][1] == 10**25 and odd[3][3] == "0.0001"
    fan = data["subjects"][0]["pictures"][0]
    assert fan["curves"][0]["values"] == [2, 4, None] and fan["levels"] == [
        {"name": "reorder point", "value": 3}
    ]


# ------------------------------------------------------------ PDF


def pages_of(content: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(BytesIO(content))
    return [page.get_textpage().get_text_range().replace("\r\n", "\n") for page in document]


@pytest.fixture(scope="module")
def pages() -> list[str]:
    return pages_of(paper_bytes(REPORT))


def test_paper_tells_everything_in_order(pages: list[str]) -> None:
    assert pages[0].startswith(REPORT.title) and all(
        text in pages[0] for text in (REPORT.about, *REPORT.lead)
    )
    assert all(f"page {n} of {len(pages)}" in text for n, text in enumerate(pages, start=1))
    assert REPORT.cautions[-1] in pages[-1]
    whole = "".join(pages).replace("\n", "")
    for text in (
        "44,850",
        "Größe Übermaß ß",
        "reorder point: 3",
        "<script>alert(1)</script>",
        "Sheets are whole.",
    ):
        assert text in whole, text
    assert whole.count("2027-W10") >= 2


def test_headings_of_a_long_table_stand_on_every_page(pages: list[str]) -> None:
    held = [text for text in pages if re.search(r"20\d\d-W\d\d 2027-03", text)]
    assert len(held) >= 4
    for text in held:
        assert "score m" in text and "cost EUR" in text
    assert sum("Needs by week, continued" in text for text in pages) == len(held) - 1


def test_paper_of_the_shop_and_turned_where_a_table_needs_it() -> None:
    def size(content: bytes) -> tuple[int, int]:
        wide, high = pypdfium2.PdfDocument(BytesIO(content))[0].get_size()
        return round(wide), round(high)

    narrow = replace(REPORT, subjects=(Subject(name="s", tables=(ODD,)),))
    # A4 by ISO 216 is 210 x 297 mm, Letter by ANSI/ASME Y14.1 8.5 x 11 in
    assert size(paper_bytes(narrow)) == (595, 842)
    assert size(paper_bytes(narrow, paper=Paper.LETTER)) == (612, 792)
    wide = Table(
        title="wide",
        columns=tuple(Column(name=f"week {i}", kind="money") for i in range(14)),
        rows=((10**6 * MONEY,) * 14,),
    )
    assert size(paper_bytes(replace(REPORT, subjects=(Subject(name="s", tables=(wide,)),)))) == (842, 595)


def test_a_table_too_wide_for_paper_goes_on_with_its_first_column() -> None:
    columns = (Column(name="glass"), *(Column(name=f"n{i}", kind="money") for i in range(40)))
    rows = (("clear-10", *(i * MONEY + 10**10 for i in range(40))),)
    report = Report(
        title="t",
        about="",
        lead=(),
        subjects=(Subject(name="s", tables=(Table(title="w", columns=columns, rows=rows),)),),
    )
    text = "\n".join(pages_of(paper_bytes(report)))
    assert text.count("clear-10") == text.count("glass") >= 2 and "w, further columns" in text
    assert all(f"{1_000_000 + i:,}.00" in text for i in range(40))


def test_an_empty_report_is_still_a_report() -> None:
    bare = Report(title="", about="", lead=(), subjects=())
    assert set(report_files(bare, SHOP)) == {"report.xlsx", "report.html", "report.pdf", "report.json"}
    assert report_screen(bare) == ""


# ------------------------------------------------------------ page


def test_the_page_escapes_everything_and_asks_for_nothing() -> None:
    page = page_text(REPORT)
    assert "<script" not in page and "<img" not in page and "<b>" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page and "Becken &amp; Söhne" in page
    assert not re.search(r"(?:src|href)=\"(?!#)|url\(|@import|style=", page)
    assert page.count("</style>") == 1 and "default-src 'none'" in page
    assert "\x00" not in page and "\u202e" not in page


def test_the_page_in_german_has_german_numbers(german: None) -> None:
    page = page_text(REPORT)
    assert '<html lang="de">' in page and "1.234,56" in page and "1,234.56" not in page


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    playwright = pytest.importorskip("playwright.sync_api")
    path = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    if path is None:
        if ALL:
            pytest.fail("no Chromium is installed")
        pytest.skip("no Chromium is installed")
    quiet = [f"--disable-{x}" for x in ("gpu", "background-networking", "component-update", "sync")]
    with playwright.sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=path, args=["--no-sandbox", *quiet])
        yield started
        started.close()


@pytest.fixture
def opened(browser: Any, tmp_path: Path) -> Iterator[Any]:
    asked: list[str] = []
    wrong: list[str] = []
    contexts = []

    def show(report: Report, *, wide: int = 1280, scheme: str = "light") -> Any:
        path = tmp_path / "report.html"
        path.write_text(page_text(report), encoding="utf-8")
        context = browser.new_context(viewport={"width": wide, "height": 900}, color_scheme=scheme)
        contexts.append(context)
        page = context.new_page()
        page.on("request", lambda request: asked.append(request.url))
        page.on("console", lambda message: wrong.append(message.text))
        page.on("dialog", lambda dialog: wrong.append(dialog.message))
        page.goto(path.as_uri())
        return page

    yield show
    for context in contexts:
        context.close()
    assert not wrong, wrong
    assert all(url.startswith("file:") for url in asked) and len(set(asked)) == 1


SMALL = replace(
    REPORT,
    subjects=(
        replace(REPORT.subjects[0], tables=(replace(BIG, rows=ROWS[:12], total=TOTAL),)),
        REPORT.subjects[1],
    ),
)


WCAG = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
CONTRAST = {"type": "rule", "values": ["color-contrast"]}


def faults(page: Any, rules: dict[str, Any]) -> list[str]:
    """What axe-core (MPL-2.0) finds against the rules of WCAG 2.2."""
    page.evaluate((files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8"))
    found = page.evaluate("rules => axe.run(document, {runOnly: rules, resultTypes: ['violations']})", rules)
    assert found["passes"], "axe ran no rule"
    return [
        f"{v['id']}: {n['html'][:200]} {n['failureSummary']}" for v in found["violations"] for n in v["nodes"]
    ]


@pytest.mark.parametrize(("wide", "scheme", "rules"), [(1280, "light", WCAG), (390, "dark", CONTRAST)])
def test_access(opened: Any, wide: int, scheme: str, rules: dict[str, Any]) -> None:
    # in the dark only the colours are others
    page = opened(SMALL, wide=wide, scheme=scheme)
    page.evaluate("document.querySelectorAll('details').forEach((d, i) => { d.open = i === 0; })")
    assert not faults(page, rules)


def test_the_page_fits_every_screen_and_paper(opened: Any) -> None:
    page = opened(SMALL, wide=390)
    beyond = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    seen = "document.querySelectorAll('svg').length, [...document.querySelectorAll('svg')].filter(s => s.getClientRects().length).map(s => s.getAttribute('class'))"
    assert page.evaluate(beyond) == 0
    assert set(page.evaluate(f"({seen})")) == {"narrow"}
    boxes = "[...document.querySelectorAll('.box')].filter(b => b.scrollWidth > b.clientWidth).length"
    assert page.evaluate(boxes) >= 1
    page.set_viewport_size({"width": 1280, "height": 900})
    assert page.evaluate(beyond) == 0 and set(page.evaluate(f"({seen})")) == {"wide"}
    # texts of pictures stay within them in the fonts of the browser too
    outside = page.evaluate(
        "[...document.querySelectorAll('svg.wide text')].filter(t => { const a = t.getBoundingClientRect(), "
        "b = t.ownerSVGElement.getBoundingClientRect(); return a.left < b.left - 2 || a.right > b.right + 2; })"
        ".map(t => t.textContent)"
    )
    assert outside == []
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(21, 25, 29)"
    assert page.evaluate("getComputedStyle(document.querySelector('.box')).overflow") == "visible"


def test_the_browser_shows_what_the_report_says(opened: Any) -> None:
    page = opened(SMALL)
    assert page.title() == REPORT.title
    rows = page.locator("table >> nth=4").locator("tbody tr")
    assert rows.count() == 12
    assert rows.nth(7).locator("td.n").all_inner_texts() == [
        "7",
        "1.00",
        "70.7 %",
        "1,234.63",
        "1.75",
        "10.5",
        "8.8",
    ]
    assert rows.nth(4).locator("th").inner_text() == "<script>alert(1)</script>"
    label = page.locator("svg.wide").first.get_attribute("aria-label")
    assert "median: first 2, last 4" in label and "reorder point: 3" in label


# ------------------------------------------------------------ folder


def test_a_report_is_written_whole_and_replaced_by_will_alone(tmp_path: Path) -> None:
    out = tmp_path / "new" / "folder"
    names = write_report(SMALL, out, SHOP, more={"needs.csv": "a,b\r\n"})
    assert names == ["needs.csv", "report.html", "report.json", "report.pdf", "report.xlsx"]
    assert sorted(p.name for p in out.iterdir()) == sorted([*names, "report-contents.txt"])
    with pytest.raises(OutFolderRefused, match=r"an earlier report.*--replace"):
        write_report(SMALL, out, SHOP)
    write_report(SMALL, out, SHOP, replace=True)
    assert not (out / "needs.csv").exists()
    (out / "letter.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(OutFolderRefused, match=r"other files \(letter.txt\)"):
        write_report(SMALL, out, SHOP, replace=True)
    assert (out / "letter.txt").read_text(encoding="utf-8") == "mine"
    planned = tmp_path / "planned"
    planned.mkdir()
    (planned / PLAN_FILE).write_text("{}", encoding="utf-8")
    with pytest.raises(OutFolderRefused):
        write_report(SMALL, planned, SHOP, replace=True)
    assert [p.name for p in tmp_path.iterdir() if p.name.endswith((".tmp", ".old"))] == []
