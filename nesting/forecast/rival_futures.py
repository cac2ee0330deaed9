"""Futures by the method that won: a rival's paths in whole sheets, in the place of the simulation's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace
from typing import Final

import numpy as np

from .futures import Futures
from .rivals import ALL, Past, whole

_PURPOSE: Final = 8_3


def rival_futures(
    name: str,
    past: Past,
    simulated: Futures,
    *,
    shut: AbstractSet[int] = frozenset(),
    seed: int = 0,
) -> Futures:
    """What a rival foretells, with as many futures and for the same weeks as a simulation.

    No week takes less than its open orders alone would take, and shut weeks take nothing.

    Parameters
    ----------
    name
        Of the rival (see `rivals.ALL`).
    past
        Of the same day.
    simulated
        By the simulation of orders; it gives weeks, series and what open orders take.
    shut
        Weeks in which nothing is cut.
    seed
        Of the draws; every method and day has a stream of its own.
    """
    key = (seed, _PURPOSE, simulated.first, *name.encode())
    rng = np.random.Generator(np.random.Philox(np.random.SeedSequence(key)))
    paths = whole(ALL[name](past, len(simulated.sheets), rng))
    sheets = np.zeros_like(simulated.sheets)
    weeks = range(simulated.first, simulated.first + sheets.shape[1])
    sheets[:, [k for k, week in enumerate(weeks) if week not in shut]] = paths
    return replace(simulated, sheets=np.maximum(sheets, simulated.known).astype(np.int32))


def by_choice(
    simulated: Futures,
    glasses: Sequence[str],
    chosen: Mapping[str, str],
    past: Past,
    *,
    shut: AbstractSet[int] = frozenset(),
    seed: int = 0,
) -> Futures:
    """The simulation, and for the glasses that another method won that method's paths.

    Parameters
    ----------
    glasses
        The glass of each series.
    chosen
        Method by glass; one that is no rival leaves the simulation.
    """
    sheets = simulated.sheets.copy()
    for name in sorted(set(chosen.values()) & set(ALL)):
        mine = [s for s, glass in enumerate(glasses) if chosen.get(glass) == name]
        sheets[:, :, mine] = rival_futures(name, past, simulated, shut=shut, seed=seed).sheets[:, :, mine]
    return replace(simulated, sheets=sheets)
