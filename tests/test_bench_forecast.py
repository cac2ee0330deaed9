"""The bench of forecasts on tiny drawn shops: their law, the truth by real plans, stock, and the report."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner

from panewright.cli import bench_forecast
from panewright.cli.main import app
from panewright.io import bench_forecast_sums, bench_run
from panewright.io.bench_forecast_run import ORACLE, SIMULATION, SUMS, WITH_OPEN, ShopFound, Wish, run_shop
from panewright.io.bench_forecast_shops import BOOKED, HISTORY, LAWS, Demand, drawn_shop, stream
from panewright.io.bench_forecast_stock import SETTINGS, stock_at, stocked
from panewright.io.bench_forecast_sums import Shops, wishes
from panewright.nesting.demand.weeks import SEASON, monday

TINY = Wish(
    law="steady", size="small", seed=5, history=12, origins=1, futures=60, bank=40, against=("last 52 weeks",)
)


@pytest.fixture(scope="module")
def found() -> ShopFound:
    return run_shop(TINY)


def test_laws_bring_what_they_say() -> None:
    weeks = np.arange(HISTORY + 26)
    for law in LAWS:
        demand = Demand(law=law, size="small", peak=10)
        counts = demand.counts(weeks, 300, stream(1)).mean(axis=0)
        if law == "lumpy":
            drawn = demand.counts(weeks, 300, stream(2))
            assert abs((drawn == 0).mean() - 0.65) < 0.01
            continue
        assert np.abs(counts / demand.rate(weeks) - 1).mean() < 0.06
    season = Demand(law="seasonal", size="small", peak=10).rate(weeks)[:, 0]
    assert season.argmax() % SEASON == 10 and season.max() == pytest.approx(6.0)
    broken = Demand(law="break", size="small", peak=0).rate(weeks)
    assert broken[HISTORY - 13].tolist() == [4.0, 1.5, 1.5, 4.0]
    assert broken[HISTORY - 12].tolist() == pytest.approx([2.4, 3.0, 1.5, 4.0])


def test_orders_are_booked_by_the_curve() -> None:
    orders = drawn_shop("steady", "small", 3, history=80).book.orders
    for h, share in enumerate(BOOKED):
        known = sum(o.booked is not None and o.booked <= monday(o.week - h) for o in orders)
        assert known / len(orders) == pytest.approx(share, abs=0.05)


def test_same_seed_same_shop() -> None:
    assert drawn_shop("lumpy", "small", 4, history=3) == drawn_shop("lumpy", "small", 4, history=3)
    assert drawn_shop("lumpy", "small", 4, history=3) != drawn_shop("lumpy", "small", 5, history=3)


def test_a_tiny_shop(found: ShopFound) -> None:
    assert found.methods == (ORACLE, SIMULATION, WITH_OPEN, "last 52 weeks")
    assert found.losses.shape == (4, len(SUMS), 5) and np.isfinite(found.losses).all()
    assert (found.losses.sum(axis=2) > 0).all()
    assert found.held.min() >= 0 and found.held.max() <= 1
    # more stock lasts longer
    assert (np.diff(found.service, axis=1) >= 0).all() and (np.diff(found.stock, axis=1) >= 0).all()
    assert found.lead_times == 5 and 3 < found.sheets < 9 and 40 < found.panels < 90
    assert found.rule_weeks == 8 and found.rule_error < 0.5


def test_stock_by_hand() -> None:
    """Level 6; weeks take 2, 2, 1, 1 (lasts, just), then 4: 4 weeks take 8, and 2 are short."""
    lasted, stock = stocked(np.array([[6.0], [6.0]]), np.array([[2], [2], [1], [1], [4]]))
    assert lasted.tolist() == [[True], [False]]
    assert stock.tolist() == [[0.5], [1.0]]
    # a level that falls does not take sheets away
    lasted, _ = stocked(np.array([[9.0], [0.0]]), np.array([[1], [1], [1], [1], [1]]))
    assert lasted.all()


def test_equal_service_lies_between_settings() -> None:
    assert stock_at([0.90, 0.94, 0.96], [10.0, 14.0, 18.0]) == pytest.approx(16.0)
    assert stock_at([0.96, 0.97], [10.0, 14.0]) == 10.0
    assert stock_at([0.90, 0.94], [10.0, 14.0]) is None


def test_sums_over_shops(found: ShopFound) -> None:
    worse = replace(found, losses=found.losses * np.array([1.0, 2.0, 1.0, 1.0])[:, None, None])
    shops = Shops([found, worse])
    alone = found.losses[1, 1].sum() / found.losses[0, 1].sum()
    assert shops.over(SIMULATION, 4) == pytest.approx(1.5 * alone)
    assert shops.over(ORACLE, 4) == 1.0 and shops.error(ORACLE, 4) == 0.0
    assert shops.error(SIMULATION, 4) == pytest.approx(alone / 2)
    assert shops.lead_times == 10
    assert shops.service(ORACLE, SETTINGS.index(0.95)) == pytest.approx(
        found.service[0, SETTINGS.index(0.95)]
    )
    week, four, _ = shops.open_gains()
    assert week == pytest.approx(1 - shops.over(WITH_OPEN, 1, than=SIMULATION))
    assert four < 1


def test_shops_of_a_draw() -> None:
    every = wishes(1)
    assert len({w.name for w in every}) == len(every) == 24
    assert {w.seed for w in every} == {1000, 1001, 1002, 1003}
    assert {w.seed for w in wishes(0)} == {0, 1, 2, 3}


def test_the_command(found: ShopFound, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench_forecast_sums, "run_shop", lambda wish: replace(found, wish=wish))
    monkeypatch.setattr(bench_run, "prepare", lambda: None)
    monkeypatch.setattr(bench_forecast, "cores", lambda: 1)
    done = CliRunner().invoke(app, ["bench", "forecast", "--sample", "2", "--json"])
    assert done.exit_code == 0, done.output
    data = json.loads(done.stdout)
    assert data["seeds"][0] >= 1000 and data["whole"] is False and len(data["shops"]) == 2
    size = next(iter(data["sizes"].values()))
    assert size["methods"]["oracle"]["loss_over_oracle"]["4"]["mean"] == 1
    text = CliRunner().invoke(app, ["bench", "forecast", "--sample", "1"]).stdout
    assert "Loss over the oracle's" in text and "not used for tuning" in text
    wrong = CliRunner().invoke(app, ["bench", "forecast", "--classes", "2"])
    assert wrong.exit_code == 2
