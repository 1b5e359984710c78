"""What a steady wind puts on a whole piece that stands still: panels, post, body plate, wheel disc and arms.

Panels as `sim.wind` says. A round tube square to the wind: drag coefficient 1.20, that of an endless cylinder below
the fall of its drag (Matthews, Aeronautical Engineer's Data Book, p. 95; read), from a Reynolds number of 4e5 on .7
(where it settles above 3.5e6: Roshko, J. Fluid Mech. 10:345, 1961, abstract read; that it is cautious between the
two, where .2 to .4 were measured, is read there too, and the 4e5 is from memory). A wind of a speed holds all slower
ones, so that no tube counts for less than at the speed at which its drag falls. Nothing shelters anything else, but for
the share in the lee of the panels' case. Loads by gusts that match a natural frequency, vortices and ice are left out.
"""

import math

import numpy as np

from analysis.structure.acting import Acting, acting
from models.mechanism import Mechanism
from models.outline import circle, moments, outline
from sim.arrays import Array
from sim.builders import Linkage
from sim.layout import shaft_places
from sim.weights import arm_reach, arm_root
from sim.wind import AIR, Wind, aspect_ratio, drag_coefficient, pressure, static_pushes

SUBCRITICAL, SUPERCRITICAL = 1.20, 0.7
CRITICAL = 4e5
"""Reynolds number from which a smooth cylinder's drag has fallen."""
VISCOSITY = 1.5e-5
"""Kinematic, of air near 20 C, m2/s; memory."""
SEGMENTS = 8
"""Pieces of the post, each pushed in its middle."""


def equivalent_speed(design: float) -> float:
    """Give the wind speed, m/s, of a velocity pressure, Pa: q = rho V^2 / 2."""
    return math.sqrt(2 * design / AIR)


def tube_drag(speed: float, outside: float) -> float:
    """Give the drag coefficient of a round tube square to a wind of a speed, m/s, and to all slower ones."""
    if speed <= 0:
        return SUBCRITICAL
    falls = CRITICAL * VISCOSITY / outside
    return max(SUPERCRITICAL if speed > falls else SUBCRITICAL, SUBCRITICAL * min(1.0, falls / speed) ** 2)


def on_piece(closed: Linkage, crank: Array, wind: Wind) -> tuple[Acting, ...]:
    """Give what a wind puts on all parts of a piece at crank angles (n,), rad."""
    m = closed.mechanism
    return (*on_panels(closed, crank, wind), *on_post(m, wind), *on_rest(m, wind))


def on_panels(closed: Linkage, crank: Array, wind: Wind) -> tuple[Acting, ...]:
    """Give what a wind puts on the panels."""
    found: list[Acting] = []
    for side in closed.sides:
        mirror = np.array([1.0, side.side.sign, 1.0])
        lift = np.array([0.0, 0.0, closed.mechanism.crank_height])
        found += [
            acting(force * mirror, at * mirror + lift)
            for force, at in static_pushes(side, crank, wind).values()
        ]
    return tuple(found)


def on_post(m: Mechanism, wind: Wind) -> tuple[Acting, ...]:
    """Give what a wind puts on the post, in pieces of its height."""
    if m.post is None:
        return ()
    each = (m.crank_height + m.post.above) / SEGMENTS
    push = _on_tube(_air(wind), np.array([0.0, 0.0, 1.0]), m.post.outside, each)
    return tuple(acting(push, np.array([0.0, 0.0, (k + 0.5) * each])) for k in range(SEGMENTS))


def on_rest(m: Mechanism, wind: Wind) -> tuple[Acting, ...]:
    """Give what a wind puts on body plate, wheel disc and arms."""
    found: list[Acting] = []
    air, s = _air(wind), m.structure
    if s.body is not None:
        area = moments(s.body.outline)
        at = (0.0, area.centroid[0], m.crank_height + s.body.up + area.centroid[1])
        found.append(
            acting(_on_plate(air, 0, area.area, drag_coefficient(aspect_ratio(s.body.outline))), np.array(at))
        )
    if m.wheel.thickness > 0:
        places, _ = shaft_places(m)
        at = (places[0][0], m.wheel.out, m.crank_height + places[0][1])
        found.append(acting(_on_plate(air, 1, math.pi * m.wheel.radius**2, DISC), np.array(at)))
    return (*found, *_on_arms(m, air))


def _on_arms(m: Mechanism, air: Array) -> list[Acting]:
    arm = m.structure.arm
    if arm is None:
        return []
    root, found = arm_root(m), list[Acting]()
    for side in m.sides:
        for way, length in arm_reach(m, side).items():
            at = np.array([arm.forward, side.sign * way * (root + length / 2), m.crank_height + arm.up])
            found.append(acting(_on_tube(air, np.array([0.0, 1.0, 0.0]), arm.outside, length), at))
    return found


def _air(wind: Wind) -> Array:
    """Give the velocity (3,) of the free air, m/s."""
    level = math.cos(wind.slope)
    return wind.speed * np.array(
        [level * math.cos(wind.direction), level * math.sin(wind.direction), math.sin(wind.slope)]
    )


def _on_tube(air: Array, along: Array, outside: float, length: float) -> Array:
    """Give the push (3,), N, on a tube: the part of the wind square to it counts."""
    across = air - (air @ along) * along
    speed = float(np.linalg.norm(across))
    return AIR / 2 * tube_drag(speed, outside) * outside * length * speed * across


def _on_plate(air: Array, normal: int, area: float, drag: float) -> Array:
    """Give the push (3,), N, on a flat plate whose normal is one of the axes."""
    push = np.zeros(3)
    push[normal] = area * float(pressure(air, air[normal], drag))
    return push


DISC = drag_coefficient(aspect_ratio(outline(circle((0.0, 0.0), 1.0))))
"""Of a round disc square on, as of a plate with its proportions."""
