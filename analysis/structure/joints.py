"""What a moving piece puts on its post through every joint that is fixed to it, from a run's channels.

Summed at the foot of the post this is the weights of all that moves less their rate of momentum, and the couple of
whoever turns the wheel: the joints' forces are what the moving part puts on the part nearer the ground.
"""

import numpy as np

from analysis.structure.acting import Acting, acting
from models.mechanism import Mechanism, Side
from sim import names
from sim.arrays import Array
from sim.layout import shaft_places
from sim.run import Run
from sim.shaft.crank import bearing_joints

Point = tuple[float, float, float]


def grounded(m: Mechanism) -> dict[str, Point]:
    """Give every joint that is fixed to the post or what stands on it, with its place from the post's foot, m."""
    found: dict[str, Point] = {}
    for side in m.sides:
        found |= _of_side(m, side)
    places, _ = shaft_places(m)
    if not m.stages:
        return found | {names.WHEEL_BEARINGS: (0.0, m.wheel.out, m.wheel.height)}
    for k, (forward, up) in enumerate(places):
        shaft = m.wheel.shaft if k == 0 else m.stages[k - 1].shaft
        for which, out in enumerate(shaft.bearings):
            at = (forward, out, m.crank_height + up)
            found[names.shaft_bearing(k, len(m.stages), which)] = at
    return found


def _of_side(m: Mechanism, side: Side) -> dict[str, Point]:
    at = {
        joint: (0.0, side.sign * station.out, m.crank_height)
        for joint, station in zip(bearing_joints(side), side.crank.stations, strict=True)
    }
    inner = side.panels[0]
    hinge = (inner.hinge_forward, side.sign * inner.hinge_out, m.crank_height + inner.hinge_up)
    return at | {names.hinge(side.name, inner.name): hinge}


def carried(run: Run, m: Mechanism) -> tuple[Acting, ...]:
    """Give what a run's joints put on the post; the drive's friction turns it along too.

    Raises
    ------
    KeyError
        Where the run lacks the force of one of the joints.
    """
    found: list[Acting] = []
    for joint, place in grounded(m).items():
        moment = run.channels.get(f"joints/{joint}/moment")
        found.append(
            acting(run[f"joints/{joint}/force"], np.array(place), None if moment is None else moment.values)
        )
    found += [_rubbing(run, name, place) for name, place in _drags(m).items() if _drag(name) in run.channels]
    return tuple(found)


def _drag(name: str) -> str:
    return f"torques/{name}/torque"


def _drags(m: Mechanism) -> dict[str, Point]:
    """Give the frictions of wheel and shafts, and of each side as felt at its crank, with their places."""
    places, _ = shaft_places(m)
    count = len(m.stages)
    found = {names.WHEEL_DRAG: (0.0, m.wheel.out, m.wheel.height)}
    for k in range(1, count + 1):
        found[names.shaft_friction(k, count)] = (places[k][0], 0.0, m.crank_height + places[k][1])
    return found | {names.friction(s.name): (0.0, 0.0, m.crank_height) for s in m.sides}


def _rubbing(run: Run, name: str, place: Point) -> Acting:
    """Give the couple about +y that a friction puts on what holds the bearing: the other way from the shaft's."""
    torque: Array = run[_drag(name)]
    none = np.zeros_like(torque)
    return acting(np.zeros((len(torque), 3)), np.array(place), np.stack([none, -torque, none], -1))
