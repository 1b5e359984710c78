"""The hubs of the drive on their shafts, and the torque through each in a run.

A stage's torque is recorded on its driven side; the driver's hub carries the same times driver over driven teeth, and
the wheel's hub what the first driver does, or without a stage what both couplings do. The inertia of sprockets and
hubs is not taken off.
"""

from dataclasses import dataclass
from fractions import Fraction

from analysis.drive_line import passed_on, stage_torque
from models.mechanism import Mechanism
from sim import names
from sim.arrays import Array
from sim.run import Run


@dataclass(frozen=True)
class Hub:
    """A hub.

    Attributes
    ----------
    name : in words.
    kind : "wheel", "driver", "driven" or "coupling".
    stage : number of its stage; 0 for the wheel, and for couplings the number of stages.
    side : of a coupling, else "".
    shaft : diameter under it, m.
    turns : of the wheel for one of this hub.
    slip : torque at which it slips by description, N m, or None.
    """

    name: str
    kind: str
    stage: int
    side: str
    shaft: float
    turns: float
    slip: float | None


def hubs(mechanism: Mechanism) -> tuple[Hub, ...]:
    """Give all hubs from the wheel to the crankshafts."""
    m, count = mechanism, len(mechanism.stages)
    first = m.wheel.shaft.diameter if count else m.sides[0].crank.shaft
    found = [Hub("wheel hub", "wheel", 0, "", first, 1.0, m.wheel.slip)]
    turns, shaft = Fraction(1), first
    for k, stage in enumerate(m.stages, 1):
        found.append(Hub(f"stage {k} driver hub", "driver", k, "", shaft, float(turns), stage.slips[0]))
        turns *= Fraction(stage.driven, stage.driver)
        shaft = stage.shaft.diameter
        found.append(Hub(f"stage {k} driven hub", "driven", k, "", shaft, float(turns), stage.slips[1]))
    for side in m.sides:
        name = names.coupling(side.name)
        if count:
            found.append(
                Hub(f"{name}, {names.CENTRE}", "coupling", count, side.name, shaft, float(turns), None)
            )
        found.append(
            Hub(f"{name}, crankshaft", "coupling", count, side.name, side.crank.shaft, float(turns), None)
        )
    return tuple(found)


def torque(run: Run, mechanism: Mechanism, hub: Hub) -> Array | None:
    """Give the torque (n,), N m, through a hub, or None where the run does not say.

    Parameters
    ----------
    run : of the mechanism.
    mechanism : the sculpture.
    hub : one of its `hubs`.
    """
    if hub.kind == "coupling":
        channel = f"torques/{names.coupling(hub.side)}/torque"
        return run[channel] if channel in run.channels else None
    if hub.kind == "wheel":
        return passed_on(run, mechanism)
    driven = stage_torque(run, hub.stage, len(mechanism.stages))
    if driven is None or hub.kind == "driven":
        return driven
    stage = mechanism.stages[hub.stage - 1]
    return driven * stage.driver / stage.driven


def slips(mechanism: Mechanism, hub: Hub) -> tuple[float, str] | None:
    """Give the least torque, N m, at a hub at which something before it slips, with its name; None where nothing does.

    Counts for a push at the wheel alone: hubs and limiter between the wheel and this hub, their torque times the turns
    that they make for one of this hub.
    """
    found: list[tuple[float, str]] = []
    for other in hubs(mechanism):
        if other.slip is not None and other.kind != "coupling" and other.turns <= hub.turns:
            found.append((other.slip * hub.turns / other.turns, other.name))
    limiter = mechanism.limiter
    if limiter is not None:
        at = next(h for h in hubs(mechanism) if h.stage == limiter.at and h.kind in ("wheel", "driven"))
        if at.turns <= hub.turns:
            found.append((limiter.torque * hub.turns / at.turns, names.LIMITER))
    return min(found, default=None)
