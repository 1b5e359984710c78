"""The drive: the wheel, stages with chains or exact ratios, couplings, up to the crankshafts."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from models.drive import Stage
from models.mechanism import Mechanism
from sim import names
from sim.arrays import rotation, vector
from sim.builders.bearings import drive_stations, shaft_drag
from sim.builders.parts import Parts
from sim.builders.windup import along_the_drive
from sim.friction import Drag
from sim.layout import ChainRun, chain_run
from sim.mass import MassProperties, Y, joined, sprocket_mass, wheel_mass
from sim.scene import GROUND, HINGE_Z, Body, Joint, Rotor
from sim.sprocket import travel_radius
from sim.transmission import Limiter, Ratio, Soft, Strands, Twist

SHAFT_AXES = np.column_stack([vector(0, 0, 1), vector(1, 0, 0), Y])
"""Joint axes with z along the shaft."""
HUB_SHARE = 0.05
"""Inertia that stays on the far side of a torque limiter, over that of what it holds; assumption."""
LIMITER_GIVE = 2e-3
"""Angle, rad, by which a torque limiter gives before it slips; assumption."""


def drive(
    mechanism: Mechanism, crank: float, speed: float, torques: Mapping[str, float], ideal: bool = False
) -> Parts:
    """Build wheel, shafts, stages and couplings, wound up as they are at steady speed.

    Parameters
    ----------
    mechanism : the sculpture.
    crank : crank angle at the start, rad; the wheel's angle is the reduction times that.
    speed : crank speed at the start, rad/s.
    torques : by side, what its crank needs at the start, N m.
    ideal : whether every stage is an exact ratio, every coupling rigid and no limiter slips.
    """
    made = _wheel(mechanism, crank, speed)
    stages = mechanism.stages
    runs = {k: chain_run(mechanism, k) for k, s in enumerate(stages, 1) if s.kind == "chain" and not ideal}
    needed = along_the_drive(mechanism, torques)
    left = mechanism.reduction
    limiter = None if ideal else mechanism.limiter
    driver = names.WHEEL
    if limiter is not None and limiter.at == 0:
        made += _behind_the_wheel(made, mechanism, crank * left, speed * left, needed[0])
        driver = names.WHEEL_SHAFT
    for k, stage in enumerate(stages, 1):
        ratio = stage.driven / stage.driver
        left /= ratio
        shaft, hub = names.stage_shaft(k, len(stages)), names.stage_shaft(k, len(stages))
        sprocket = float(sprocket_mass(stage.driven, stage).inertia[1, 1])
        after = _driver_inertia(stages[k] if k < len(stages) else None)
        if limiter is not None and limiter.at == k:
            hub = names.driven_sprocket(k)
            made += Parts(
                rotors=(Rotor(hub, sprocket, crank * left, speed * left),),
                limiters=(_limiter(limiter.torque, hub, shaft, needed[k]),),
            )
            # A shaft without a sprocket of its own still has the inertia of its bar and hub.
            after, sprocket = max(after, HUB_SHARE * sprocket), 0.0
        made += Parts(rotors=(Rotor(shaft, sprocket + after, crank * left, speed * left),))
        force = needed[k] / travel_radius(stage.driven, stage.pitch)
        made += _stage(mechanism, k, runs.get(k), driver, hub, force)
        if k in runs or not ideal:
            made += Parts(drags=(shaft_drag(mechanism, runs, k, force),))
        driver = shaft
    if stages and not ideal:
        made += Parts(stations=drive_stations(mechanism, runs))
    made += Parts(drags=(shaft_drag(mechanism, runs, 0, 0.0),) if not ideal else _plain_drag(mechanism))
    return made + _couplings(mechanism, driver, torques, ideal)


def _stage(
    mechanism: Mechanism, k: int, run: ChainRun | None, driver: str, driven: str, force: float
) -> Parts:
    """Give what joins the shafts before and after a stage; `force` is what its chain carries at the start, N."""
    stage = mechanism.stages[k - 1]
    name = names.stage(k)
    if run is None:
        return Parts(ratios=(Ratio(name, driver, driven, stage.driven / stage.driver),))
    soft, slack = None, run.excess
    if stage.tensioner is not None:
        # Virtual work: the idler moves 1 / (2 sin lean) for each unit of chain that it gives back.
        give = 2 * np.sin(stage.tensioner.lean)
        tension = float(stage.tensioner.force / give)
        soft = Soft(tension, float(stage.tensioner.rate / give**2), float(stage.tensioner.travel * give))
        slack = -2 * tension / run.stiffness
    elif stage.tight > 0:
        slack = -2 * stage.tight / run.stiffness
    chain = Strands(
        name, driver, driven, run.travel[0], run.travel[1], run.stiffness, slack, stage.damping, soft,
        teeth=(stage.driver, stage.driven) if stage.chordal else None,
    )  # fmt: skip
    return Parts(strands=(replace(chain, start=float(chain.held(np.array([force]))[0])),))


def _couplings(mechanism: Mechanism, driver: str, torques: Mapping[str, float], ideal: bool) -> Parts:
    made = Parts()
    for side in mechanism.sides:
        coupling = side.crank.coupling
        name, crank = names.coupling(side.name), names.crankshaft(side.name)
        if coupling.stiffness is None or ideal:
            made += Parts(ratios=(Ratio(name, driver, crank, 1.0),))
            continue
        twist = Twist(name, driver, crank, coupling.stiffness, coupling.damping, coupling.backlash)
        made += Parts(twists=(replace(twist, start=twist.held(torques[side.name])),))
    return made


def _plain_drag(mechanism: Mechanism) -> tuple[Drag, ...]:
    friction = mechanism.friction
    return (Drag(names.WHEEL_DRAG, names.WHEEL, friction.wheel_drag, static=friction.static),)


def _limiter(torque: float, a: str, b: str, carried: float) -> Limiter:
    """Give the limiter, wound up by what it carries at the start as far as it holds that, N m."""
    share = min(max(carried / torque, -1.0), 1.0)
    return Limiter(names.LIMITER, a, b, torque, torque / LIMITER_GIVE, share * LIMITER_GIVE)


def _behind_the_wheel(made: Parts, mechanism: Mechanism, angle: float, speed: float, carried: float) -> Parts:
    """Give a limiter between the wheel and what it drives: the first driver, or the crankshafts themselves."""
    limiter = mechanism.limiter
    assert limiter is not None
    first = _driver_inertia(mechanism.stages[0] if mechanism.stages else None)
    hub = HUB_SHARE * float(made.bodies[0].inertia[1, 1])
    rotor = Rotor(names.WHEEL_SHAFT, first or hub, angle, speed)
    held = _limiter(limiter.torque, names.WHEEL, names.WHEEL_SHAFT, carried)
    return Parts(rotors=(rotor,), limiters=(held,))


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


def wheel_piece(mechanism: Mechanism) -> MassProperties:
    """Give the mass of what turns as one with the wheel: the first driver too, unless a torque limiter parts them."""
    pieces = [wheel_mass(mechanism.wheel)]
    if mechanism.stages and not mechanism.wheel_parted:
        pieces.append(sprocket_mass(mechanism.stages[0].driver, mechanism.stages[0]))
    return joined(pieces)


def _wheel(mechanism: Mechanism, crank: float, speed: float) -> Parts:
    piece = wheel_piece(mechanism)
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
    return Parts((body,), (joint,))
