"""`panewright bench`: the optimizer on published problems, beside a reference and the best values in print."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click
from click.core import ParameterSource

from panewright.cli import options
from panewright.cli.output import out as say
from panewright.cli.output import out_json
from panewright.nesting.text import tr

if TYPE_CHECKING:
    from panewright.cli.bench_parts import Report, Wanted

DEFAULT_SECONDS: Final = 2.0
CHALLENGE_SECONDS: Final = 10.0
_COMMON: Final = frozenset({"which", "seconds", "effort", "seed", "data", "as_json"})
_SOME: Final = frozenset({"sample", "only", "profile"})
_CLASSES: Final = _SOME | {"classes", "no_reference"}
SETS: Final = {
    "bwmv": _CLASSES,
    "bwmv-turn": _CLASSES,
    "bwmv-fresh": _CLASSES | {"draw"},
    "bwmv-fresh-turn": _CLASSES | {"draw"},
    "weeks": _SOME | {"draw"},
    "weeks-three": _SOME | {"draw"},
    "weeks-offcuts": _SOME | {"draw"},
    "scale": frozenset({"sizes", "draw", "profile"}),
    "furniture": _SOME | {"no_reference"},
    "furniture-turn": _SOME | {"no_reference"},
    "mixed": _SOME | {"no_reference"},
    "knapsack": _SOME,
    "assorted": _SOME | {"classes"},
    "glass-lists": _SOME | {"lists"},
    "challenge": _SOME | {"sets", "workers", "out"},
    "convex-optimum": _SOME,
    "angled-glass": _SOME,
    "angled-weeks": frozenset({"sample", "only", "draw"}),
    "angled-pairs": frozenset({"sample", "only", "draw"}),
    "sequence": frozenset({"sample", "only", "draw"}),
    "sample": frozenset(),
    "tanks": frozenset({"draw"}),
    "open-orders": frozenset({"sample", "only", "draw"}),
    "weights": frozenset({"sample", "only", "draw"}),
    "store": frozenset({"sample", "draw", "server"}),
    "store-races": frozenset({"sample", "draw", "server"}),
    "store-kills": frozenset({"sample", "draw", "server"}),
    "remake": frozenset({"sample", "only", "draw"}),
    "engines": frozenset({"sample", "draw"}),
    "sizes": frozenset({"draw"}),
    "forecast": frozenset({"sample", "only", "draw"}),
}
"""The sets, and the options that each of them takes besides the common ones."""
STORES: Final = frozenset({"store", "store-races", "store-kills"})
"""The sets that plan nothing."""


def _classes(ctx: click.Context, param: click.Parameter, value: str) -> tuple[int, ...]:
    """The classes named, rising: ``1,2`` or ``1-6`` or both."""
    found: set[int] = set()
    for part in value.split(","):
        match = re.fullmatch(r"\s*(\d{1,2})\s*(?:-\s*(\d{1,2})\s*)?", part)
        if not match:
            raise click.BadParameter(tr("{part!r} is no class; write 1,2 or 1-6", part=part), ctx, param)
        found.update(range(int(match[1]), int(match[2] or match[1]) + 1))
    if not found or min(found) < 1 or max(found) > 10:
        raise click.BadParameter(tr("the classes run from 1 to 10"), ctx, param)
    return tuple(sorted(found))


def _sizes(ctx: click.Context, param: click.Parameter, value: str) -> tuple[int, ...]:
    """Numbers of panels, rising."""
    from panewright.io.bench_scale import MOST

    found = set()
    for part in value.split(","):
        number = int(part) if re.fullmatch(r"\s*[0-9]{1,6}\s*", part) else 0
        if not 1 <= number <= MOST:
            raise click.BadParameter(
                tr("{part!r} is no number of panels from 1 to {most}", part=part, most=MOST), ctx, param
            )
        found.add(number)
    return tuple(sorted(found))


def _names(ctx: click.Context, param: click.Parameter, value: str) -> tuple[str, ...]:
    """Names set apart by commas."""
    return tuple(name.strip() for name in value.split(",") if name.strip())


@click.command("bench")
@click.argument("which", metavar="[SET]", type=click.Choice(list(SETS)), default="bwmv")
@options.seconds_option
@options.effort_option
@options.seed_option
@click.option("--classes", callback=_classes, default="1-10", metavar="1,2", help="Only these classes.")
@click.option("--lists", callback=_names, default="", metavar="A1,B2", help="Only these glass lists.")
@click.option(
    "--sizes", callback=_sizes, default="500,5000,50000", metavar="N,N", help="Numbers of panels of `scale`."
)
@click.option(
    "--only", callback=_names, default="", metavar="NAMES", help="Only the problems of these names."
)
@click.option(
    "--sample",
    type=click.IntRange(1, 10**6),
    metavar="N",
    help="Only N of the problems, drawn by the seed of --draw.",
)
@click.option(
    "--draw",
    type=click.IntRange(0, 2**31 - 1),
    default=1,
    show_default=True,
    metavar="SEED",
    help="Seed of the problems that are drawn, and of --sample.",
)
@click.option("--sets", callback=_names, default="A,B", metavar="A,B", help="Only these sets of `challenge`.")
@click.option(
    "--workers",
    type=click.IntRange(1, 64),
    default=1,
    show_default=True,
    metavar="N",
    help="Processes of `challenge` at once, one instance each.",
)
@click.option(
    "--out",
    type=options.file_path,
    metavar="DIR",
    help="New folder for the solutions of `challenge`, as they are published.",
)
@click.option(
    "--server", metavar="URL", help="An empty PostgreSQL database for `store`; default: one is started."
)
@click.option("--profile", is_flag=True, help="Tell quality over time too: all moments from one run.")
@click.option("--no-reference", is_flag=True, help="Leave the reference packers out.")
@click.option(
    "--data",
    type=options.file_path,
    metavar="DIR",
    help="Folder of the published problems; default: PANEWRIGHT_DATA, else ../shared/data.",
)
@options.json_option
@click.pass_context
def command(
    ctx: click.Context,
    which: str,
    seconds: float | None,
    effort: int | None,
    seed: int,
    classes: tuple[int, ...],
    lists: tuple[str, ...],
    sizes: tuple[int, ...],
    only: tuple[str, ...],
    sample: int | None,
    draw: int,
    sets: tuple[str, ...],
    workers: int,
    out: Path | None,
    server: str | None,
    profile: bool,
    no_reference: bool,
    data: Path | None,
    as_json: bool,
) -> None:
    """Measure the optimizer on published problems and on drawn ones.

    \b
    SET is one of
      bwmv             500 bin packing problems, edge-to-edge cuts, no turning
      bwmv-turn        the same, turning allowed
      bwmv-fresh       100 drawn by the rules of their classes, published ones beside
      bwmv-fresh-turn  the same, turning allowed
      weeks            six drawn weeks of a tank shop, one stock size
      weeks-three      the same weeks, three stock sizes
      weeks-offcuts    the same weeks, one stock size and twelve offcuts
      scale            500, 5,000 and 50,000 different panels
      furniture        43 orders of furniture makers, no turning
      furniture-turn   the same, turning allowed
      mixed            30 problems, free levels and two levels
      knapsack         the most value from one sheet
      assorted         100 problems with several sheet sizes
      glass-lists      panel lists of a glass maker, three levels, break-out distance
      challenge        35 lists of the challenge of 2018: racks, flaws, plates in their order
      convex-optimum   270 problems of convex polygons, cuts at any angle, optima known
      angled-glass     eight lists of angled glass panels, cuts at any angle
      angled-weeks     drawn weeks of angled panels, cut singly and in groups
      angled-pairs     10,000 drawn pairs of convex panels
      sequence         what eight drawn weeks and the sample ask of the table
      sample           the sample week of `panewright demo`
      tanks            CPU time from 10,000 drawn tanks to panels, and of a thickness check
      open-orders      the order of sheets: stored problems, optima known, and drawn weeks
      weights          drawn weeks with due days: open and late orders, for how many sheets
      store            queries and commits in a stock store of 1,000,000 movements
      store-races      2,000 commits and withdrawals from 8 processes on one sheet pool
      store-kills      300 processes killed while they commit, record or import
      remake           what breaks, is flawed, cancelled or comes in on a plan of 60 sheets
      engines          104 drawn weeks nested again: one worker, two, and a Dask cluster; wall time
      sizes            which sheet sizes to stock: best pair of ten, list of a hundred
      forecast         24 drawn shops whose law of demand is known: loss beside an oracle's, service, stock

    --seconds are CPU seconds for each problem (default 2; `scale` has its own, `challenge` 10). A problem ends when
    the program's own bound is met. Every result is replayed by the checker.

    \b
    Example:
      panewright bench bwmv --classes 1,7 --seconds 1
      panewright bench weeks --seconds 5 --profile
      panewright bench glass-lists --effort 2000
      panewright bench challenge --sets A --seconds 10 --workers 2 --out solutions
    """
    from panewright.io import kernel_cache, solver_banner

    options.one_limit(seconds, effort)
    _refuse_strangers(ctx, which)

    kernel_cache.prepare()
    solver_banner.hush()

    from panewright.cli.bench_parts import Wanted, seconds_json
    from panewright.cli.searching import CompileNotice
    from panewright.io.bench_run import Limits, prepare

    own_limits = seconds is None and effort is None
    if own_limits and which != "scale":
        seconds = CHALLENGE_SECONDS if which == "challenge" else DEFAULT_SECONDS
    wanted = Wanted(
        which=which,
        data=data,
        limits=Limits(seconds=seconds, effort=effort),
        own_limits=own_limits,
        seed=seed,
        draw=draw,
        sample=sample,
        only=only,
        classes=classes,
        sizes=sizes,
        profile=profile,
        reference=not no_reference,
        server=server,
        sets=sets,
        workers=workers,
        out=out,
    )
    if which not in STORES and which not in ("engines", "challenge"):
        with CompileNotice().watch():
            prepare()
    text, found = _report(wanted, lists)
    if as_json:
        limit = {
            "seconds_a_problem": None if seconds is None else seconds_json(seconds),
            "effort": effort,
        }
        out_json({"set": which, "seed": seed, **limit, **found})
    else:
        say(text)


def _refuse_strangers(ctx: click.Context, which: str) -> None:
    """Refuse options that were given and that this set does not take."""
    for param in ctx.command.params:
        given = ctx.get_parameter_source(param.name or "") is ParameterSource.COMMANDLINE
        if given and param.name not in _COMMON | SETS[which]:
            raise click.UsageError(
                tr("the set {which} does not take {option}", which=which, option=param.opts[-1])
            )


def _report(wanted: Wanted, lists: tuple[str, ...]) -> Report:
    from panewright.cli import bench_knapsack, bench_orders, bench_packing, bench_stock

    turn = wanted.which.endswith("-turn")
    match wanted.which.removesuffix("-turn"):
        case "tanks":
            from panewright.cli.bench_tanks import tanks

            return tanks(wanted)
        case "open-orders":
            from panewright.cli.bench_open import open_orders

            return open_orders(wanted)
        case "weights":
            from panewright.cli.bench_open import weights

            return weights(wanted)
        case "store":
            from panewright.cli.bench_store import scale

            return scale(wanted)
        case "store-races":
            from panewright.cli.bench_store import races

            return races(wanted)
        case "store-kills":
            from panewright.cli.bench_store import kills

            return kills(wanted)
        case "challenge":
            from panewright.cli.bench_challenge import challenge

            return challenge(wanted)
        case "engines":
            from panewright.cli.bench_engines import engines

            return engines(wanted)
        case "sizes":
            from panewright.cli.bench_sizes import sizes

            return sizes(wanted)
        case "remake":
            from panewright.cli.bench_remake import remakes

            return remakes(wanted)
        case "forecast":
            from panewright.cli.bench_forecast import forecasts

            return forecasts(wanted)
        case "sequence":
            from panewright.cli.bench_sequence import sequence

            return sequence(wanted)
        case "angled-weeks":
            from panewright.cli.bench_angled import weeks

            return weeks(wanted)
        case "angled-pairs":
            from panewright.cli.bench_angled import pairs

            return pairs(wanted)
        case "convex-optimum":
            from panewright.cli.bench_polygons import optimum

            return optimum(wanted)
        case "angled-glass":
            from panewright.cli.bench_polygons import glass

            return glass(wanted)
        case "bwmv":
            return bench_packing.bwmv(wanted, turn=turn)
        case "bwmv-fresh":
            return bench_packing.bwmv_fresh(wanted, turn=turn)
        case "furniture":
            return bench_stock.furniture(wanted, turn=turn)
        case "mixed":
            return bench_stock.mixed(wanted)
        case "knapsack":
            return bench_knapsack.knapsack(wanted)
        case "assorted":
            return bench_orders.assorted(wanted)
        case "scale":
            return bench_orders.scale(wanted)
        case "glass-lists":
            return bench_orders.glass_lists(wanted, lists)
        case "sample":
            return bench_orders.sample(wanted)
        case _:
            return bench_orders.weeks(wanted)
