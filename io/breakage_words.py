"""Breakage for people: rows of rates, losses and spares, the same for screen and paper."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from panewright.io.numbers_text import said_metres
from panewright.io.problems import shown
from panewright.nesting.breakage.counts import Worked
from panewright.nesting.breakage.loss import Loss, Losses
from panewright.nesting.breakage.rates import Rate
from panewright.nesting.breakage.spares import SpareWish
from panewright.nesting.panels import Panel
from panewright.nesting.text import local_number, tr
from panewright.nesting.units import show_money

NOT_KNOWN = "-"


def share_words(ppm: int) -> str:
    """A share [parts per million] as per cent with two decimals."""
    hundredths = (ppm + 50) // 100
    return local_number(f"{hundredths // 100}.{hundredths % 100:02d} %")


def pieces_words(thousandths: int) -> str:
    """A number of pieces [1/1000] with two decimals."""
    hundredths = (thousandths + 5) // 10
    return local_number(f"{hundredths // 100}.{hundredths % 100:02d}")


def evidence_words(source: str, counts: Sequence[Worked]) -> str:
    """What the rates rest on.

    Parameters
    ----------
    source
        Name of the record, empty for none.
    counts
        What it holds.
    """
    if not any(one.done for one in counts):
        return tr(
            "Breakage: no record of this shop is behind these rates, only the values of the shop file,"
            " which are our assumption until it sets its own."
        )
    return tr(
        "Breakage by {source}: {done} steps of panels, {broken} of them broke; the shop file counts as so many more"
        " as its weights say.",
        source=shown(source, 200),
        done=sum(one.done for one in counts),
        broken=sum(one.broken for one in counts),
    )


def rate_headings() -> list[str]:
    """Of `rate_row`."""
    return [
        tr("at step"),
        tr("glass"),
        tr("size class"),
        tr("panels"),
        tr("broken"),
        tr("rate"),
        tr("low"),
        tr("high"),
    ]


def rate_row(rate: Rate) -> list[str]:
    """A rate with the panels behind it and its 90 % interval."""
    low, high = rate.interval()
    return [
        tr(rate.step.value),
        rate.glass or tr("all"),
        tr(rate.size.value) if rate.size else tr("all"),
        str(rate.tally.done),
        str(rate.tally.broken),
        share_words(rate.ppm),
        share_words(low),
        share_words(high),
    ]


def loss_headings(currency: str) -> list[str]:
    """Of `loss_rows`."""
    return [
        tr("glass"),
        tr("at step"),
        tr("panels"),
        tr("expected to break"),
        tr("low"),
        tr("high"),
        tr("m2"),
        tr("kg"),
        currency,
    ]


def loss_rows(losses: Losses) -> list[list[str]]:
    """Every glass step by step, then as a whole, then everything."""
    out = []
    for glass in losses.glasses:
        out += [_loss_row(row) for row in losses.rows if row.glass == glass.glass]
        if len(losses.glasses) > 1:
            out.append(_loss_row(glass))
    return [*out, _loss_row(losses.total, total=True)]


def _loss_row(loss: Loss, *, total: bool = False) -> list[str]:
    return [
        tr("all") if total else loss.glass or NOT_KNOWN,
        tr("all") if loss.step is None else tr(loss.step.value),
        pieces_words(loss.pieces),
        pieces_words(loss.expected),
        str(loss.low),
        str(loss.high),
        NOT_KNOWN if loss.area2 is None else said_metres(loss.area2),
        NOT_KNOWN if loss.grams is None else local_number(f"{(loss.grams + 50) // 100 / 10:.1f}"),
        NOT_KNOWN if loss.money is None else show_money(loss.money),
    ]


def spare_headings() -> list[str]:
    """Of `spare_row`."""
    return [
        tr("panel"),
        tr("glass"),
        tr("equal panels"),
        tr("one breaks"),
        tr("any of them"),
        tr("recorded"),
        tr("days late"),
        tr("a remake costs"),
        tr("a spare is worth"),
        tr("wanted"),
        tr("found room"),
    ]


def spare_row(wish: SpareWish, panels: Iterable[Panel]) -> list[str]:
    """A wish, and how many spares of it are among the panels."""
    return [
        shown(f"{wish.panel.order}/{wish.panel.name}", 60),
        wish.panel.glass,
        str(wish.pieces),
        share_words(wish.ppm),
        share_words(wish.any_ppm),
        str(wish.behind),
        str(wish.late_days),
        show_money(wish.remake),
        show_money(wish.worths[0]),
        str(len(wish.worths)),
        str(wish.cut_in(panels)),
    ]
