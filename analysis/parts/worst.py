"""The worst of a quantity over load cases, where no finding has it: it is worked out at every instant of every run."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from analysis.loads import BOUND, USED, Loads
from sim.arrays import Array
from sim.run import Run

Series = Callable[[Run], Array | None]
"""Gives a quantity (n,) of a run, or None where the run does not say."""


@dataclass(frozen=True)
class Worst:
    """The largest size of a quantity.

    Attributes
    ----------
    value : SI, 0 or more.
    case : the load case, by its name.
    crank : angle of the first crankshaft there, rad.
    label : of the run.
    index : of the instant in the run.
    """

    value: float
    case: str
    crank: float | None
    label: str
    index: int


def met(loads: Loads, series: Series) -> Worst | None:
    """Give the worst over all cases but blocked panels, which are an upper bound."""
    return _worst(loads, lambda kind: kind != BOUND, series)


def used(loads: Loads, series: Series) -> Worst | None:
    """Give the worst over the cases in which everything runs as it should."""
    return _worst(loads, lambda kind: kind in USED, series)


def bound(loads: Loads, series: Series) -> Worst | None:
    """Give the upper bound with a panel or crank blocked."""
    return _worst(loads, lambda kind: kind == BOUND, series)


def among(loads: Loads, kinds: tuple[str, ...], series: Series) -> Worst | None:
    """Give the worst over some kinds of case."""
    return _worst(loads, lambda kind: kind in kinds, series)


def _worst(loads: Loads, counts: Callable[[str], bool], series: Series) -> Worst | None:
    best: Worst | None = None
    for group in loads.campaign.groups:
        if not counts(group.case.kind):
            continue
        for run in group.runs:
            values = series(run)
            if values is None or len(values) == 0:
                continue
            k = int(np.argmax(np.abs(values)))
            size = float(abs(values[k]))
            if best is None or size > best.value:
                best = Worst(size, group.name, crank_at(run, k), run.label, k)
    return best


def crank_at(run: Run, index: int) -> float | None:
    """Give the angle, rad, of the first crankshaft at an instant; None where the run has none."""
    name = next((n for n in run.names("angles") if n.endswith("crankshaft")), None)
    if name is None:
        return None
    angle = run[f"angles/{name}/angle"]
    return float(angle[index]) if index < len(angle) else None
