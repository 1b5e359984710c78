"""Worst loads at every bearing, rod end and hinge of a run, and the envelope over runs.

Usage: python -m analysis.bearing_loads RUN...
"""

from collections.abc import Iterable

import numpy as np

from analysis.finding import Finding, worst
from analysis.script import script
from sim import names
from sim.run import Run

SOURCE = "constraint forces of the simulated run"
LARGEST = "largest force"
RMS = "rms force"
MOMENT = "largest moment"


def findings(run: Run) -> list[Finding]:
    """Give the largest and the rms force at every joint of a run, with its direction."""
    found: list[Finding] = []
    wheel = "weight and unbalance only; the chain's pull is given with the chain" if _chained(run) else ""
    for joint in run.names("joints"):
        channel = f"joints/{joint}/force"
        e = run.extreme(channel, "largest")
        x, y, z = e.vector
        note = f"on it: forward {x:.0f} N, left {y:.0f} N, up {z:.0f} N"
        if joint == names.WHEEL_BEARINGS and wheel:
            note = f"{note}; {wheel}"
        found.append(
            Finding(LARGEST, e.value, "force", joint, run.label, e.time, e.crank, source=SOURCE, note=note)
        )
        found += _moment(run, joint)
        rms = float(np.sqrt(np.mean(run.channels[channel].size ** 2)))
        found.append(Finding(RMS, rms, "force", joint, run.label, source=SOURCE))
    for stage in run.names("chains"):
        e = run.extreme(f"chains/{stage}/tension", "max")
        found.append(
            Finding("largest pull of the tight strand", e.value, "force", stage, run.label, e.time, e.crank,
                    source="torque over N p / 2 pi of an ideal chain",
                    note="without slack, shock, pretension or the chain's weight; adds to its shafts' bearings")
        )  # fmt: skip
    return found


def _moment(run: Run, joint: str) -> list[Finding]:
    """Give the largest moment of a joint that carries one: hinges, and bearings counted as one joint."""
    channel = f"joints/{joint}/moment"
    if channel not in run.channels:
        return []
    e = run.extreme(channel, "largest")
    force = run.extreme(f"joints/{joint}/force", "largest")
    # A force less than a millimetre off the joint's middle would make as much: rounding, or a spin lock.
    if e.value < 1e-3 * force.value:
        return []
    return [
        Finding(MOMENT, e.value, "torque", joint, run.label, e.time, e.crank, source=SOURCE,
                note="about the middle of the joint, square to its axis; its pins share it as the moment over "
                "their distance, on top of the force")
    ]  # fmt: skip


def envelope(runs: Iterable[Run]) -> list[Finding]:
    """Give for each joint and chain the worst of the runs, with its case."""
    return worst(f for run in runs for f in findings(run) if f.what != RMS)


def _chained(run: Run) -> bool:
    return bool(run.names("chains"))


if __name__ == "__main__":
    script(findings, __doc__)
