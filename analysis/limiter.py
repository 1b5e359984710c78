"""The window of a torque limiter: above what ordinary use takes, below what the weakest part carries.

Only parts whose capacity the description or a standard says are counted: coupling ratings, hubs' slip torques,
and the chains' minimum ultimate strength. Shafts, keys and rod ends are not yet among them.
"""

from collections.abc import Iterable

import numpy as np

from analysis.drive_line import ORDINARY
from analysis.finding import Finding, Limit
from models.mechanism import Mechanism
from sim import names
from sim.run import Run
from sim.sprocket import travel_radius

CASE = "all load cases"
NO_40 = 13.9e3
"""Minimum ultimate strength of chain of half-inch pitch, N: ASME B29.1 table (read)."""
HALF_INCH = 0.0127
MARGIN = 1.25
"""Least factor of a limiter's slip torque over ordinary use, or the weakest part over the slip torque; assumption."""


def of_runs(runs: Iterable[Run], mechanism: Mechanism) -> list[Finding]:
    """Give both edges of the window at the limiter, and how its slip torque lies to them.

    Parameters
    ----------
    runs : of all load cases; those of ordinary use make the lower edge.
    mechanism : the sculpture; without a limiter there is nothing to say.
    """
    limiter = mechanism.limiter
    if limiter is None:
        return []
    slip = limiter.torque
    used = [run.channels[f"torques/{names.LIMITER}/torque"].size for run in runs
            if run.case in ORDINARY and f"torques/{names.LIMITER}/torque" in run.channels]  # fmt: skip
    found: list[Finding] = []
    if used:
        most = max(float(np.max(np.abs(torque))) for torque in used)
        found.append(
            Finding("largest torque of ordinary use", most, "torque", names.LIMITER, CASE,
                    limit=Limit(slip / MARGIN, "most", f"slip torque over {MARGIN}, assumption"),
                    source="simulated runs of turning and cranking", note="lower edge of its window")
        )  # fmt: skip
    known = capacities(mechanism)
    if known:
        weakest = min(known, key=lambda name: known[name])
        found.append(
            Finding("weakest part's capacity, as torque at the limiter", known[weakest], "torque", names.LIMITER,
                    CASE, limit=Limit(slip * MARGIN, "least", f"slip torque times {MARGIN}, assumption"),
                    source="ratings and slip torques of the description; chains: minimum ultimate strength, ASME "
                    "B29.1 (read for half-inch pitch, in proportion to pitch squared for others)",
                    note=f"upper edge of its window: {weakest}; parts without a known capacity are not counted")
        )  # fmt: skip
    return found


def capacities(mechanism: Mechanism) -> dict[str, float]:
    """Give the torque at the limiter, N m, that each part with a known capacity carries, by the part's name.

    Torques count from the wheel to the cranks, nothing lost; a coupling may have to carry all of it alone.
    """
    limiter = mechanism.limiter
    assert limiter is not None
    steps = [1.0]
    for stage in mechanism.stages:
        steps.append(steps[-1] * stage.driven / stage.driver)
    here = steps[limiter.at]
    found: dict[str, float] = {}
    if mechanism.wheel.slip is not None:
        found["wheel hub"] = mechanism.wheel.slip * here
    for k, stage in enumerate(mechanism.stages, 1):
        for word, at, slip in zip(("driver", "driven"), (k - 1, k), stage.slips, strict=True):
            if slip is not None:
                found[f"stage {k} {word} hub"] = slip * here / steps[at]
        if stage.kind == "chain":
            strength = NO_40 * (stage.pitch / HALF_INCH) ** 2
            found[names.stage(k)] = strength * travel_radius(stage.driver, stage.pitch) * here / steps[k - 1]
    for side in mechanism.sides:
        rated = side.crank.coupling.rated
        if rated is not None:
            found[names.coupling(side.name)] = rated * here / steps[-1]
    return found
