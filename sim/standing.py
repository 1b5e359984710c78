"""What everything carries while nothing moves, at many poses and loads at once, in closed form."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sim import names
from sim.arrays import Array
from sim.builders import Linkage, scene
from sim.builders.drive import wheel_piece
from sim.mass import wheel_mass
from sim.run import Channel
from sim.statics import Pushes, Statics, statics

SIDE = np.array([1.0, -1.0, 1.0])
"""What makes a right side's forces true vectors of the world; moments change the other signs."""


@dataclass(frozen=True)
class Stand:
    """A piece that stands still, held at its wheel.

    Attributes
    ----------
    crank : (n,) rad.
    sides : by side, its forces.
    wheel : (n,) N m at the wheel, positive where it has to be held against turning back.
    """

    crank: Array
    sides: Mapping[str, Statics]
    wheel: Array


def stand(
    closed: Linkage,
    crank: Array,
    pushes: Mapping[str, Pushes] | None = None,
    gravity: Array | None = None,
) -> Stand:
    """Give the forces of a piece at crank angles (n,), rad, without friction.

    Parameters
    ----------
    closed : the sculpture.
    crank : one angle for each entry, in any order.
    pushes : by side, what acts on its panels, in the side's coordinates.
    gravity : (n, 3) m/s2 in the world where it hangs askew; by default straight down.
    """
    m = closed.mechanism
    down = np.broadcast_to(np.array([0.0, 0.0, -m.gravity]), (len(crank), 3)) if gravity is None else gravity
    given = pushes or {}
    sides = {
        s.side.name: statics(
            s, crank, down * (SIDE if s.side.sign < 0 else 1.0), m.friction, given.get(s.side.name)
        )
        for s in closed.sides
    }
    # The wheel's own unbalance, its arm at wheel angle 0 up, against gravity that may lean.
    piece = wheel_mass(m.wheel)
    turned = crank * m.reduction
    forward = piece.com[0] * np.cos(turned) + piece.com[2] * np.sin(turned)
    up = -piece.com[0] * np.sin(turned) + piece.com[2] * np.cos(turned)
    own = piece.mass * (up * down[:, 0] - forward * down[:, 2])
    total = np.sum([s.torque for s in sides.values()], axis=0) / m.reduction
    return Stand(crank, sides, total - own)


def share(low: Stand, high: Stand, part: Array) -> Stand:
    """Give what lies between two loads of the same poses: (n,) 0 for the first, 1 for the second."""

    def mixed(a: Array, b: Array) -> Array:
        at = part if a.ndim == 1 else part[:, None]
        return (1 - at) * a + at * b

    sides = {
        name: Statics(
            {j: mixed(f, high.sides[name].forces[j]) for j, f in s.forces.items()},
            mixed(s.torque, high.sides[name].torque),
            mixed(s.friction, high.sides[name].friction),
            {j: mixed(f, high.sides[name].moments[j]) for j, f in s.moments.items()},
        )
        for name, s in low.sides.items()
    }
    return Stand(low.crank, sides, mixed(low.wheel, high.wheel))


def channels(closed: Linkage, held: Stand, gravity: Array | None = None) -> dict[str, Channel]:
    """Give the forces as the channels of a run: joints, torques along the drive, tensions of the strands."""
    m, crank = closed.mechanism, held.crank
    n = len(crank)
    frame = scene(closed, 0.0, 0.0)
    forces: dict[str, Array] = {}
    moments: dict[str, Array] = {}
    found: dict[str, Channel] = {}
    for side in closed.sides:
        name, mirror = side.side.name, SIDE if side.side.sign < 0 else np.ones(3)
        forces |= {j: f * mirror for j, f in held.sides[name].forces.items()}
        # A moment is an axial vector: mirrored, it keeps what a force changes and changes what it keeps.
        moments |= {j: f * mirror * side.side.sign for j, f in held.sides[name].moments.items()}
        found[f"angles/{names.crankshaft(name)}/angle"] = Channel(crank, "rad", f"angle of {name} crankshaft")
        found[f"torques/{names.coupling(name)}/torque"] = Channel(
            held.sides[name].torque, "N m", f"torque of {names.coupling(name)}"
        )
    down = np.broadcast_to(np.array([0.0, 0.0, -m.gravity]), (n, 3)) if gravity is None else gravity
    forces[names.WHEEL_BEARINGS] = wheel_piece(m).mass * down
    torque = np.sum([s.torque for s in held.sides.values()], axis=0)
    tensions: dict[str, tuple[Array, Array]] = {}
    strands = {s.name: s for s in frame.strands}
    for k in range(len(m.stages), 0, -1):
        chain = strands.get(names.stage(k))
        found[f"torques/{names.stage(k)}/torque"] = Channel(torque, "N m", f"torque of {names.stage(k)}")
        if chain is not None:
            tensions[chain.name] = chain.tensions(chain.held(torque / chain.driven_radius), np.zeros(n))
        torque = torque * m.stages[k - 1].driver / m.stages[k - 1].driven
    forces |= {s.name: s.load(forces, tensions) for s in frame.stations}
    for station in frame.stations:
        for joint, part in station.relieves:
            forces[joint] = forces[joint] - part * forces[station.name]
    for name, force in forces.items():
        found[f"joints/{name}/force"] = Channel(force, "N", f"force on {name}", "world")
    for name, moment in moments.items():
        found[f"joints/{name}/moment"] = Channel(moment, "N m", f"moment on {name}", "world")
    for name, (a, b) in tensions.items():
        found[f"chains/{name}/tension a"] = Channel(a, "N", f"tension of {name}'s strand a")
        found[f"chains/{name}/tension b"] = Channel(b, "N", f"tension of {name}'s strand b")
    found[f"torques/{names.HAND}/torque"] = Channel(held.wheel, "N m", "torque that holds the wheel")
    return found
