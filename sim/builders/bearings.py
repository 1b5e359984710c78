"""Bearings of the drive's shafts: what each carries by levers, and how they rub."""

import numpy as np

from models.drive import DriveShaft
from models.mechanism import Mechanism, Side
from sim import names
from sim.arrays import Array
from sim.beam import influence, round_second_moment
from sim.friction import Drag, Pull, Rub, Station
from sim.layout import ChainRun
from sim.mass import crank_mass, sprocket_mass


def drive_stations(mechanism: Mechanism, runs: dict[int, ChainRun]) -> tuple[Station, ...]:
    """Give the bearings of the wheel's shaft and of every shaft up to the centre shaft, two each.

    A straight shaft on two bearings shares each load by levers, an overhung wheel lifting the far bearing. A
    chain pulls with its strands' tensions; its weight hangs on both shafts alike where it lies level, and the
    more on the upper one the steeper it runs, all of it where it hangs (statics; a slack strand hangs from
    above).

    Parameters
    ----------
    mechanism : the sculpture.
    runs : of its chain stages, by number.
    """
    found: list[Station] = []
    for k in range(len(mechanism.stages) + 1):
        shaft = mechanism.wheel.shaft if k == 0 else mechanism.stages[k - 1].shaft
        for which in (0, 1):
            found.append(_station(mechanism, runs, k, shaft, which))
    return tuple(found)


def _station(
    mechanism: Mechanism, runs: dict[int, ChainRun], k: int, shaft: DriveShaft, which: int
) -> Station:
    """Give one bearing of the shaft after stage k, the wheel's where k is 0."""
    stages = mechanism.stages
    constant = np.zeros(3)
    pulls: list[Pull] = []
    down = np.array([0.0, 0.0, -mechanism.gravity])
    # The driven sprocket of stage k and the driver of stage k + 1; the wheel's body has its driver's mass, unless a
    # torque limiter parts them.
    own = k > 0 or mechanism.wheel_parted
    for number, driver in ((k, False), (k + 1, True)):
        if not 1 <= number <= len(stages):
            continue
        stage = stages[number - 1]
        share = lever(shaft, stage.out, which)
        if own:
            constant = (
                constant + share * sprocket_mass(stage.driver if driver else stage.driven, stage).mass * down
            )
        if number in runs:
            run = runs[number]
            way = 1.0 if driver else -1.0
            pulls.append(
                Pull(names.stage(number), way * share * run.directions[0], way * share * run.directions[1])
            )
            constant = constant + share * run.weights[0 if driver else 1] * down
    shares = ((names.WHEEL_BEARINGS, lever(shaft, mechanism.wheel.out, which)),) if k == 0 else ()
    return Station(names.shaft_bearing(k, len(stages), which), constant, shares, tuple(pulls))


def lever(shaft: DriveShaft, out: float, which: int) -> float:
    """Give the share of a load at a place along y, m, that the first (0) or second (1) bearing carries."""
    near, far = shaft.bearings
    share = (far - out) / (far - near)
    return share if which == 0 else 1 - share


def shaft_drag(mechanism: Mechanism, runs: dict[int, ChainRun], k: int, force: float) -> Drag:
    """Give the friction of the shaft after stage k: of its two bearings and of the chain that drives it.

    Parameters
    ----------
    mechanism, runs : as in `drive_stations`.
    k : 0 for the wheel's shaft, where there is a drag whatever the load.
    force : that the chain which drives it carries at the start, N.
    """
    count = len(mechanism.stages)
    shaft = mechanism.wheel.shaft if k == 0 else mechanism.stages[k - 1].shaft
    arm: Array = np.array([mechanism.friction.bearing * shaft.diameter / 2])
    rubs = [Rub(names.shaft_bearing(k, count, which), arm) for which in (0, 1)] if count else []
    loss = 0.0
    if k in runs:
        loss = (1 - mechanism.stages[k - 1].efficiency) * runs[k].travel[1]
        rubs.append(Rub(names.stage(k), np.array([loss])))
    on = names.WHEEL if k == 0 else names.stage_shaft(k, count)
    torque = mechanism.friction.wheel_drag if k == 0 else 0.0
    name = names.WHEEL_DRAG if k == 0 else names.shaft_friction(k, count)
    return Drag(name, on, torque, tuple(rubs), mechanism.friction.static, scale=torque + loss * abs(force))


def further_bearings(side: Side) -> tuple[Station, ...]:
    """Give what a crankshaft's bearings beyond two carry, such as a centre bearing between the throws.

    The engine holds the rigid shaft at its two main bearings. What a third one takes follows from the bending of
    a straight shaft: its push is what brings the shaft's deflection there back to the bearing's own give
    (force method; influence of loads at the throws from `sim.beam`). The loads are the rods', at their throws, and
    the bearings' own less those, at the crankshaft's centre of mass. It relieves the two main bearings by levers.

    Parameters
    ----------
    side : with its stations, the two main ones included.
    """
    main = side.crank.bearings
    extra = [s for s in side.crank.stations if s.out not in main]
    if not extra:
        return ()
    outs = np.array([s.out for s in extra])
    throws = np.array([p.throw_out for p in side.panels])
    own = float(crank_mass(side).com[1])
    stiffness = side.crank.material.modulus * round_second_moment(side.crank.shaft)
    among = influence(outs, outs, main, stiffness)
    give = np.diag([0.0 if s.stiffness is None else 1 / s.stiffness for s in extra])
    by_throws = np.linalg.solve(among + give, influence(outs, throws, main, stiffness))
    by_own = np.linalg.solve(among + give, influence(outs, np.array([own]), main, stiffness))[:, 0]
    found: list[Station] = []
    for k in range(len(extra)):
        eyes = [(names.crank_eye(side.name, p.name), float(by_throws[k, j] - by_own[k]))
                for j, p in enumerate(side.panels)]  # fmt: skip
        both = [(names.locating(side.name), float(by_own[k])), (names.radial(side.name), float(by_own[k]))]
        far = float((outs[k] - main[0]) / (main[1] - main[0]))
        relieves = ((names.locating(side.name), 1 - far), (names.radial(side.name), far))
        found.append(Station(names.further(side.name, k + 3), shares=(*eyes, *both), relieves=relieves))
    return tuple(found)
