"""A scene by its angles: coordinates, what acts between them, and what rubs, as arrays for the compiled steps."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim import names
from sim.arrays import Array
from sim.builders import Linkage
from sim.engines.base import NotReduced
from sim.engines.sticking import LIMITER_DAMPING, MOST_DAMPING
from sim.friction import STICK_DAMPING, Drag, Station
from sim.mass import plate_mass
from sim.reduced.tables import SideTables, side_tables
from sim.scene import Body, Scene
from sim.transmission import Strands

Whole = NDArray[np.int64]
SAME = 1e-9
"""kg by which a panel may be heavier than the linkage's, for rounding."""
CHAIN, TWIST, BRISTLE = 0, 1, 2
"""Kinds of what acts between coordinates."""


@dataclass(frozen=True)
class System:
    """A scene by its angles.

    Every angle is its start and a share of one coordinate: exact ratios tie angles to one. The coordinates count
    from 0.

    Attributes
    ----------
    names : of the angles: rotors, wheel and crankshafts.
    coordinate, share, start : (a,) of each angle.
    speed : (m,) of the coordinates at the start.
    inertia : (m,) kg m2, what does not change: rotors, wheel.
    joints : of each side, the names of its joints.
    own_tables, forces : tables of the sides, one above the other, as of `SideTables`; joints that a side has less
        than another carry nothing.
    arms : (s, COARSE + 1, j) m, by which each joint counts as friction on its crank.
    side_at : (s,) each side's crank among the angles.
    wheel_at : the wheel among the angles.
    wheel : (4,) mass, kg, forward and up place of its centre of mass at the start, m, and its share of gravity, m/s2.
    kinds, between, levers, numbers : (e,), (e, 2), (e, 2), (e, 8): elements: what they are, between which
        coordinates, with which levers on them, and the numbers of their law.
    starts : (e,) their travel at the start.
    drags : how many of the last elements are friction; limiters come before.
    own : (d,) N m of friction that does not depend on load.
    static : (d,) static over sliding friction less 1.
    scale : (d,) N m, friction before any force is known.
    side_drag : (s,) index among the drags of each side's friction, or -1.
    stations : (b, 4) of bearings that rub: constant force, N, and share of the wheel's bearing force.
    pulls : (b, k, 6) of chains on them, strand a's and b's force per tension.
    on_station, on_chain : (d, b), (d, k) arms, m, of the drags.
    driven : coordinate whose speed is prescribed, or -1.
    loaded : angle on which the loads act, or -1.
    """

    names: tuple[str, ...]
    coordinate: Whole
    share: Array
    start: Array
    speed: Array
    inertia: Array
    joints: tuple[tuple[str, ...], ...]
    own_tables: Array
    forces: Array
    arms: Array
    side_at: Whole
    wheel_at: int
    wheel: Array
    kinds: Whole
    between: Whole
    levers: Array
    numbers: Array
    starts: Array
    drags: int
    own: Array
    static: Array
    scale: Array
    side_drag: Whole
    stations: Array
    pulls: Array
    on_station: Array
    on_chain: Array
    driven: int
    loaded: int


def system(scene: Scene, closed: Linkage) -> System:
    """Give a scene by its angles.

    Parameters
    ----------
    scene : of `closed`, built for it.
    closed : the sculpture.

    Raises
    ------
    NotReduced
        Where the scene has pushes, springs, pitch polygons, or parts that are not there any more.
    """
    _refuse(scene, closed)
    spinning = [b for b in scene.bodies if b.spin is not None]
    angles = [(r.name, r.angle, r.speed) for r in scene.rotors]
    angles += [(b.name, b.angle, float(b.angular_velocity @ b.spin)) for b in spinning if b.spin is not None]
    place = {name: k for k, (name, _, _) in enumerate(angles)}
    coordinate, share = _tied(scene, place)
    count = int(coordinate.max()) + 1
    inertias = {r.name: r.inertia for r in scene.rotors}
    wheel = next(b for b in spinning if b.name == names.WHEEL)
    centre = next(j.point for j in scene.joints if j.b == names.WHEEL)
    arm = wheel.com - centre
    inertias[names.WHEEL] = _about(wheel) + wheel.mass * float(arm @ arm)
    inertia = np.zeros(count)
    for name, own in inertias.items():
        inertia[coordinate[place[name]]] += own * share[place[name]] ** 2
    speed = np.zeros(count)
    for name, _, rate in angles:
        if share[place[name]] == 1:
            speed[coordinate[place[name]]] = rate
    sides = [(s, names.crankshaft(s.side.name)) for s in closed.sides]
    drags = {d.on: d for d in scene.drags}
    gravity = -float(scene.gravity[2])
    tables = [side_tables(s, gravity) for s, _ in sides]
    elements = _Elements(coordinate, share, place, scene.inertias())
    for chain in scene.strands:
        elements.add(CHAIN, chain.driver, chain.driven, (chain.driver_radius, -chain.driven_radius),
                     (*chain.numbers[:3], float(chain.numbers[3]), *chain.numbers[4:]), chain.start)  # fmt: skip
    for twist in scene.twists:
        elements.add(TWIST, twist.a, twist.b, (1.0, -1.0),
                     (twist.stiffness, twist.damping, twist.backlash / 2), twist.start)  # fmt: skip
    for x in scene.limiters:
        elements.bristle(x.a, x.b, x.stiffness, LIMITER_DAMPING, x.start, x.torque)
    for d in scene.drags:
        elements.bristle(d.on, d.on, d.stiffness, STICK_DAMPING, 0.0)
    rubbing = _Rubbing(scene)
    motion = scene.motions[0].on if scene.motions else None
    return System(
        names=tuple(place),
        coordinate=coordinate,
        share=share,
        start=np.array([a for _, a, _ in angles]),
        speed=speed,
        inertia=inertia,
        joints=tuple(t.joints for t in tables),
        own_tables=np.stack([t.inertia for t in tables]),
        forces=_stacked([t.forces for t in tables]),
        arms=_stacked([_arms(t, drags.get(crank)) for t, (_, crank) in zip(tables, sides, strict=True)]),
        side_at=np.array([place[crank] for _, crank in sides]),
        wheel_at=place[names.WHEEL],
        wheel=np.array([wheel.mass, float(arm[0]), float(arm[2]), gravity]),
        kinds=np.array(elements.kinds, dtype=np.int64),
        between=np.array(elements.between, dtype=np.int64).reshape(-1, 2),
        levers=np.array(elements.levers).reshape(-1, 2),
        numbers=np.array(elements.numbers).reshape(-1, 8),
        starts=np.array(elements.starts),
        drags=len(scene.drags),
        own=np.array([d.torque for d in scene.drags]),
        static=np.array([d.static - 1 for d in scene.drags]),
        scale=np.array([max(d.torque, d.scale if d.rubs else 0.0) for d in scene.drags]),
        side_drag=np.array([_place_of(scene.drags, crank) for _, crank in sides]),
        stations=rubbing.stations,
        pulls=rubbing.pulls,
        on_station=rubbing.on_station,
        on_chain=rubbing.on_chain,
        driven=-1 if motion is None else int(coordinate[place[motion]]),
        loaded=place[scene.loads[0].on] if scene.loads else -1,
    )


def _refuse(scene: Scene, closed: Linkage) -> None:
    bodies = {names.WHEEL} | {names.crankshaft(s.side.name) for s in closed.sides}
    for side in closed.sides:
        bodies |= {f(side.side.name, p.name) for p in side.side.panels for f in (names.panel, names.rod)}
    joints = {names.WHEEL_BEARINGS} | {
        joint for s in closed.sides for joint in side_tables(s, -float(scene.gravity[2])).joints
    }
    masses = {b.name: b.mass for b in scene.bodies}
    changed = [
        p.name for s in closed.sides for p in s.side.panels
        if abs(masses.get(names.panel(s.side.name, p.name), 0.0) - plate_mass(p.plate).mass) > SAME
    ]  # fmt: skip
    for found, what in (
        (scene.pushes, "wind or a push on a panel"),
        (scene.springs, "a spring"),
        (scene.flexibles, "a crankshaft that bends"),
        ([s for s in scene.strands if s.teeth is not None], "chordal action"),
        (bodies ^ {b.name for b in scene.bodies}, "parts added or missing"),
        (joints ^ {j.name for j in scene.joints}, "joints added or missing"),
        ([j for j in scene.joints if all(j.locks)], "a blocked panel"),
        ([x for x in scene.motions if x.on != names.WHEEL], "a blocked crank"),
        (changed or scene.until is not None, "people on a wing"),
        (len(scene.motions) > 1 or len(scene.loads) > 1, "more than one hand"),
    ):
        if found:
            raise NotReduced(f"the reduced model knows nothing of {what}; write method engine")


def _tied(scene: Scene, place: dict[str, int]) -> tuple[Whole, Array]:
    """Give the coordinate and the share in it of every angle, those tied by ratios having the same one."""
    root = list(range(len(place)))
    share = np.ones(len(place))
    for ratio in scene.ratios:
        near, far = place[ratio.driver], place[ratio.driven]
        # driven = driver / reduction: all that hangs on the driven one's root now hangs on the driver's.
        factor = share[near] / ratio.reduction / share[far]
        old = root[far]
        for k in range(len(root)):
            if root[k] == old:
                root[k], share[k] = root[near], share[k] * factor
    roots = list(dict.fromkeys(root))
    return np.array([roots.index(r) for r in root]), share


def _stacked(tables: list[Array]) -> Array:
    """Stack the tables of the sides, those of fewer joints filled up with nothing."""
    most = max(t.shape[-1] for t in tables)
    made = np.zeros((len(tables), *tables[0].shape[:-1], most))
    for k, table in enumerate(tables):
        made[k, ..., : table.shape[-1]] = table
    return made


def _arms(tables: SideTables, drag: Drag | None) -> Array:
    """Give the arms (COARSE + 1, j), m, of a side's joints in the friction on its crank."""
    arms = np.zeros(tables.forces.shape[::2])
    for rub in () if drag is None else drag.rubs:
        arms[:, tables.joints.index(rub.of)] += np.append(rub.arm, rub.arm[:1])
    return arms


def _about(body: Body) -> float:
    assert body.spin is not None
    axis = body.rotation.T @ body.spin
    return float(axis @ body.inertia @ axis)


def _place_of(drags: tuple[Drag, ...], on: str) -> int:
    return next((k for k, d in enumerate(drags) if d.on == on), -1)


class _Elements:
    """Gathers what acts between coordinates."""

    def __init__(
        self, coordinate: Whole, share: Array, place: dict[str, int], inertia: dict[str, float]
    ) -> None:
        self.coordinate, self.share, self.place, self.inertia = coordinate, share, place, inertia
        self.kinds: list[int] = []
        self.between: list[tuple[int, int]] = []
        self.levers: list[tuple[float, float]] = []
        self.numbers: list[list[float]] = []
        self.starts: list[float] = []

    def add(
        self, kind: int, a: str, b: str, levers: tuple[float, float], numbers: tuple[float, ...], start: float
    ) -> None:
        i, j = self.place[a], self.place[b]
        self.kinds.append(kind)
        self.between.append((int(self.coordinate[i]), int(self.coordinate[j])))
        self.levers.append((levers[0] * float(self.share[i]), levers[1] * float(self.share[j])))
        self.numbers.append([*numbers, *[0.0] * (8 - len(numbers))])
        self.starts.append(start)

    def bristle(
        self, a: str, b: str, stiffness: float, time: float, start: float, torque: float = 0.0
    ) -> None:
        """Add a bristle damped as `sim.engines.sticking` says."""
        same = a == b
        near, far = self.inertia[a], self.inertia[b]
        held = near if same else near * far / (near + far)
        damping = min(time * stiffness, 2 * MOST_DAMPING * float(np.sqrt(stiffness * held)))
        self.add(BRISTLE, a, b, (1.0, 0.0 if same else -1.0), (stiffness, damping, torque), start)


class _Rubbing:
    """Gathers the bearings of the drive that rub."""

    def __init__(self, scene: Scene) -> None:
        chains = {c.name: k for k, c in enumerate(scene.strands)}
        sides = {j.name for j in scene.joints} - {names.WHEEL_BEARINGS}
        stations = {s.name: s for s in scene.stations}
        rubbed = list(dict.fromkeys(r.of for d in scene.drags for r in d.rubs
                                    if r.of not in chains and r.of not in sides))  # fmt: skip
        place = {name: k for k, name in enumerate(rubbed)}
        self.stations = np.zeros((len(rubbed), 4))
        self.pulls = np.zeros((len(rubbed), len(chains), 6))
        for name, k in place.items():
            self._add(k, stations[name], chains, scene.strands)
        self.on_station = np.zeros((len(scene.drags), len(rubbed)))
        self.on_chain = np.zeros((len(scene.drags), len(chains)))
        for k, drag in enumerate(scene.drags):
            for rub in drag.rubs:
                if rub.of in chains:
                    self.on_chain[k, chains[rub.of]] += float(rub.arm[0])
                elif rub.of in place:
                    self.on_station[k, place[rub.of]] += float(rub.arm[0])

    def _add(self, k: int, station: Station, chains: dict[str, int], strands: tuple[Strands, ...]) -> None:
        del strands
        self.stations[k, :3] = station.constant
        for joint, part in station.shares:
            if joint != names.WHEEL_BEARINGS:
                raise NotReduced(
                    f"the reduced model knows nothing of friction at {station.name}; write method engine"
                )
            self.stations[k, 3] += part
        for pull in station.pulls:
            self.pulls[k, chains[pull.chain], :3] += pull.a
            self.pulls[k, chains[pull.chain], 3:] += pull.b
