"""How builds within tolerances scatter: each reading's range, which tolerance moves it, and the share that passes."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import stats as _stats  # pyright: ignore[reportMissingTypeStubs]

from analysis.sweep.builds import Build
from analysis.sweep.reading import Reading
from analysis.sweep.tolerances import Tolerance
from sim.arrays import Array

stats: Any = _stats
"""Its own type information leaves arguments open."""
SURE = 0.05
"""Chance that any of all the correlations named is one of chance alone (Bonferroni's division by their number)."""
ALIKE = 1e-4
"""Share of its size by which a reading has to vary to count as varying: no less than a run's own steps leave open."""
PERCENT = (5.0, 50.0, 95.0)


@dataclass(frozen=True)
class Mover:
    """A tolerance that moves a reading, and Spearman's rank correlation of the two."""

    field: str
    correlation: float


@dataclass(frozen=True)
class Scatter:
    """A reading over all builds.

    Attributes
    ----------
    nominal : of the description itself.
    low, middle, high : 5th, 50th and 95th percentile, SI.
    share : of the builds that could be run, those within its limit; NaN without a limit.
    movers : the tolerances that move it more than chance would, the strongest first.
    """

    nominal: Reading
    low: float
    middle: float
    high: float
    share: float
    movers: tuple[Mover, ...]


@dataclass(frozen=True)
class Share:
    """A share of builds with the interval that it lies in with 95 % confidence, of Wilson's kind."""

    value: float
    low: float
    high: float


def scatters(
    nominal: Build, builds: Sequence[Build], tolerances: Sequence[Tolerance], shares: Array
) -> list[Scatter]:
    """Give every reading of the nominal build over all builds.

    Parameters
    ----------
    nominal : the description itself, run.
    builds : (n) drawn within the tolerances.
    tolerances : (t).
    shares : (n, t) what each build is off by, as `tolerances.draws` gives it.
    """
    ran = [k for k, b in enumerate(builds) if not b.reason]
    by_name = [{r.name: r for r in builds[k].readings} for k in ran]
    tests = max(1, len(tolerances) * len(nominal.readings))
    found: list[Scatter] = []
    for r in nominal.readings:
        there = [k for k, own in enumerate(by_name) if r.name in own]
        values = np.array([by_name[k][r.name].value for k in there])
        beyond = sum(by_name[k][r.name].beyond for k in there)
        low, middle, high = np.percentile(values, PERCENT) if len(values) else (np.nan,) * 3
        moved = _movers(values, shares[[ran[k] for k in there]], tolerances, tests)
        share = float("nan") if r.limit is None or not ran else 1 - beyond / len(ran)
        found.append(Scatter(r, float(low), float(middle), float(high), share, moved))
    return found


def _movers(values: Array, shares: Array, tolerances: Sequence[Tolerance], tests: int) -> tuple[Mover, ...]:
    """Give the tolerances whose rank correlation with values (n,) is beyond what chance gives one in `SURE` times."""
    n = len(values)
    if n < 4 or not varies(values):
        return ()
    ranks = _ranked(values[:, None])[:, 0]
    found = [Mover(t.field, float(c)) for t, c in zip(tolerances, ranks @ _ranked(shares), strict=True)]
    # Without any relation the correlation of n ranks is nearly normal with a deviation of 1 / sqrt(n - 1).
    least = float(stats.norm.ppf(1 - SURE / (2 * tests))) / np.sqrt(n - 1)
    return tuple(sorted((m for m in found if abs(m.correlation) > least), key=lambda m: -abs(m.correlation)))


def varies(values: Array) -> bool:
    """Say whether values (n,) differ by more than a ten-thousandth of their size."""
    return len(values) > 0 and float(np.ptp(values)) > ALIKE * float(np.max(np.abs(values)))


def _ranked(columns: Array) -> Array:
    """Give the ranks of columns (n, t), each centred and of length one; zeros for a column that does not vary."""
    ranks = np.asarray(stats.rankdata(columns, axis=0), dtype=float)
    ranks -= ranks.mean(axis=0)
    size = np.linalg.norm(ranks, axis=0)
    return ranks / np.where(size > 0, size, 1.0)


def share(builds: Sequence[Build], kept: Sequence[Reading] | None = None) -> Share:
    """Give the share of builds that pass every limit, or those of some readings.

    Parameters
    ----------
    builds : one that could not be run does not pass.
    kept : of the readings whose limits count; by default all.
    """
    names = None if kept is None else {r.name for r in kept}
    passing = sum(
        not b.reason and all(names is not None and r.name not in names for r in b.beyond) for b in builds
    )
    interval = stats.binomtest(passing, len(builds)).proportion_ci(method="wilson")
    return Share(passing / len(builds), float(interval.low), float(interval.high))
