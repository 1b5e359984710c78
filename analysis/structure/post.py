"""The post at its foot: stress under everything, and its weld in ordinary use."""

import numpy as np

from analysis.parts.basis import Basis
from analysis.parts.choice import Line, Sizing
from analysis.parts.duty import ANGLES, crank_speed
from analysis.structure.acting import Wrench, acting, base, weighed
from analysis.structure.joints import grounded
from analysis.structure.situations import Dead, situations
from analysis.structure.tube import TABLES, Tube, weld_checks, yielding
from models.shown import shown
from sim.arrays import Array
from sim.builders import Linkage
from sim.dynamics import dynamics
from sim.layout import shaft_places
from sim.statics import statics
from sim.weights import pieces

FAMILY = "post"


def along(w: Wrench) -> tuple[Array, Array]:
    """Give moments (n, 3) with the post's own axis second, as sections have them, and its axial force (n,)."""
    return w.moment[:, [0, 2, 1]], w.force[:, 2]


def in_use(closed: Linkage) -> Wrench:
    """Give what the base carries over a turn of the crank at the speed of use, in closed form.

    Weights and inertia of the wings through their joints, the drive's weights, and the hand, whose push along the rim
    turns around with the wheel; friction counts in how hard it pushes. Entries as `duty.ANGLES`.
    """
    m, n = closed.mechanism, len(ANGLES)
    place = grounded(m)
    sides = tuple(f"{s.name} " for s in m.sides)
    rest = tuple(p for p in pieces(closed, ANGLES) if not (p.moves and p.name.startswith(sides)))
    torque, rubs = np.zeros(n), np.zeros(n)
    wings = base((), n)
    for side in closed.sides:
        found = dynamics(side, ANGLES, crank_speed(m), 0.0, m.gravity)
        mirror = np.array([1.0, side.side.sign, 1.0])
        for joint, force in found.forces.items():
            if joint in place:
                couple = found.moments.get(joint, np.zeros((n, 3))) * mirror * side.side.sign
                wings = wings + base((acting(force * mirror, np.array(place[joint]), couple),), n)
        torque = torque + found.torque
        rubs = rubs + statics(side, ANGLES, m.gravity, m.friction).friction
    # The crank's torque comes from the drive, which stands on the same post; the hand's comes from outside.
    hand = torque / m.reduction
    couple = np.stack([np.zeros(n), hand - torque, np.zeros(n)], -1)
    size = (np.abs(hand) + rubs / m.reduction + m.friction.wheel_drag) / m.wheel.radius
    turned = ANGLES * m.reduction
    push = size[:, None] * np.stack([np.cos(turned), np.zeros(n), -np.sin(turned)], -1)
    pushing = (
        acting(np.zeros((n, 3)), np.zeros(3), couple),
        acting(push, np.array([shaft_places(m)[0][0][0], m.wheel.out, m.wheel.height])),
    )
    return wings + base((*weighed(rest, m.gravity), *pushing), n)


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give the line of the post, if there is one."""
    m = basis.mechanism
    making = m.structure.post
    if m.post is None or making is None:
        return ()
    tube, dead = Tube(m.post.outside, m.post.wall), Dead(basis.linkage)
    worst: tuple[float, str] = (0.0, "dead weight")
    for s in situations(basis.loads):
        stress = tube.stress(*along(dead.at(s.crank) + s.live))
        worst = max(worst, (float(np.max(stress)), s.name))
    checks = [
        yielding("stress at its foot, bending, weight and twist", worst[0], making.material.strength, m.use, worst[1],
                 f"cantilever tube, von Mises; {TABLES}",
                 note="unfactored, dead weight in it; codes ask for factors, buckling and the wall's slenderness too")
    ]  # fmt: skip
    notes: tuple[str, ...] = ("for information: the structural engineer decides",)
    if making.base is None and making.weld.toe is None:
        notes = (*notes, "its base plate is not described: the weld at its foot is not judged")
    else:
        moment, axial = along(in_use(basis.linkage))
        welds, more = weld_checks(tube, making.weld, moment, axial, m.use.turns(m.reduction), m.use)
        checks, notes = [*checks, *welds], (*notes, *more, "fatigue by wind is not in it")
    if making.cap is not None:
        notes = (*notes, "its cap is weighed and not judged: what bears on it is not described")
    size = f"{shown(m.post.outside, 'length')} x {shown(m.post.wall, 'length')}, {making.material.name}"
    described = Sizing(size, tuple(checks), "description")
    return (Line(FAMILY, "at its foot", 1, "", None, None, described, notes),)
