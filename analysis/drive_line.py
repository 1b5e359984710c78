"""What the drive carries on its way: couplings, hubs, torque limiter, chains as they fall slack, sides apart.

Torques are those recorded. A hub carries the torque of its stage: on the driven side what the run says, on the
driver's the same less the ratio, so that the chain's net force times the travel radius of that sprocket. The
inertia of a sprocket and its hub is not taken off.

Usage: python -m analysis.drive_line RUN...
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from analysis import motion
from analysis.finding import Finding, Limit
from analysis.handle import at, stands
from analysis.script import script
from models.drive import Coupling
from models.mechanism import Mechanism, from_canonical
from sim import names
from sim.arrays import Array
from sim.builders.drive import LIMITER_GIVE
from sim.impact import IMPACT
from sim.run import Run

Marks = NDArray[np.int_]
Flags = NDArray[np.bool_]

RUN = "simulated run"
CLOSED = "closed-form statics"
GUIDANCE = "rating over service factor, makers' guidance"
PRACTICE = "an elastic insert fails when the reversing peak exceeds its rating; common practice, no source"
SLIP = "slip torque of the description"
PEAK = "peak torque"
REVERSING = "peak reversing torque"
THROUGH = "largest torque through it"
INSERT = "peak reversing torque against the insert's rating"
TAKEN_UP = "largest pull just after a slack strand is taken up"
LOADS = (PEAK, REVERSING, INSERT, THROUGH)
"""What an envelope over runs is made of, larger being worse."""
ORDINARY = ("turn", "crank")
"""Cases of ordinary use, in which a torque limiter is meant to hold."""
SLIPPED = Limit(LIMITER_GIVE, "most", "what gives before it slips; it is meant to hold in ordinary use")
NOISE = 0.01
"""Share of a chain's largest net force below which it counts as carrying nothing."""
LEAST_TURN = 0.25
"""Turns of the crank from which reversals are counted for a turn."""
ALIKE = 1e-6
"""Difference of two panels' angles, rad, below which it is rounding."""


def findings(run: Run) -> list[Finding]:
    """Give the findings of the drive of a run; nothing where the run recorded nothing."""
    if len(run.time) == 0:
        return []
    mechanism = from_canonical(run.description)
    found = [f for side in mechanism.sides for f in _coupling(run, side.name, side.crank.coupling)]
    found += _hubs(run, mechanism)
    if not stands(run):
        found += _limiter(run, mechanism)
        for stage in run.names("chains"):
            found += _slack(run, stage)
        found += _clocking(run, mechanism)
    return found


# --- Couplings ---


def _coupling(run: Run, side: str, coupling: Coupling) -> list[Finding]:
    """Give the peak and the reversing peak of a coupling, against its rating where it has one."""
    name = names.coupling(side)
    channel = f"torques/{name}/torque"
    if channel not in run.channels:
        return []
    high, low = run.extreme(channel, "max"), run.extreme(channel, "min")
    rated, limit = coupling.rated, None
    if rated is not None:
        words = f"{GUIDANCE}; {rated:.4g} N m over {coupling.service:.3g}"
        limit = Limit(rated / coupling.service, "most", words)
    e = max((high, low), key=lambda x: abs(x.value))
    way = "drives the crank forward" if e.value > 0 else "holds the crank back"
    source = CLOSED if stands(run) else RUN
    found = [Finding(PEAK, abs(e.value), "torque", name, run.label, *at(run, e), limit, source, way)]
    if stands(run):
        return found
    less = min((high, low), key=lambda x: abs(x.value))
    back = max(0.0, min(high.value, -low.value))
    when = at(run, less) if back > 0 else (None, None)
    note = "the smaller of its peaks either way" if back > 0 else "it never reverses"
    found.append(Finding(REVERSING, back, "torque", name, run.label, *when, limit, RUN, note))
    if rated is not None and coupling.kind == "elastic":
        found.append(
            Finding(INSERT, back, "torque", name, run.label,
                    *when, Limit(rated, "most", PRACTICE), RUN, note)
        )  # fmt: skip
    return found


# --- Hubs and limiter ---


def _hubs(run: Run, mechanism: Mechanism) -> list[Finding]:
    """Give the largest torque through every hub that has a slip torque."""
    stages = mechanism.stages
    found: list[Finding] = []
    if mechanism.wheel.slip is not None:
        found += _hub(run, "wheel hub", _passed_on(run, mechanism), mechanism.wheel.slip)
    for k, stage in enumerate(stages, 1):
        driven, driver = stage_torque(run, k, len(stages)), None
        if driven is not None:
            driver = driven * stage.driver / stage.driven
        for word, torque, slip in zip(("driver", "driven"), (driver, driven), stage.slips, strict=True):
            if slip is not None:
                found += _hub(run, f"stage {k} {word} hub", torque, slip)
    return found


def _hub(run: Run, name: str, torque: Array | None, slip: float) -> list[Finding]:
    if torque is None:
        return []
    k = int(np.argmax(np.abs(torque)))
    time = None if stands(run) else float(run.time[k])
    return [
        Finding(THROUGH, float(abs(torque[k])), "torque", name, run.label, time,
                float(_crank(run)[k]), Limit(slip, "most", SLIP), CLOSED if stands(run) else RUN,
                "its sprocket's own inertia is not taken off")
    ]  # fmt: skip


def _passed_on(run: Run, mechanism: Mechanism) -> Array | None:
    """Give the torque (n,), N m, that the wheel passes on to its shaft, or None where the run does not say."""
    if mechanism.stages:
        driven = stage_torque(run, 1, len(mechanism.stages))
        first = mechanism.stages[0]
        return None if driven is None else driven * first.driver / first.driven
    channels = [f"torques/{names.coupling(s.name)}/torque" for s in mechanism.sides]
    there = [run[c] for c in channels if c in run.channels]
    return np.sum(there, axis=0) if there else None


def stage_torque(run: Run, number: int, count: int) -> Array | None:
    """Give the torque (n,), N m, on the driven side of a stage, or None where the run does not say."""
    for name in (names.stage(number), names.stage_shaft(number, count)):
        if f"torques/{name}/torque" in run.channels:
            return run[f"torques/{name}/torque"]
    return None


def _limiter(run: Run, mechanism: Mechanism) -> list[Finding]:
    """Give how near the torque limiter comes to slipping, and how far it slips."""
    limiter, channel = mechanism.limiter, f"torques/{names.LIMITER}/torque"
    if limiter is None or channel not in run.channels:
        return []
    torque, crank = run[channel], _crank(run)
    k = int(np.argmax(np.abs(torque)))
    apart = slipped(run, mechanism)
    far = int(np.argmax(apart))
    does = "it slips" if apart[far] > LIMITER_GIVE else "it holds"
    return [
        Finding("largest torque through it over its slip torque", float(abs(torque[k])) / limiter.torque,
                "ratio", names.LIMITER, run.label, float(run.time[k]), float(crank[k]), source=RUN, note=does),
        Finding("largest angle by which it has slipped", float(apart[far]), "angle", names.LIMITER, run.label,
                float(run.time[far]), float(crank[far]), SLIPPED if run.case in ORDINARY else None, RUN,
                "from where it was, what gives elastically taken off"),
    ]  # fmt: skip


def slipped(run: Run, mechanism: Mechanism) -> Array:
    """Give the angle (n,), rad, by which a run's torque limiter has slipped from where it was.

    The two sides' difference since the start less the torque over the stiffness of what holds them, slip torque
    over `sim.builders.drive.LIMITER_GIVE`.

    Parameters
    ----------
    run : of a sculpture with a limiter.
    mechanism : that sculpture.
    """
    limiter = mechanism.limiter
    assert limiter is not None
    if limiter.at == 0:
        a, b = names.WHEEL, names.WHEEL_SHAFT
    else:
        a, b = names.driven_sprocket(limiter.at), names.stage_shaft(limiter.at, len(mechanism.stages))
    ahead = run[f"angles/{a}/angle"] - run[f"angles/{b}/angle"]
    given = run[f"torques/{names.LIMITER}/torque"] / limiter.torque * LIMITER_GIVE
    return np.abs(ahead - ahead[0] - (given - given[0]))


# --- Chains that fall slack ---


def reversals(net: Array, threshold: float) -> Marks:
    """Give the entries at which a force changes its sign for good: it has passed the threshold the other way.

    Parameters
    ----------
    net : (n,).
    threshold : 0 or more; what stays within it on either side is no reversal.
    """
    loaded = np.flatnonzero(np.abs(net) > threshold)
    signs = np.sign(net[loaded])
    return loaded[1:][signs[1:] != signs[:-1]]


def _slack(run: Run, stage: str) -> list[Finding]:
    """Give how often a chain's torque reverses, and how hard a slack strand is taken up again."""
    a, b = (run[f"chains/{stage}/tension {s}"] for s in "ab")
    crank = _crank(run)
    net = a - b
    count = len(reversals(net, NOISE * float(np.max(np.abs(net)))))
    turns = float(np.sum(np.abs(np.diff(crank)))) / (2 * np.pi)
    loose = _share(run, np.maximum(a, b) == 0)
    many = turns >= LEAST_TURN
    what = "reversals of its torque" + (" per turn of the crank" if many else "")
    found = [
        Finding(what, count / turns if many else float(count), "ratio" if many else "count", stage,
                run.label, source=RUN,
                note=f"{count} over {turns:.3g} turns to and fro; both strands loose for {100 * loose:.3g} % of "
                "the time")
    ]  # fmt: skip
    strand, e = max(
        ((s, run.extreme(f"chains/{stage}/impact {s}", "max")) for s in "ab"), key=lambda x: x[1].value
    )
    if e.value > 0:
        found.append(
            Finding(TAKEN_UP, e.value, "force", stage, run.label, *at(run, e), source=RUN,
                    note=f"strand {strand}, within {IMPACT:g} s of the hardest take-up; "
                    f"{_sureness(run, stage, strand)}")
        )  # fmt: skip
    return found


def _share(run: Run, when: Flags) -> float:
    """Give the share of a run's time in which something (n,) is so."""
    step = np.diff(run.time, prepend=0.0)
    total = float(np.sum(step))
    return float(np.sum(step[when])) / total if total > 0 else 0.0


def _sureness(run: Run, stage: str, strand: str) -> str:
    """Say how far an impact's figure can be trusted, from the run's own check of its steps."""
    channel = f"chains/{stage}/impact {strand}"
    for peak in run.peaks:
        if peak.channel == channel and peak.kind == "max":
            return f"it moves by {100 * peak.moved:.2g} % as the step is halved twice"
    return "not checked with finer steps"


# --- Left against right ---


def _clocking(run: Run, mechanism: Mechanism) -> list[Finding]:
    """Give for each panel how far left and right are apart in a run, wind-up and backlash included."""
    found: list[Finding] = []
    crank = _crank(run)
    for first, other in pairwise(mechanism.sides):
        for panel in first.panels:
            apart = run[f"panels/{first.name} {panel.name}/angle"]
            apart = apart - run[f"panels/{other.name} {panel.name}/angle"]
            apart = np.abs((apart + np.pi) % (2 * np.pi) - np.pi)
            k = int(np.argmax(apart))
            alike = apart[k] < ALIKE
            when = (None, None) if alike else (float(run.time[k]), float(crank[k]))
            words = "key angle, wind-up and backlash of the couplings, and what differs in the sides"
            found.append(
                Finding(motion.APART, float(apart[k]), "angle", panel.name, run.label, *when, source=RUN,
                        note="they move as one" if alike else words)
            )  # fmt: skip
    return found


def _crank(run: Run) -> Array:
    """Give the angle (n,), rad, of the first crankshaft."""
    return run[f"angles/{next(n for n in run.names('angles') if n.endswith('crankshaft'))}/angle"]


if __name__ == "__main__":
    script(findings, __doc__)
