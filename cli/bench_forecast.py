"""The set of forecasts: drawn shops whose law of demand is known, an oracle that knows it, and every method beside it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from panewright.cli.bench_parts import Report, Wanted, memory_text, seconds_json
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io.bench_forecast_run import SIMULATION, SUMS, ShopFound
from panewright.io.bench_forecast_stock import COVER, EQUAL, SETTINGS, WANTED
from panewright.io.bench_forecast_sums import A_DRAW, Shops, by_size, run_shops, wishes
from panewright.io.engines import cores, engine
from panewright.io.numbers_text import decimal
from panewright.nesting.forecast.rivals import library
from panewright.nesting.forecast.scores import BANDS
from panewright.nesting.text import tr


def forecasts(wanted: Wanted) -> Report:
    """Every shop on a process of its own; an interrupt tells of those that are done."""
    every = wishes(wanted.draw)
    chosen = wanted.choose(every)
    found: list[ShopFound] = []
    whole = True
    with engine(min(len(chosen), cores())) as executor:
        try:
            for shop in run_shops(chosen, executor):
                found.append(shop)
                err(
                    tr(
                        "{name}: {count} of {all}, {seconds:.0f} CPU s",
                        name=shop.wish.name,
                        count=len(found),
                        all=len(chosen),
                        seconds=shop.seconds,
                    )
                )
        except KeyboardInterrupt:
            if not found:
                raise
            whole = False
    sizes = by_size(found)
    seeds = sorted({f.wish.seed for f in found})
    lines = [text for name, shops in sizes.items() for text in _texts(name, shops)]
    lines.append(
        tr(
            "Seeds {first} to {last}; {purpose}.",
            first=seeds[0],
            last=seeds[-1],
            purpose=tr("the seeds of tuning")
            if seeds[0] < A_DRAW
            else tr("not used for tuning (that was 0 to 99)"),
        )
    )
    if not whole or len(found) < len(every):
        lines.append(tr("{count} of {all} shops.", count=len(found), all=len(every)))
    if library() is None:
        lines.append(tr("Without the extra forecast there is no SES and no AutoETS, nor an area forecast."))
    peaks = [f.memory for f in found if f.memory is not None]
    peak = max(peaks, default=None)
    lines.append(tr("Most memory held by one process: {memory}.", memory=memory_text(peak)))
    return "\n".join(lines), {
        "draw": wanted.draw,
        "seeds": seeds,
        "tuning_seeds": [0, 99],
        "library": library() is not None,
        "whole": whole and len(found) == len(every),
        "memory_peak_bytes": peak,
        "sizes": {name: _json(shops) for name, shops in sizes.items()},
        "shops": [_shop_json(f) for f in found],
    }


def _ratio(value: float | None) -> str:
    return "-" if value is None else f"{value:.3f}"


def _texts(size: str, shops: Shops) -> Iterable[str]:
    count = len(shops.found)
    yield table(
        tr(
            "Loss over the oracle's, {size} shops ({count}), sums of 4 weeks by law, then means",
            size=size,
            count=count,
        ),
        ["", *shops.laws, tr("mean"), "+-", tr("week 1"), tr("8 weeks")],
        [
            [
                method,
                *(_ratio(shops.over(method, 4, law)) for law in shops.laws),
                _ratio(shops.over(method, 4)),
                _ratio(shops.error(method, 4)),
                _ratio(shops.over(method, 1)),
                _ratio(shops.over(method, 8)),
            ]
            for method in shops.methods
        ],
    )
    yield table(
        tr("Share of 4-week sums in the band, {size} shops", size=size),
        ["", *(f"{law} {band:.0%}" for law in shops.laws for band in BANDS)],
        [
            [m, *(f"{shops.held(m, b, law):.2f}" for law in shops.laws for b in range(len(BANDS)))]
            for m in shops.methods
        ],
    )
    places = [SETTINGS.index(w) for w in WANTED]
    yield table(
        tr(
            "Stock, {size} shops, {count} lead times of {weeks} weeks: service achieved where so much is wanted, stock over the "
            "oracle's at {share} achieved, m2 at that setting",
            size=size,
            count=shops.lead_times,
            weeks=COVER,
            share=f"{EQUAL:.0%}",
        ),
        [
            "",
            *(tr("{share}", share=f"{w:.1%}") for w in WANTED),
            tr("stock"),
            *(tr("{law} m2", law=law) for law in shops.laws),
        ],
        [
            [
                method,
                *(f"{shops.service(method, k):.3f}" for k in places),
                _ratio(shops.stock_over(method)),
                *(f"{shops.held_stock(method, SETTINGS.index(EQUAL), law):.1f}" for law in shops.laws),
            ]
            for method in shops.methods
        ],
    )
    gains = shops.open_gains()
    yield tr(
        "Open orders take off {week:.0%} of the loss of week 1, {four:.0%} of that of 4 weeks and {stock} of the stock.",
        week=gains[0],
        four=gains[1],
        stock="-" if gains[2] is None else f"{gains[2]:.0%}",
    )
    for law in shops.laws:
        best, over = shops.best_classical(4, law)
        yield tr(
            "{law}: the best of the others is {best}; the simulation loses {more:+.1%} more.",
            law=law,
            best=best,
            more=shops.over(SIMULATION, 4, law) / over - 1,
        )
    yield tr(
        "Rule against real plans, glass of one size: {error:.3f} sheets a week off, bias {bias:+.3f} ({weeks} weeks).",
        error=_mean(shops, "rule_error"),
        bias=_mean(shops, "rule_bias"),
        weeks=sum(f.rule_weeks for f in shops.found),
    )
    yield tr(
        "{futures} futures of 8 weeks: {seconds:.2f} CPU s, longest of the shops {most:.2f}; {sheets:.1f} sheets and "
        "{panels:.0f} panels a week.",
        futures=shops.found[0].wish.futures,
        seconds=_mean(shops, "simulate_seconds"),
        most=max(f.simulate_seconds for f in shops.found),
        sheets=_mean(shops, "sheets"),
        panels=_mean(shops, "panels"),
    )


def _mean(shops: Shops, what: str) -> float:
    return float(sum(getattr(f, what) for f in shops.found) / len(shops.found))


def _number(value: float | None) -> Any:
    return None if value is None else decimal(round(value * 10_000), 4)


def _json(shops: Shops) -> dict[str, Any]:
    gains = shops.open_gains()
    return {
        "shops": len(shops.found),
        "lead_times": shops.lead_times,
        "methods": {
            m: {
                "loss_over_oracle": {
                    str(h): {
                        **{law: _number(shops.over(m, h, law)) for law in shops.laws},
                        "mean": _number(shops.over(m, h)),
                        "standard_error": _number(shops.error(m, h)) if len(shops.found) > 1 else None,
                    }
                    for h in SUMS
                },
                "coverage": {
                    law: [_number(shops.held(m, b, law)) for b in range(len(BANDS))] for law in shops.laws
                },
                "service": {str(w): _number(shops.service(m, SETTINGS.index(w))) for w in WANTED},
                "stock_over_oracle": _number(shops.stock_over(m)),
            }
            for m in shops.methods
        },
        "open_orders_gain": dict(zip(("week_1", "weeks_4", "stock"), map(_number, gains), strict=True)),
        "rule_error_sheets": _number(_mean(shops, "rule_error")),
        "rule_bias_sheets": _number(_mean(shops, "rule_bias")),
        "simulate_cpu_s": _number(_mean(shops, "simulate_seconds")),
    }


def _shop_json(shop: ShopFound) -> dict[str, Any]:
    return {
        "name": shop.wish.name,
        "cpu_s": seconds_json(shop.seconds),
        "nest_cpu_s": seconds_json(shop.nest_seconds),
        "loss_4_weeks": {
            m: [_number(float(x)) for x in row[SUMS.index(4)]]
            for m, row in zip(shop.methods, shop.losses, strict=True)
        },
        "series": list(shop.series),
    }
