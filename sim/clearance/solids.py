"""The shapes of a sculpture's parts, for clearances: from real outlines where the description has them.

What it does not have is assumed, on the large side where that could be said:

- a rod is a round bar of its diameter, its rod ends balls of twice the diameter of their own ball;
- a counterweight is a steel ball of its mass: the smallest that it can be; a flat one reaches farther;
- a bearing's housing is a cylinder of twice the shaft's diameter, 30 mm long;
- a rim or a geared handle is the whole disc that it sweeps; a handle's grip is 30 mm thick and 110 mm long;
- yoke brackets, hinges, arms that carry bearings, guards, chains and lumps on panels have no shape here.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal

import numpy as np
from shapely import Polygon

from models.drive import Wheel
from models.mechanism import Mechanism, Panel, Side
from sim import names
from sim.arrays import Array, rotation, vector
from sim.clearance.convex import Convex, ball, beyond, capsule, convex_parts, cylinder, plate_area, prism
from sim.clearance.poses import FIXED, WHEEL, Carrier
from sim.layout import shaft_places
from sim.mass import Y

Kind = Literal["panel", "rod", "throw", "shaft", "counterweight", "post", "bearing", "wheel"]

POST = "post"
ROD_END = 2.0
"""Diameter of a rod end's body over that of its ball (assumption)."""
YOKE_ROOM = 2.0
"""How much of a rod next to its yoke pin is left out against its own panel, in ball diameters (assumption)."""
HOUSING, HOUSING_LENGTH = 2.0, 0.03
"""Diameter of a bearing's housing over the shaft's, and its length, m (assumptions)."""
LEAF = 3.0
"""Half the width of the strip along a hinge line that is left out, in thicknesses of the thicker panel."""
GRIP, GRIP_LENGTH = 0.03, 0.11
"""Diameter and length of a handle's grip, m (assumptions)."""
ARM = (0.04, 0.008)
"""Width and thickness of a handle's arm, m: the flat bar that its mass is taken from."""


def throw_name(side: str, panel: str) -> str:
    """Name a panel's throw: its two webs and its pin."""
    return f"{side} {panel} throw"


def shaft_name(side: str) -> str:
    """Name the straight parts of a side's crankshaft."""
    return f"{side} shaft"


def counterweight_name(side: str, number: int) -> str:
    """Name a counterweight, counted from 0."""
    return f"{side} counterweight {number + 1}"


def bearing_name(side: str, out: float) -> str:
    """Name the housing of a crankshaft bearing by its place along the shaft, m."""
    return f"{side} bearing at {1000 * out:.0f} mm"


@dataclass(frozen=True)
class Solid:
    """A part's shape.

    Attributes
    ----------
    name : the part's.
    kind : for grouping.
    side : which of the sides, or None for what belongs to neither.
    body : parts of the same body do not move against each other.
    carrier : what moves it.
    shapes : convex ones, which together are the part.
    against : by another part's name, what of this part is looked at against that one where both are joined:
        the rest lies in the joint. Nothing where they meet in a joint all over.
    """

    name: str
    kind: Kind
    side: int | None
    body: str
    carrier: Carrier
    shapes: tuple[Convex, ...]
    against: Mapping[str, tuple[Convex, ...]] = field(default_factory=dict[str, "tuple[Convex, ...]"])

    def toward(self, other: str) -> tuple[Convex, ...]:
        """Give the shapes to be looked at against another part."""
        return self.against.get(other, self.shapes)


def solids(mechanism: Mechanism) -> tuple[Solid, ...]:
    """Give the parts of a sculpture that may hit each other."""
    found: list[Solid] = []
    for k, side in enumerate(mechanism.sides):
        found += _panels(side, k)
        found += [_rod(side, k, n) for n in range(len(side.panels))]
        found += [_throw(side, k, p) for p in side.panels]
        found += [_shaft(mechanism, k), *_weights(side, k), *_bearings(side, k)]
    if mechanism.post is not None:
        post = mechanism.post
        foot = vector(0, 0, -mechanism.crank_height)
        tube = cylinder(foot, 2, mechanism.crank_height + post.above, post.outside / 2)
        found.append(Solid(POST, "post", None, POST, FIXED, (tube,)))
    found.append(_wheel(mechanism))
    return tuple(found)


def hinge_strip(inner: Panel | None, outer: Panel) -> float:
    """Give half the width of the strip along an outer panel's hinge line that is left to the hinge, m."""
    thick = max(p.plate.thickness for p in (inner, outer) if p is not None)
    return max(LEAF * thick, outer.hinge_pin)


def _plates(panel: Panel, strip: float = 0.0, line: float = 0.0) -> tuple[Convex, ...]:
    """Give a panel's plate, without a strip along a line at some distance out where one is given."""
    area = plate_area(panel.plate.outline)
    if strip > 0:
        area = beyond(area, strip, line)
    return tuple(prism(part, panel.plate.thickness) for part in convex_parts(area))


def _panels(side: Side, k: int) -> Iterator[Solid]:
    panels = side.panels
    for n, panel in enumerate(panels):
        name = names.panel(side.name, panel.name)
        before = panels[n - 1] if n > 0 else None
        inward = names.panel(side.name, before.name) if before else POST
        against = {inward: _plates(panel, hinge_strip(before, panel))}
        if n + 1 < len(panels):
            after = panels[n + 1]
            strip = hinge_strip(panel, after)
            against[names.panel(side.name, after.name)] = _plates(panel, strip, after.hinge_out)
        yield Solid(name, "panel", k, name, Carrier("panel", k, n), _plates(panel), against)


def _rod(side: Side, k: int, n: int) -> Solid:
    panel = side.panels[n]
    rod = panel.rod
    pin, yoke = vector(0, 0, 0), vector(rod.length, 0, 0)
    radius, head = rod.diameter / 2, ROD_END * rod.ball / 2
    heads = ball(pin, head), ball(yoke, head)
    past_pin = vector(min(head, rod.length / 2), 0, 0)
    short_of_yoke = vector(max(rod.length - YOKE_ROOM * rod.ball, rod.length / 2), 0, 0)
    name = names.rod(side.name, panel.name)
    against = {
        names.panel(side.name, panel.name): (capsule(pin, short_of_yoke, radius), heads[0]),
        throw_name(side.name, panel.name): (capsule(past_pin, yoke, radius), heads[1]),
    }
    bar = capsule(pin, yoke, radius)
    return Solid(name, "rod", k, name, Carrier("rod", k, n), (bar, *heads), against)


def _throw(side: Side, k: int, panel: Panel) -> Solid:
    cheek, radius = side.crank.cheek, panel.throw_radius
    turn = rotation(Y, panel.throw_angle)
    if cheek.outline is None:
        half = cheek.width / 2
        parts = (np.array([(-half, -half), (half, -half), (half, radius + half), (-half, radius + half)]),)
    else:
        # Shaft and pin fill its holes.
        parts = convex_parts(Polygon(cheek.outline.exterior))
    webs: list[Convex] = []
    for face in (-1, 1):
        place = panel.throw_out + face * (cheek.gap + cheek.thickness) / 2
        webs += [_turned(prism(part, cheek.thickness, 1), turn, place) for part in parts]
    half_gap = vector(0, cheek.gap / 2, 0)
    at = vector(0, 0, radius)
    pin = _turned(capsule(at - half_gap, at + half_gap, side.crank.pin / 2), turn, panel.throw_out)
    against = {names.rod(side.name, panel.name): tuple(webs)}
    return Solid(throw_name(side.name, panel.name), "throw", k, names.crankshaft(side.name),
                 Carrier("crank", k), (*webs, pin), against)  # fmt: skip


def _turned(shape: Convex, turn: Array, out: float) -> Convex:
    return Convex(shape.points @ turn.T + out * Y, shape.radius)


def _shaft(mechanism: Mechanism, k: int) -> Solid:
    """Give the straight parts of a crankshaft and its coupling; it meets bearings, post and the other shaft."""
    side = mechanism.sides[k]
    crank = side.crank
    edges = [crank.ends[0]]
    for panel in sorted(side.panels, key=lambda p: p.throw_out):
        edges += [panel.throw_out - crank.cheek.half, panel.throw_out + crank.cheek.half]
    edges.append(crank.ends[1])
    shapes = [
        capsule(start * Y, end * Y, crank.shaft / 2)
        for start, end in zip(edges[::2], edges[1::2], strict=True)
        if end > start
    ]
    if crank.coupling.mass > 0:
        length = crank.coupling.diameter
        shapes.append(cylinder((crank.ends[0] - length / 2) * Y, 1, length, crank.coupling.diameter / 2))
    meets = [POST, *(shaft_name(s.name) for s in mechanism.sides)]
    meets += [bearing_name(s.name, x.out) for s in mechanism.sides for x in s.crank.stations]
    return Solid(shaft_name(side.name), "shaft", k, names.crankshaft(side.name), Carrier("crank", k),
                 tuple(shapes), dict.fromkeys(meets, ()))  # fmt: skip


def _weights(side: Side, k: int) -> Iterator[Solid]:
    for n, w in enumerate(side.crank.weights):
        radius = float(np.cbrt(3 * w.mass / (4 * np.pi * side.crank.material.density)))
        at = vector(w.radius * np.sin(w.angle), w.out, w.radius * np.cos(w.angle))
        yield Solid(counterweight_name(side.name, n), "counterweight", k, names.crankshaft(side.name),
                    Carrier("crank", k), (ball(at, radius),))  # fmt: skip


def _bearings(side: Side, k: int) -> Iterator[Solid]:
    radius = HOUSING * side.crank.shaft / 2
    for station in side.crank.stations:
        low = side.sign * station.out - HOUSING_LENGTH / 2
        shape = cylinder(low * Y, 1, HOUSING_LENGTH, radius)
        yield Solid(bearing_name(side.name, station.out), "bearing", k, POST, FIXED, (shape,))


def _wheel(mechanism: Mechanism) -> Solid:
    """Give the wheel as the disc that it fills or sweeps; a handle on the crankshafts' own shaft as it is."""
    wheel = mechanism.wheel
    forward, up = shaft_places(mechanism)[0][0]
    centre = vector(forward, wheel.out, up)
    meets = [POST, *(shaft_name(s.name) for s in mechanism.sides)]
    meets += [bearing_name(s.name, x.out) for s in mechanism.sides for x in s.crank.stations]
    if mechanism.stages:
        thick = max(wheel.thickness, wheel.bar, ARM[1] if wheel.kind == "handle" else 0.0)
        shapes = (_disc(centre, wheel.radius + wheel.bar / 2, thick),)
        if wheel.kind == "handle":
            shapes = (_disc(centre, wheel.radius + GRIP / 2, thick), *_swept_grip(wheel, centre))
        return Solid(names.WHEEL, "wheel", None, names.WHEEL, FIXED, shapes, dict.fromkeys(meets, ()))
    meets += [throw_name(s.name, p.name) for s in mechanism.sides for p in s.panels]
    meets += [counterweight_name(s.name, n) for s in mechanism.sides for n in range(len(s.crank.weights))]
    if wheel.kind == "handle":
        shapes = _handle(wheel, centre)
    else:
        shapes = (_disc(centre, wheel.radius + wheel.bar / 2, max(wheel.thickness, wheel.bar)),)
    return Solid(names.WHEEL, "wheel", None, names.WHEEL, WHEEL, shapes, dict.fromkeys(meets, ()))


def _disc(centre: Array, radius: float, thickness: float) -> Convex:
    return cylinder(centre - thickness / 2 * Y, 1, thickness, radius)


def _grip_ends(wheel: Wheel) -> tuple[float, float]:
    """Give where a grip begins and ends along y from the handle's plane: away from the post, or either way."""
    away = float(np.sign(wheel.out))
    return (0.0, away * GRIP_LENGTH) if away else (-GRIP_LENGTH, GRIP_LENGTH)


def _handle(wheel: Wheel, centre: Array) -> tuple[Convex, ...]:
    half = ARM[0] / 2
    flat = np.array([(-half, 0.0), (half, 0.0), (half, wheel.radius), (-half, wheel.radius)])
    arm = prism(flat, ARM[1], 1)
    top = centre + vector(0, 0, wheel.radius)
    start, end = _grip_ends(wheel)
    return Convex(arm.points + centre), capsule(top + start * Y, top + end * Y, GRIP / 2)


def _swept_grip(wheel: Wheel, centre: Array) -> tuple[Convex, ...]:
    """Give the ring that a grip sweeps, as straight pieces around it."""
    count = 24
    start, end = _grip_ends(wheel)
    angle = 2 * np.pi * np.arange(count + 1) / count
    corners = np.stack([np.sin(angle), 0 * angle, np.cos(angle)], -1) * wheel.radius + centre
    # Between two corners the circle bulges over the straight line.
    radius = GRIP / 2 + wheel.radius * (1 - np.cos(np.pi / count))
    return tuple(
        Convex(np.stack([a + start * Y, a + end * Y, b + start * Y, b + end * Y]), float(radius))
        for a, b in pairwise(corners)
    )
