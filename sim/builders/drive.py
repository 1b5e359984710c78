"""The wheel and the chain stages up to the crankshafts, with exact tooth ratios."""

import numpy as np

from models.mechanism import Mechanism, Stage
from sim import names
from sim.arrays import rotation, vector
from sim.builders.parts import Parts
from sim.mass import Y, joined, sprocket_mass, wheel_mass
from sim.scene import GROUND, HINGE_Z, Body, Drag, Joint, Ratio, Rotor

SHAFT_AXES = np.column_stack([vector(0, 0, 1), vector(1, 0, 0), Y])
"""Joint axes with z along the shaft."""


def drive(mechanism: Mechanism, crank: float, speed: float) -> Parts:
    """Build the wheel, the shafts between and the ratios to the crankshafts.

    Parameters
    ----------
    mechanism : the sculpture.
    crank : crank angle at the start, rad; the wheel's angle is the reduction times that.
    speed : crank speed at the start, rad/s.
    """
    made = _wheel(mechanism, crank, speed)
    stages = mechanism.stages
    driver, left = names.WHEEL, mechanism.reduction
    for k, stage in enumerate(stages, 1):
        ratio = stage.driven / stage.driver
        left /= ratio
        name = names.stage_shaft(k, len(stages))
        after = stages[k] if k < len(stages) else None
        inertia = sprocket_mass(stage.driven, stage).inertia[1, 1] + _driver_inertia(after)
        rotor = Rotor(name, float(inertia), crank * left, speed * left)
        made += Parts(rotors=(rotor,), ratios=(Ratio(names.stage(k), driver, name, ratio),))
        driver = name
    couplings = tuple(
        Ratio(names.coupling(s.name), driver, names.crankshaft(s.name), 1.0) for s in mechanism.sides
    )
    return made + Parts(ratios=couplings)


def wheel_inertia(mechanism: Mechanism) -> float:
    """Give the inertia about the wheel's axis of the wheel with the first stage's driver, kg m2."""
    own = wheel_mass(mechanism.wheel)
    about = own.inertia[1, 1] + own.mass * float(own.com @ own.com)
    return float(about) + _driver_inertia(mechanism.stages[0] if mechanism.stages else None)


def drive_inertia(mechanism: Mechanism) -> float:
    """Give the inertia of wheel, shafts and sprockets as felt at the crank, kg m2."""
    total, reduction = wheel_inertia(mechanism), 1.0
    for k, stage in enumerate(mechanism.stages, 1):
        ratio = stage.driven / stage.driver
        reduction *= ratio
        after = mechanism.stages[k] if k < len(mechanism.stages) else None
        here = float(sprocket_mass(stage.driven, stage).inertia[1, 1]) + _driver_inertia(after)
        total = total * ratio**2 + here
    return total


def _driver_inertia(stage: Stage | None) -> float:
    return 0.0 if stage is None else float(sprocket_mass(stage.driver, stage).inertia[1, 1])


def _wheel(mechanism: Mechanism, crank: float, speed: float) -> Parts:
    pieces = [wheel_mass(mechanism.wheel)]
    if mechanism.stages:
        pieces.append(sprocket_mass(mechanism.stages[0].driver, mechanism.stages[0]))
    piece = joined(pieces)
    angle, omega = crank * mechanism.reduction, speed * mechanism.reduction * Y
    turn = rotation(Y, angle)
    centre = vector(0, 0, mechanism.wheel.height - mechanism.crank_height)
    arm = turn @ piece.com
    body = Body(
        names.WHEEL,
        piece.mass,
        piece.inertia,
        centre + arm,
        turn,
        np.cross(omega, arm),
        omega,
        spin=Y,
        angle=angle,
    )
    joint = Joint(names.WHEEL_BEARINGS, GROUND, names.WHEEL, centre, HINGE_Z, SHAFT_AXES)
    torque = mechanism.friction.wheel_drag
    zone = 1e-3 * mechanism.reduction
    drags = (Drag(names.WHEEL_DRAG, names.WHEEL, torque, zone),) if torque > 0 else ()
    return Parts((body,), (joint,), drags=drags)
