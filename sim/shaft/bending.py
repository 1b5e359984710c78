"""How a crankshaft bends on its bearings under its rods, its weight and its spin.

The frame turns with the crank, its bearings stand still: everything is solved in the shaft's own axes, in which its
stiffness never changes, so one inverse serves a whole turn. Bearings hold sideways, alike in all directions, and
leave slopes free; the locating one holds lengthwise; the inner end holds against turning, as the coupling does.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from models.mechanism import Side, Station
from sim.arrays import Array
from sim.shaft.crank import INNER, CrankFrame, bearing, crank_frame, throw
from sim.shaft.frame import Held, Support, held
from sim.shaft.shape import unstressed

CONTACT = 5e7
"""Stiffness of a bush against the shaft, N/m, where a clearance is given and no stiffness is: an assumption; a tenth
or tenfold of it moves a shaft by microns."""
SOFT = 0.5
"""Load, N, below which a shaft counts as not yet lying against its bush; it makes the step at first touch smooth."""
STEPS = 200
"""Newton's steps at most: with little clearance five do."""
TWIST = "coupling"
"""Name of what holds the inner end against turning."""


@dataclass(frozen=True)
class Bent:
    """A crankshaft's shape over n instants.

    Attributes
    ----------
    crank : its frame.
    held : the frame on its bearings.
    angle : (n,) of the shaft's axes, its key angle counted in, rad.
    moved : (n, 6 N) displacements and turns of its nodes from those of a straight rigid shaft, in turning axes.
    own : (6 N,) the same without any load or bearing: what welding left.
    reactions : (n, s) what the supports put on it, in turning axes, N and N m.
    """

    crank: CrankFrame
    held: Held
    angle: Array
    moved: Array
    own: Array
    reactions: Array

    def deflection(self, node: int) -> Array:
        """Give a node's displacement (n, 3): forward, out, up, m."""
        return standing(self.moved[:, 6 * node : 6 * node + 3], self.angle)

    def turn(self, node: int) -> Array:
        """Give a node's turn (n, 3) about forward, out and up, rad."""
        return standing(self.moved[:, 6 * node + 3 : 6 * node + 6], self.angle)

    def slope(self, node: int) -> Array:
        """Give the slope (n,) of the shaft's line at a node against the crank's axis, rad."""
        turn = self.turn(node)
        return np.hypot(turn[:, 0], turn[:, 2])

    def bearing_force(self, number: int) -> Array:
        """Give what the shaft puts on a bearing (n, 3), forward, out, up, N; bearings count from 1."""
        rows = self.held.rows(bearing(number))
        found = np.zeros((len(self.angle), 3))
        own = -self.reactions[:, rows]
        found[:, 0], found[:, 2] = own[:, 0], own[:, 1]
        if own.shape[1] > 2:
            found[:, 1] = own[:, 2]
        return standing(found, self.angle)

    @property
    def torque(self) -> Array:
        """The torque (n,) about the axis that the coupling puts on the shaft, N m."""
        return self.reactions[:, self.held.rows(TWIST)][:, 0]

    @property
    def end_loads(self) -> Array:
        """What each member carries (n, m, 2, 6) at both ends, in its own turning axes; see `Frame.end_loads`."""
        return self.crank.frame.end_loads(self.moved - self.own)


def bent(
    side: Side,
    pins: Mapping[str, Array],
    crank: Array,
    speed: Array | float = 0.0,
    rate: Array | float = 0.0,
    gravity: float = 9.81,
) -> Bent:
    """Bend a side's crankshaft.

    Parameters
    ----------
    side : whose crankshaft, with its bearings.
    pins : by panel, what its rod puts on the crank pin (n, 3), in the side's coordinates, N.
    crank : (n,) crank angles, rad.
    speed, rate : of the crank (n,), rad/s and rad/s2.
    gravity : m/s2 downwards.
    """
    frame = crank_frame(side)
    on = _held(side)
    n, size = len(crank), 6 * len(frame.frame.nodes)
    angle = crank + side.key_angle
    loads = np.zeros((n, size))
    for panel, force in pins.items():
        at = 6 * frame.node(throw(panel))
        loads[:, at : at + 3] += turning(force, angle)
    down = np.broadcast_to(np.array([0.0, 0.0, -gravity]), (n, 3))
    loads += turning(down, angle) @ frame.weight.T
    spin = np.stack([np.broadcast_to(np.square(speed), n), np.broadcast_to(np.asarray(rate), n)], -1)
    loads += spin @ frame.spinning.T
    # Bends and reactions count from the shape without load. Loads that would make that shape are of the size of a
    # stretched web, and would leave some of their rounding.
    own = unstressed(frame)
    settled = _settled(side, on, angle) - on.along(own)
    reactions = loads @ on.carried.T + settled @ on.forced.T
    free = np.array([s.clearance / 2 for s in side.crank.stations])
    if np.any(free > 0):
        settled = settled + _taken_up(reactions, on.forced, free)
        reactions = loads @ on.carried.T + settled @ on.forced.T
    moved = own + loads @ on.by_load.T + settled @ on.by_settling.T
    return Bent(frame, on, angle, moved, own, reactions)


def standing(v: Array, angle: Array) -> Array:
    """Give vectors (n, 3) of turning axes in standing ones; positive angles turn up towards forward."""
    c, s = np.cos(angle), np.sin(angle)
    return np.stack([c * v[:, 0] + s * v[:, 2], v[:, 1], c * v[:, 2] - s * v[:, 0]], -1)


def turning(v: Array, angle: Array) -> Array:
    """Give vectors (n, 3) of standing axes in those that turn with the shaft."""
    return standing(v, -angle)


def supports(side: Side) -> tuple[Support, ...]:
    """Give what holds a side's crankshaft: its bearings, numbered from 1, and the coupling against turning."""
    frame = crank_frame(side)
    found: list[Support] = []
    for k, station in enumerate(side.crank.stations, 1):
        held_ways = [0, 2, 1] if k == 1 else [0, 2]
        found.append(Support(bearing(k), frame.node(bearing(k)), np.eye(6)[held_ways], give(station)))
    found.append(Support(TWIST, frame.node(INNER), np.eye(6)[[4]]))
    return tuple(found)


def give(station: Station) -> float:
    """Give the compliance of a bearing, m/N: of its support as described, of its bush where it has clearance."""
    if station.stiffness is not None:
        return 1 / station.stiffness
    return 1 / CONTACT if station.clearance > 0 else 0.0


@lru_cache(maxsize=64)
def _held(side: Side) -> Held:
    return held(crank_frame(side).frame, supports(side))


def _settled(side: Side, on: Held, angle: Array) -> Array:
    """Give how far each held direction is from the crank's axis (n, s): bearings off line stand still."""
    found = np.zeros((len(angle), len(on.forced)))
    for k, station in enumerate(side.crank.stations, 1):
        off = np.broadcast_to(np.array([station.forward, 0.0, station.up]), (len(angle), 3))
        found[:, on.rows(bearing(k))][:, :2] = turning(off, angle)[:, [0, 2]]
    return found


def _taken_up(reactions: Array, forced: Array, free: Array) -> Array:
    """Give how far the shaft moves in its bearings' clearances (n, s) until each carries what it must.

    With r the reaction that pushes the shaft away from its bush, the shaft lies s = -free r / |r| off the bearing's
    middle, smooth below `SOFT`; r = r0 + Q s(r) with Q what settling forces, which has one solution as Q is not
    negative. Newton's steps, shortened until they help.
    """
    # The first bearing holds lengthwise too, in its third row.
    rows = np.concatenate([[0, 1], np.arange(3, 2 * len(free) + 1)])
    Q, r0, size = forced[np.ix_(rows, rows)], reactions[:, rows], 2 * len(free)
    r = r0.copy()

    def moved(r: Array) -> Array:
        pairs = r.reshape(-1, len(free), 2)
        length = np.sqrt(np.sum(pairs**2, -1, keepdims=True) + SOFT**2)
        return (-free[None, :, None] * pairs / length).reshape(-1, size)

    def change(r: Array) -> Array:
        pairs = r.reshape(-1, len(free), 2)
        square = np.sum(pairs**2, -1) + SOFT**2
        length = np.sqrt(square)
        found = np.zeros((len(r), size, size))
        for b in range(len(free)):
            outer = np.einsum("ni,nj->nij", pairs[:, b], pairs[:, b]) / square[:, b, None, None]
            block = -free[b] * (np.eye(2) - outer) / length[:, b, None, None]
            found[:, 2 * b : 2 * b + 2, 2 * b : 2 * b + 2] = block
        return found

    for _ in range(STEPS):
        wrong = r - r0 - moved(r) @ Q.T
        now = np.linalg.norm(wrong, axis=1)
        if np.all(now < 1e-9 * (1 + np.linalg.norm(r0, axis=1))):
            break
        step = np.linalg.solve(np.eye(size) - Q @ change(r), -wrong[:, :, None])[:, :, 0]
        share = np.ones(len(r))
        for _ in range(30):
            tried = r + share[:, None] * step
            worse = np.linalg.norm(tried - r0 - moved(tried) @ Q.T, axis=1) > (1 - 1e-4 * share) * now
            if not np.any(worse):
                break
            share = np.where(worse, share / 2, share)
        r = r + share[:, None] * step
    else:
        raise ArithmeticError(f"bearings did not come to rest in their clearances within {STEPS} steps")
    found = np.zeros_like(reactions)
    found[:, rows] = moved(r)
    return found
