"""What a piece weighs and where, part by part, and what a description leaves out of that."""

from dataclasses import dataclass

import numpy as np

from models.drive import DriveShaft
from models.mechanism import Mechanism, Side, Station
from models.outline import moments
from sim.arrays import Array
from sim.builders import Linkage
from sim.closed_form import moving_parts
from sim.layout import Place, chain_run, shaft_places
from sim.mass import sprocket_mass, wheel_mass

NOT_KNOWN = (
    "bearings and their housings, hinges, yoke brackets, hubs, keys and collars, guards, bolts, welds, paint or zinc",
    "foundation and anchors",
)
"""What descriptions never say the mass of."""


@dataclass(frozen=True)
class Piece:
    """A part with its weight.

    Attributes
    ----------
    name : of the part.
    mass : kg.
    at : (n, 3) or (3,) its centre from the foot of the post, m.
    moves : whether it hangs in the drive's and the wings' bearings, and not on the post itself.
    source : what its mass rests on.
    """

    name: str
    mass: float
    at: Array
    moves: bool
    source: str


def pieces(closed: Linkage, crank: Array) -> tuple[Piece, ...]:
    """Give all parts whose mass is known, at crank angles (n,), rad."""
    m = closed.mechanism
    return (*_wings(closed, crank), *_drive(m, crank), *_shafts(m), *_carrying(m))


def lacking(m: Mechanism) -> tuple[str, ...]:
    """Name what the weights leave out."""
    s = m.structure
    open_ = [
        (m.post is None and s.stand is None, "post or stand: not described"),
        (s.stand is not None and s.stand.mass is None, "stand: its mass is not described"),
        (m.post is not None and (s.post is None or s.post.base is None), "base plate: not described"),
        (m.post is not None and (s.post is None or s.post.cap is None), "cap of the post: not described"),
        (s.arm is None and any(x.on == "arm" for side in m.sides for x in side.crank.stations),
         "arms that carry crankshaft bearings: not described"),
        (s.body is None, "body plate: not described"),
        (s.arm is not None and s.arm.bracket is None and _offset(m) > 0,
         "brackets between arms and bearings: not described"),
    ]  # fmt: skip
    return (*(words for out, words in open_ if out), *NOT_KNOWN)


def arm_stations(side: Side) -> dict[float, tuple[Station, ...]]:
    """Give a side's bearings that arms carry: 1 those out on its own side, -1 those across the post."""
    on_arm = [x for x in side.crank.stations if x.on == "arm"]
    ways = {1.0: [x for x in on_arm if x.out >= 0], -1.0: [x for x in on_arm if x.out < 0]}
    return {way: tuple(found) for way, found in ways.items() if found}


def arm_reach(m: Mechanism, side: Side) -> dict[float, float]:
    """Give how far a side's arms reach from the post's wall, m, by the way they go; up to their last bearing."""
    root = arm_root(m)
    reach = {way: max(abs(x.out) for x in found) - root for way, found in arm_stations(side).items()}
    return {way: length for way, length in reach.items() if length > 0}


def arm_root(m: Mechanism) -> float:
    """Give where an arm leaves the post, along the crankshaft from the post's axis, m.

    On the surface of the tube at the arm's own axis; on the axis where there is no post.
    """
    arm = m.structure.arm
    assert arm is not None
    radius = m.post.outside / 2 if m.post else 0.0
    return float(np.sqrt(max(0.0, radius**2 - arm.forward**2)))


def _offset(m: Mechanism) -> float:
    return float(np.hypot(m.structure.arm.up, m.structure.arm.forward)) if m.structure.arm else 0.0


def _wings(closed: Linkage, crank: Array) -> list[Piece]:
    height = np.array([0.0, 0.0, closed.mechanism.crank_height])
    return [
        Piece(f"{side.side.name} {part.name}", part.mass,
              part.com.value * np.array([1.0, side.side.sign, 1.0]) + height, True, "described sizes and density")
        for side in closed.sides
        for part in moving_parts(side, crank)
    ]  # fmt: skip


def _drive(m: Mechanism, crank: Array) -> list[Piece]:
    """Give wheel, sprockets and chains; a chain's weight hangs on its two shafts as `sim.builders.bearings` says."""
    places, _ = shaft_places(m)
    wheel, turned = wheel_mass(m.wheel), crank * m.reduction
    swung = np.stack(
        [
            wheel.com[0] * np.cos(turned) + wheel.com[2] * np.sin(turned),
            np.zeros_like(turned),
            -wheel.com[0] * np.sin(turned) + wheel.com[2] * np.cos(turned),
        ],
        -1,
    )
    found = [
        Piece("wheel", wheel.mass, swung + _shaft_at(m, places[0], m.wheel.out), True, "described sizes")
    ]
    for k, stage in enumerate(m.stages, 1):
        for teeth, place in ((stage.driver, places[k - 1]), (stage.driven, places[k])):
            found.append(
                Piece(f"stage {k} sprocket of {teeth}", sprocket_mass(teeth, stage).mass,
                      _shaft_at(m, place, stage.out), True, "solid disc of pitch diameter; assumption")
            )  # fmt: skip
        if stage.kind == "chain":
            run = chain_run(m, k)
            for end, place, mass in zip(
                ("driver", "driven"), places[k - 1 : k + 1], run.weights, strict=True
            ):
                found.append(
                    Piece(f"stage {k} chain, on its {end}", mass,
                          _shaft_at(m, place, stage.out), True, "two free strands by weight per length")
                )  # fmt: skip
    return found


def _shafts(m: Mechanism) -> list[Piece]:
    """Give the drive's straight shafts, from one bearing or wheel or sprocket to the farthest other."""
    if not m.stages:
        return []
    places, _ = shaft_places(m)
    found: list[Piece] = []
    for k in range(len(m.stages) + 1):
        shaft: DriveShaft = m.wheel.shaft if k == 0 else m.stages[k - 1].shaft
        planes = [s.out for s in m.stages[max(0, k - 1) : k + 1]] + ([m.wheel.out] if k == 0 else [])
        low, high = min(*shaft.bearings, *planes), max(*shaft.bearings, *planes)
        mass = m.drive_stock.density * np.pi / 4 * shaft.diameter**2 * (high - low)
        name = "wheel shaft" if k == 0 else f"shaft after stage {k}"
        found.append(
            Piece(name, float(mass), _shaft_at(m, places[k], (low + high) / 2), False,
                  "over its bearings and wheels; assumption")
        )  # fmt: skip
    return found


def _shaft_at(m: Mechanism, place: Place, out: float) -> Array:
    return np.array([place[0], out, m.crank_height + place[1]])


def _carrying(m: Mechanism) -> list[Piece]:
    s, high = m.structure, m.crank_height
    found: list[Piece] = []
    if m.post is not None and s.post is not None:
        top = high + m.post.above
        section = np.pi / 4 * (m.post.outside**2 - m.post.bore**2)
        found.append(_fixed("post", s.post.material.density * section * top, (0, 0, top / 2)))
        if s.post.cap is not None:
            disc = s.post.material.density * np.pi / 4 * m.post.outside**2 * s.post.cap
            found.append(_fixed("cap of the post", disc, (0, 0, top)))
        if s.post.base is not None:
            b = s.post.base
            found.append(
                _fixed("base plate", b.material.density * b.width * b.length * b.thickness, (0, 0, 0))
            )
    if s.body is not None:
        area = moments(s.body.outline)
        place = (0, area.centroid[0], high + s.body.up + area.centroid[1])
        found.append(_fixed("body plate", s.body.material.density * area.area * s.body.thickness, place))
    if s.stand is not None and s.stand.mass is not None:
        middle = np.mean(s.stand.feet, axis=0)
        found.append(_fixed("stand", s.stand.mass, (middle[0], middle[1], s.stand.height or 0.0)))
    return found + [p for side in m.sides for p in _arms(m, side)]


def _arms(m: Mechanism, side: Side) -> list[Piece]:
    arm = m.structure.arm
    if arm is None:
        return []
    bore = 0.0 if arm.wall == 0 else arm.outside - 2 * arm.wall
    section, root = np.pi / 4 * (arm.outside**2 - bore**2), arm_root(m)
    found: list[Piece] = []
    for way, length in arm_reach(m, side).items():
        at = (arm.forward, side.sign * way * (root + length / 2), m.crank_height + arm.up)
        found.append(_fixed(f"{side.name} arm", float(arm.material.density * section * length), at))
    for station in side.crank.stations:
        if arm.bracket is not None and station.on == "arm":
            own = arm.material.density * arm.bracket[0] * arm.bracket[1] * _offset(m)
            place = (arm.forward / 2, side.sign * station.out, m.crank_height + arm.up / 2)
            found.append(_fixed(f"{side.name} bracket at {1000 * station.out:.0f} mm", float(own), place))
    return found


def _fixed(name: str, mass: float, at: tuple[float, float, float]) -> Piece:
    return Piece(name, float(mass), np.array(at, dtype=float), False, "described sizes and density")
