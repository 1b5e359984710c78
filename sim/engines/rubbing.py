"""Friction torques from the loads of the step before, computed once a step.

What presses on each joint follows linearly from the engine's multipliers and the chains' tensions, so one small
matrix product gives all loads at once. The lag is one step; `tests/unit/test_friction.py` measures it.
"""

import numpy as np

from sim.arrays import Array
from sim.engines.riding import Riding
from sim.engines.tracing import Places
from sim.scene import GROUND, Joint
from sim.transmission import Strands
from sim.travel import swing


class Rubbing:
    """Gives the friction torque of every drag of a scene at the engine's present state."""

    def __init__(self, places: Places, multipliers: int) -> None:
        scene = places.scene
        self.drags = scene.drags
        self.places = places
        self.strands = {s.name: k for k, s in enumerate(scene.strands)}
        self.joints = {j.name: j for j in scene.joints}
        stations = {s.name: s for s in scene.stations}
        loads = list(dict.fromkeys(r.of for d in scene.drags for r in d.rubs if r.of not in self.strands))
        count = len(loads)
        self.from_multipliers = np.zeros((3 * count, multipliers))
        self.from_tensions = np.zeros((3 * count, 2 * len(self.strands)))
        self.constant = np.zeros(3 * count)
        bushes = {b.name: b for b in scene.bushes}
        self.bushes = [(slice(3 * k, 3 * k + 3), bushes[n]) for k, n in enumerate(loads) if n in bushes]
        for k, name in enumerate(loads):
            rows = slice(3 * k, 3 * k + 3)
            if name in self.joints:
                self._add_joint(rows, self.joints[name], 1.0)
                continue
            if name in bushes:
                continue
            station = stations[name]
            self.constant[rows] = station.constant
            for joint, share in station.shares:
                self._add_joint(rows, self.joints[joint], share)
            for pull in station.pulls:
                at = 2 * self.strands[pull.chain]
                self.from_tensions[rows, at] += pull.a
                self.from_tensions[rows, at + 1] += pull.b
        self.travel = [_travel(places, chain) for chain in scene.strands]
        place = {name: k for k, name in enumerate(loads)} | {n: count + k for n, k in self.strands.items()}
        self.arms = [
            _arms([(place[r.of], r.arm) for r in d.rubs], count + len(self.strands)) for d in self.drags
        ]
        # What does not change around the turn is one product for all drags; the others are looked up.
        self.even = np.array([table[0] * (len(table) == 1) for table in self.arms])
        self.uneven = [k for k, table in enumerate(self.arms) if len(table) > 1]
        self.own = np.array([d.torque for d in self.drags])

    def _add_joint(self, rows: slice, joint: Joint, share: float) -> None:
        """Let a joint's force, in world axes, count toward a load."""
        at = self.places.rows[joint.name][:3]
        bends = {f.name for f in self.places.scene.flexibles} & {joint.a, joint.b}
        if bends or all(joint.locks[:3]):
            axes = np.eye(3)
        elif joint.a == GROUND:
            axes = joint.axes * np.array(joint.locks[:3])
        else:
            raise ValueError(f"joint '{joint.name}' slides on a moving part: its friction is not known here")
        self.from_multipliers[rows, at] += share * axes

    def torques(self, q: Array, v: Array, multipliers: Array) -> list[float]:
        """Give the sliding friction, N m, of every drag.

        Parameters
        ----------
        q, v : (c,) coordinates without their reference, and their rates.
        multipliers : (m,) of the step before.
        """
        tensions = self.tensions(q, v)
        force = self.from_multipliers @ multipliers + self.from_tensions @ tensions + self.constant
        if self.bushes:
            self._press(force, q, v)
        force *= force
        size = np.sqrt(force[0::3] + force[1::3] + force[2::3])
        pressed = np.concatenate([size, np.abs(tensions[::2] - tensions[1::2])])
        found = (self.own + self.even @ pressed).tolist()
        for k in self.uneven:
            table = self.arms[k]
            at = self.places.angles[self.drags[k].on]
            share = (at.start + at.sign * q[at.place]) / (2 * np.pi) % 1.0
            found[k] += float(table[int(share * len(table) + 0.5) % len(table)] @ pressed)
        return found

    def _press(self, force: Array, q: Array, v: Array) -> None:
        """Fill in what presses on the bushes, which follows from where they are."""
        scene, at, rate = self.places.scene, (q + self.places.reference)[None, :], v[None, :]
        near = {name for _, b in self.bushes for name in (b.a, b.b)}
        moving = [b for b in (*scene.bodies, *scene.flexibles) if b.name in near]
        poses = {b.name: self.places.pose(b, at, rate, rate) for b in moving}
        bends = (f for f in scene.flexibles if f.name in near)
        bending = {f.name: self.places.bending(f, poses[f.name], at, rate) for f in bends}
        riding = Riding(scene, poses, bending, 1)
        for rows, bush in self.bushes:
            force[rows] = bush.load(*riding.apart(bush))[0]

    def tensions(self, q: Array, v: Array) -> Array:
        """Give the tensions of all chains' strands: a and b of the first, of the second and so on, N."""
        found = np.empty(2 * len(self.travel))
        for k, (chain, (near, ahead, far, behind)) in enumerate(
            zip(self.places.scene.strands, self.travel, strict=True)
        ):
            x = chain.start + ahead * q[near] + behind * q[far]
            rate = ahead * v[near] + behind * v[far]
            if chain.teeth is not None:
                travel, more, _ = self.swing(chain, q, v)
                x, rate = x + travel, rate + more
            found[2 * k], found[2 * k + 1] = chain.tensions(float(x), float(rate), max, min)
        return found

    def swing(self, chain: Strands, q: Array, v: Array) -> tuple[float, float, tuple[float, float]]:
        """Give what pitch polygons add to a chain's x since the start, m, to its rate, m/s, and to both levers, m."""
        near, far = self.places.angles[chain.driver], self.places.angles[chain.driven]
        travel, lever, behind = swing(
            chain, near.start + near.sign * q[near.place], far.start + far.sign * q[far.place]
        )
        begun, _, _ = swing(chain, near.start, far.start)
        rate = lever * near.sign * v[near.place] - behind * far.sign * v[far.place]
        return float(travel - begun), float(rate), (float(lever), float(behind))


def _travel(places: Places, chain: Strands) -> tuple[int, float, int, float]:
    """Give the places of a chain's two angles among the coordinates, each with its share in x."""
    near, far = places.angles[chain.driver], places.angles[chain.driven]
    return near.place, near.sign * chain.driver_radius, far.place, -far.sign * chain.driven_radius


def _arms(rubs: list[tuple[int, Array]], count: int) -> Array:
    """Give the arms (n, count), m, over one turn of a drag's angle, for all loads."""
    fine = max((len(arm) for _, arm in rubs), default=1)
    table = np.zeros((fine, count))
    for k, arm in rubs:
        # Whole numbers of entries fall on each arm's own: tables are of one length, or of one entry.
        table[:, k] += np.repeat(arm, fine // len(arm))
    return table
