"""Joint forces of a side standing still at any crank angle, in closed form, and the friction they make.

What acts on a part counts as a force and a moment about the side's origin. From the outermost panel inwards,
moments about each hinge line give the rod's pull, and the sum of forces what the hinge carries. A rod sits on
two balls: half of what acts on it goes to each, what turns it across its length goes to both as a pair, and the
rest of its force lies along it. Coordinates of a side: forward, out, up, as if it were the left one; moments are
so too, and those of a right side change their signs about forward and up in the world.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from models.mechanism import Rubbing, Side
from sim import names
from sim.arrays import Array
from sim.closed_form import Moving, moving_parts
from sim.linkage import PanelCourse, SideLinkage

Pushes = Mapping[str, tuple[Array, Array]]
"""By panel name: a force (n, 3) or (3,), N, and the point (n, 3) or (3,), m, where it acts."""


@dataclass(frozen=True)
class Wrench:
    """What acts on a part: force (n, 3) N, and moment (n, 3) N m about the side's origin."""

    force: Array
    moment: Array

    def __add__(self, other: "Wrench") -> "Wrench":
        return Wrench(self.force + other.force, self.moment + other.moment)

    def about(self, point: Array) -> Array:
        """Give its moment (n, 3), N m, about points (n, 3)."""
        return self.moment - np.cross(point, self.force)


@dataclass(frozen=True)
class Balance:
    """What the joints of a side carry at n crank angles.

    Attributes
    ----------
    forces : by joint name, (n, 3) N: what the moving part puts on the part nearer the ground, as the joints
        of the scene record it.
    moments : by hinge name, (n, 3) N m about the hinge line's origin, in the same sense; none about the line.
    torque : (n,) N m about the crank's axis that keeps the balance, without friction.
    """

    forces: dict[str, Array]
    moments: dict[str, Array]
    torque: Array


@dataclass(frozen=True)
class Statics:
    """A side standing still at n crank angles.

    Attributes
    ----------
    forces, torque, moments : as in `Balance`.
    friction : (n,) N m at the crank that friction adds while it turns: the sum over joints of
        mu r |F| times the joint's turn per turn of the crank.
    """

    forces: dict[str, Array]
    torque: Array
    friction: Array
    moments: dict[str, Array]


def statics(
    linkage: SideLinkage,
    crank: Array,
    gravity: float | Array,
    rubbing: Rubbing,
    pushes: Pushes | None = None,
) -> Statics:
    """Give the joint forces of a side standing still.

    Parameters
    ----------
    linkage : the side.
    crank : crank angles (n,), rad.
    gravity : m/s2 downwards, or its vector (3,) in the side's coordinates where the piece hangs askew.
    rubbing : the friction.
    pushes : what else acts on panels, in the side's coordinates.

    Raises
    ------
    ValueError
        Where a push names no panel of the side.
    """
    courses, parts = linkage.course(crank), moving_parts(linkage, crank)
    loads = with_pushes(weights(parts, gravity), linkage.side, pushes or {})
    found = balance(linkage.side, courses, loads)
    rubs = rubbed(_arms(linkage.side, courses, parts, rubbing), found.forces)
    return Statics(found.forces, found.torque, rubs, found.moments)


def weights(parts: tuple[Moving, ...], gravity: float | Array) -> dict[str, Wrench]:
    """Give what gravity, m/s2 downwards or a vector (3,), puts on each part, by its name."""
    down = np.array([0.0, 0.0, -gravity]) if np.ndim(gravity) == 0 else np.asarray(gravity)
    return {p.name: at_point(p.mass * down, p.com.value) for p in parts}


def at_point(force: ArrayLike, point: ArrayLike) -> Wrench:
    """Give the wrench of a force (3,) or (n, 3), N, at a point (n, 3) or (3,), m."""
    f, p = np.broadcast_arrays(np.asarray(force, dtype=float), np.asarray(point, dtype=float))
    return Wrench(f, np.cross(p, f))


def with_pushes(loads: dict[str, Wrench], side: Side, pushes: Pushes) -> dict[str, Wrench]:
    """Give the loads with pushes on the side's panels added; raises as `statics` does."""
    known = [p.name for p in side.panels]
    lost = [name for name in pushes if name not in known]
    if lost:
        raise ValueError(
            f"{side.name} side has no panel '{lost[0]}' to push; its panels are {', '.join(known)}"
        )
    added = {f"{name} panel": at_point(*push) for name, push in pushes.items()}
    return {name: load + added[name] if name in added else load for name, load in loads.items()}


def balance(side: Side, courses: tuple[PanelCourse, ...], loads: Mapping[str, Wrench]) -> Balance:
    """Give what the joints carry so that every part is in balance.

    Parameters
    ----------
    side : whose bearings and names are meant.
    courses : of its panels from the innermost on, at n crank angles.
    loads : by part name as in `moving_parts`; those left out carry nothing. A part's inertia counts as a load,
        its mass times acceleration and its rate of angular momentum reversed (d'Alembert).
    """
    n = max(len(load.force) for load in loads.values())
    nothing = Wrench(np.zeros((n, 3)), np.zeros((n, 3)))
    forces: dict[str, Array] = {}
    moments: dict[str, Array] = {}
    outer, shaft = nothing, loads.get("crankshaft", nothing)
    for course in reversed(courses):
        name, at = course.panel.name, course.hinge.value
        on_panel, on_rod = (loads.get(f"{name} {part}", nothing) for part in ("panel", "rod"))
        pin, yoke = course.pin.value, course.yoke.value
        length = np.linalg.norm(pin - yoke, axis=1, keepdims=True)
        along = (pin - yoke) / length
        turning = on_rod.about((pin + yoke) / 2)
        # A ball takes no moment: what turns the rod about itself goes to the panel through its spin lock.
        twist = np.sum(turning * along, axis=1, keepdims=True) * along
        pair = np.cross(along, turning) / length
        known = on_panel + at_point(on_rod.force / 2 + pair, yoke) + outer
        known = Wrench(known.force, known.moment + twist)
        lever = np.cross(yoke - at, along)[:, :1]
        pull = -known.about(at)[:, :1] / lever * along
        forces[names.yoke_eye(side.name, name)] = on_rod.force / 2 + pair + pull
        forces[names.crank_eye(side.name, name)] = on_rod.force / 2 - pair - pull
        outer = known + at_point(pull, yoke)
        forces[names.hinge(side.name, name)] = outer.force
        moments[names.hinge(side.name, name)] = outer.about(at) * np.array([0.0, 1.0, 1.0])
        shaft = shaft + at_point(forces[names.crank_eye(side.name, name)], pin)
    return Balance(forces | _bearings(side, shaft), moments, -shaft.moment[:, 1])


def _bearings(side: Side, shaft: Wrench) -> dict[str, Array]:
    """Give the loads of both bearings; the radial one carries no thrust."""
    near, far = side.crank.bearings
    radial = np.zeros_like(shaft.force)
    # Moments about the locating bearing, square to the shaft.
    radial[:, 2] = (shaft.moment[:, 0] - near * shaft.force[:, 2]) / (far - near)
    radial[:, 0] = (-shaft.moment[:, 2] - near * shaft.force[:, 0]) / (far - near)
    return {names.radial(side.name): radial, names.locating(side.name): shaft.force - radial}


def rub_arms(linkage: SideLinkage, crank: Array, rubbing: Rubbing) -> dict[str, Array]:
    """Give each joint's friction torque at the crank per newton that the joint carries.

    Parameters
    ----------
    linkage, crank, rubbing : as in `statics`.

    Returns
    -------
    By joint name (n,), m: mu r |turn of the joint per turn of the crank|, with r the radius of the shaft, of the
    hinge's pin or of the rod end's ball, and mu the sliding coefficient.
    """
    return _arms(linkage.side, linkage.course(crank), moving_parts(linkage, crank), rubbing)


def rubbed(arms: Mapping[str, Array], forces: Mapping[str, Array]) -> Array:
    """Give the friction (n,), N m at the crank: the sum over joints of arm (n,), m, times |force (n, 3)|, N."""
    return np.sum([arm * np.linalg.norm(forces[name], axis=1) for name, arm in arms.items()], axis=0)


def joint_turns(linkage: SideLinkage, crank: Array) -> dict[str, Array]:
    """Give how far each joint turns per turn of the crank, whichever way.

    Parameters
    ----------
    linkage, crank : as in `statics`.

    Returns
    -------
    By joint name (n,): the size of the relative angular velocity of its two parts per unit of the crank's.
    """
    return _turns(linkage.side, linkage.course(crank), moving_parts(linkage, crank))


def _arms(
    side: Side, courses: tuple[PanelCourse, ...], parts: tuple[Moving, ...], rubbing: Rubbing
) -> dict[str, Array]:
    levers = {names.locating(side.name): rubbing.bush * side.crank.shaft / 2,
              names.radial(side.name): rubbing.bush * side.crank.shaft / 2}  # fmt: skip
    for panel in side.panels:
        ball = rubbing.rod_end * panel.rod.ball / 2
        levers[names.hinge(side.name, panel.name)] = rubbing.hinge * panel.hinge_pin / 2
        levers[names.crank_eye(side.name, panel.name)] = levers[names.yoke_eye(side.name, panel.name)] = ball
    return {joint: levers[joint] * turn for joint, turn in _turns(side, courses, parts).items()}


def _turns(side: Side, courses: tuple[PanelCourse, ...], parts: tuple[Moving, ...]) -> dict[str, Array]:
    spins = {p.name: p.spin for p in parts}
    shaft, inner = spins["crankshaft"], np.zeros_like(spins["crankshaft"])
    own_turn = np.linalg.norm(shaft, axis=1)
    turns = {names.locating(side.name): own_turn, names.radial(side.name): own_turn}
    for course in courses:
        name = course.panel.name
        own, rod = spins[f"{name} panel"], spins[f"{name} rod"]
        turns[names.hinge(side.name, name)] = np.linalg.norm(own - inner, axis=1)
        turns[names.crank_eye(side.name, name)] = np.linalg.norm(rod - shaft, axis=1)
        turns[names.yoke_eye(side.name, name)] = np.linalg.norm(rod - own, axis=1)
        inner = own
    return turns
