"""Worst loads at every bearing, rod end, hinge and chain of a run, and the envelope over runs.

Usage: python -m analysis.bearing_loads RUN...
"""

from collections.abc import Iterable

import numpy as np

from analysis.finding import Finding, worst
from analysis.handle import at, stands
from analysis.script import script
from models.mechanism import Mechanism, from_canonical
from sim import names
from sim.run import Run

ENGINE = "constraint forces of the simulated run"
CLOSED = "closed-form statics"
LEVERS = "levers on a straight shaft, from the wheel's bearing force, the strands' tensions and weights"
BENDING = "bending of a straight shaft over its bearings (force method), from the rods' forces and its weight"
STRANDS = "two strands that only pull, with the description's slack"
LARGEST = "largest force"
RMS = "rms force"
MOMENT = "largest moment"
PULL = "largest pull of a strand"
TIGHTER = "least pull of the tighter strand"
SLACKER = "least pull of the slacker strand"
ONCE = (RMS, TIGHTER, SLACKER)
"""What belongs to one run: no envelope of largest values has it."""
STRAND_WORDS = {
    "a": "strand a, which is taut when the wheel drives forward",
    "b": "strand b, which is taut when the wheel is driven or turns backward",
}


def findings(run: Run) -> list[Finding]:
    """Give the largest and the rms force at every joint of a run, with its direction, and the chains' pulls."""
    mechanism = from_canonical(run.description)
    notes, sources = _notes(mechanism), _sources(mechanism)
    joints = run.names("joints")
    found: list[Finding] = []
    for joint in joints:
        # With stages the two bearings of the wheel's shaft share what this joint carries for both.
        if joint == names.WHEEL_BEARINGS and any(j.startswith(names.WHEEL_SHAFT) for j in joints):
            continue
        found += _joint(run, joint, notes.get(joint, ""), sources.get(joint, ""))
    for chain in run.names("chains"):
        found += _chain(run, mechanism, chain)
    return found


def _joint(run: Run, joint: str, words: str, source: str) -> list[Finding]:
    channel = f"joints/{joint}/force"
    e = run.extreme(channel, "largest")
    x, y, z = e.vector
    source = source or (CLOSED if stands(run) else ENGINE)
    note = f"on it: forward {x:.0f} N, left {y:.0f} N, up {z:.0f} N" + (f"; {words}" if words else "")
    found = [Finding(LARGEST, e.value, "force", joint, run.label, *at(run, e), source=source, note=note)]
    found += _moment(run, joint, source)
    if not stands(run):
        rms = float(np.sqrt(np.mean(run.channels[channel].size ** 2)))
        found.append(Finding(RMS, rms, "force", joint, run.label, source=source))
    return found


def _moment(run: Run, joint: str, source: str) -> list[Finding]:
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
        Finding(MOMENT, e.value, "torque", joint, run.label, *at(run, e), source=source,
                note="about the middle of the joint, square to its axis; its pins share it as the moment over "
                "their distance, on top of the force")
    ]  # fmt: skip


def _chain(run: Run, mechanism: Mechanism, chain: str) -> list[Finding]:
    """Give the largest pull of a chain's strands, and how little they are pulled in between."""
    strands = {s: run.extreme(f"chains/{chain}/tension {s}", "max") for s in STRAND_WORDS}
    hardest = max(strands, key=lambda s: strands[s].value)
    e = strands[hardest]
    found = [
        Finding(PULL, e.value, "force", chain, run.label, *at(run, e), source=STRANDS,
                note=f"{STRAND_WORDS[hardest]}; the chain's weight and the pull of turning come on top")
    ]  # fmt: skip
    if stands(run):
        return found
    a, b = (run[f"chains/{chain}/tension {s}"] for s in "ab")
    tighter = float(np.min(np.maximum(a, b)))
    loose = "both hang loose in between" if tighter == 0 else "one of them is always taut"
    found.append(Finding(TIGHTER, tighter, "force", chain, run.label, source=STRANDS, note=loose))
    number = next((k for k in range(1, len(mechanism.stages) + 1) if names.stage(k) == chain), None)
    stage = None if number is None else mechanism.stages[number - 1]
    if stage is not None and (stage.tight > 0 or stage.tensioner is not None):
        least = float(np.min(np.minimum(a, b)))
        how = "set tight" if stage.tight > 0 else "with its tensioner"
        note = f"{how}, {'it still falls slack' if least == 0 else 'it stays taut'}"
        found.append(Finding(SLACKER, least, "force", chain, run.label, source=STRANDS, note=note))
    return found


def _notes(mechanism: Mechanism) -> dict[str, str]:
    """Give what else to know of a joint's force, by its name."""
    stages = mechanism.stages
    if not stages:
        words = (
            "the wheel's weight and inertia; it sits on the crankshafts, whose bearings carry this as well"
        )
        return {names.WHEEL_BEARINGS: words}
    found: dict[str, str] = {}
    for k in range(len(stages) + 1):
        beside = stages[max(0, k - 1) : k + 1]
        chains = any(s.kind == "chain" for s in beside)
        parts = ["with the chains' pull and weight"] if chains else []
        if any(s.kind == "direct" for s in beside):
            parts.append("without what the two wheels of a direct stage put on each other")
        for which in (0, 1):
            found[names.shaft_bearing(k, len(stages), which)] = "; ".join(parts)
    return found


def _sources(mechanism: Mechanism) -> dict[str, str]:
    """Give how a force that the engine has no joint for was found, by the joint's name."""
    count = len(mechanism.stages)
    found = {names.shaft_bearing(k, count, which): LEVERS for k in range(count + 1) for which in (0, 1)}
    for side in mechanism.sides:
        crank = side.crank
        extra = len(crank.stations) - len(crank.bearings)
        found |= {names.further(side.name, 3 + k): BENDING for k in range(extra)}
        if extra > 0:
            main = (names.locating(side.name), names.radial(side.name))
            found |= dict.fromkeys(main, f"{ENGINE}, less what its further bearings take")
    return found


def envelope(runs: Iterable[Run]) -> list[Finding]:
    """Give for each joint and chain the worst of the runs, with its case."""
    return worst(f for run in runs for f in findings(run) if f.what not in ONCE)


if __name__ == "__main__":
    script(findings, __doc__)
