"""The channels of crankshafts that bend: how far, how steeply, and what they carry."""

import numpy as np

from models.mechanism import Mechanism, Side
from sim import names
from sim.arrays import Array, matrices, rotation_vector
from sim.engines.base import Trace
from sim.run import Channel
from sim.shaft.bending import standing
from sim.shaft.modes import ShaftModes, shaft_modes


def shaft_channels(mechanism: Mechanism, trace: Trace) -> dict[str, Channel]:
    """Give, for every crankshaft that bent, the group `shafts` of channels.

    At each station (ends, bearings, throws, mid-span): `deflection` from where a rigid shaft would be at the angle
    of its inner end, and `turn`, both (n, 3) in world axes. For each piece of the frame, at its end away from the inner
    end along the frame: `moment` (n, 3), twist and the bends about its two axes across, which turn with the shaft; a
    right shaft's as if it were its mirror image.
    """
    found: dict[str, Channel] = {}
    for side in mechanism.sides:
        if names.crankshaft(side.name) in trace.bending:
            found |= _of_side(side, trace)
    return found


def _of_side(side: Side, trace: Trace) -> dict[str, Channel]:
    name, modes = names.crankshaft(side.name), shaft_modes(side)
    bending, angle = trace.bending[name], trace.spins[name].angle + side.key_angle
    mirror = np.array([1.0, float(side.sign), 1.0])
    tilts = _tilts(side, trace, angle)
    found: dict[str, Channel] = {}
    for station in modes.crank.stations:
        at = f"shafts/{name}, {station.label}"
        where = f"{name} at its {station.label}"
        rigid = standing(np.broadcast_to(modes.crank.frame.nodes[station.node], (len(angle), 3)), angle)
        moved = bending.places[:, station.node] - rigid * mirror
        found[f"{at}/deflection"] = Channel(moved, "m", f"deflection of {where}", "world")
        turn = tilts + bending.amplitudes @ modes.shapes[6 * station.node + 3 : 6 * station.node + 6].T
        # A turn is mirrored the other way round about the axes in the mirror's plane.
        found[f"{at}/turn"] = Channel(
            standing(turn, angle) * mirror * side.sign, "rad", f"turn of {where}", "world"
        )
    found |= _moments(name, modes, bending.amplitudes)
    return found


def _tilts(side: Side, trace: Trace, angle: Array) -> Array:
    """Give how the inner end is tilted (n, 3), rad, in the side's turning axes."""
    turned = matrices(trace.poses[names.crankshaft(side.name)].quaternion)
    c, s, zero, one = np.cos(angle), np.sin(angle), np.zeros_like(angle), np.ones_like(angle)
    rigid = np.stack(
        [np.stack([c, zero, s], -1), np.stack([zero, one, zero], -1), np.stack([-s, zero, c], -1)], -2
    )
    tilts = rotation_vector(np.swapaxes(rigid, 1, 2) @ turned)
    return tilts * np.array([1.0, float(side.sign), 1.0]) * side.sign


def _moments(name: str, modes: ShaftModes, amplitudes: Array) -> dict[str, Channel]:
    members = modes.crank.frame.members
    loads = modes.crank.frame.end_loads(amplitudes @ modes.shapes.T)
    return {
        f"shafts/{name}, {k:02d} {m.name}/moment": Channel(
            loads[:, k - 1, 1, 3:],
            "N m",
            f"twist and bends of {name} at the far end of {m.name}",
            "turning, as on the left",
        )
        for k, m in enumerate(members, 1)
    }
