"""The due day that follows from the wanted day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.io.order_lists import read_panel_lists
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.lead_days import due_from_wanted, is_working, lead_of
from panewright.nesting.panels import Panel
from panewright.nesting.shop_tanks import LeadDays

days = st.dates(date(2020, 1, 1), date(2040, 12, 31))
leads = st.builds(LeadDays, **{n: st.integers(0, 9) for n in ("edging", "drilling", "bonding", "curing")})


@st.composite
def calendars(draw: st.DrawFn, near: date) -> CuttingDays:
    working = draw(st.frozensets(st.integers(0, 6), min_size=1))
    free = draw(st.frozensets(st.integers(0, 60).map(lambda n: near - timedelta(days=n)), max_size=10))
    return CuttingDays(working=working, free=free)


def test_a_week_with_a_free_day() -> None:
    # Wednesday 31 March 2027 less 7 working days, Friday the 26th being free
    lead = LeadDays(edging=1, drilling=1, bonding=1, curing=4)
    calendar = CuttingDays(free=frozenset({date(2027, 3, 26)}))
    assert due_from_wanted(date(2027, 3, 31), lead, calendar, drilled=True) == date(2027, 3, 19)
    assert due_from_wanted(date(2027, 3, 31), lead, calendar, drilled=False) == date(2027, 3, 22)


def test_without_lead_days_it_is_the_last_working_day() -> None:
    none = LeadDays(edging=0, drilling=3, bonding=0, curing=0)
    for wanted, due in ((13, 12), (14, 12), (15, 15)):  # Saturday, Sunday, Monday
        assert due_from_wanted(date(2027, 3, wanted), none, CuttingDays(), drilled=False) == date(
            2027, 3, due
        )


@given(st.data(), days, leads, st.booleans())
def test_exactly_the_lead_days_lie_between(
    data: st.DataObject, wanted: date, lead: LeadDays, drilled: bool
) -> None:
    calendar = data.draw(calendars(wanted))
    due = due_from_wanted(wanted, lead, calendar, drilled=drilled)
    assert due <= wanted and is_working(due, calendar)
    after = [due + timedelta(days=n) for n in range(1, (wanted - due).days + 1)]
    assert sum(is_working(day, calendar) for day in after) == lead_of(lead, drilled=drilled)


@given(st.data(), days, st.integers(0, 20), leads)
def test_a_later_wish_is_never_due_earlier(
    data: st.DataObject, wanted: date, more: int, lead: LeadDays
) -> None:
    calendar = data.draw(calendars(wanted))
    due = due_from_wanted(wanted, lead, calendar, drilled=False)
    assert due <= due_from_wanted(wanted + timedelta(days=more), lead, calendar, drilled=False)
    assert due >= due_from_wanted(wanted, lead, calendar, drilled=True)


SHOP = replace(default_shop(), lead_days=LeadDays(edging=1, drilling=1, bonding=1, curing=5))


def read(folder: Path, rows: str) -> tuple[list[Panel], Problems]:
    path = folder / "a.csv"
    path.write_text("order,panel,glass,width,height,due,wanted,openings\n" + rows)
    problems = Problems()
    return read_panel_lists([path], SHOP, problems), problems


def test_lists_give_due_or_wanted(tmp_path: Path) -> None:
    panels, problems = read(
        tmp_path,
        "A,a,clear-10,600,400,2027-03-09,,\n"
        "A,b,clear-10,600,400,,2027-03-31,\n"
        "A,c,clear-10,600,400,,2027-03-31,hole 35 at 300 200\n"
        "A,d,clear-10,600,400,,,\n",
    )
    assert not problems.lines()
    assert [p.due for p in panels] == [date(2027, 3, 9), date(2027, 3, 22), date(2027, 3, 19), None]


@pytest.mark.parametrize(
    ("due", "wanted", "reason"),
    [
        ("2027-03-09", "2027-03-31", "a wanted day and a due day"),
        ("2027-03-22", "2027-03-31", "a wanted day and a due day"),  # though they agree
        ("", "2000-01-05", "1999-12-27"),
        ("", "2027-02-30", "no such day"),
        ("", "soon", "no day"),
    ],
)
def test_days_that_cannot_be(tmp_path: Path, due: str, wanted: str, reason: str) -> None:
    panels, problems = read(tmp_path, f"A,a,clear-10,600,400,{due},{wanted},\n")
    assert panels == []
    (found,) = problems.errors
    assert (found.row, found.column) == (2, "wanted")
    assert reason in found.reason and found.remedy
