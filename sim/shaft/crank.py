"""A side's built-up crankshaft as a frame: bars, webs and pins between nodes, masses lumped at the nodes.

Coordinates of a side at crank angle 0 plus its key angle: forward, out, up, as if it were the left one. The frame
runs along the middle of the bars, webs and pins; webs stand in the middle of their thickness, and what sits inside
a web's width counts as elastic like the rest, so that the frame is a little softer than the piece. Counterweights
are rigid on the node nearest to them.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise

import numpy as np
from shapely import LineString, Polygon

from models.mechanism import Cheek, Panel, Side
from sim import names
from sim.arrays import Array, rotation, vector
from sim.linkage import pin_place
from sim.mass import MassProperties, Y, cylinder, joined, point, web
from sim.shaft.frame import Frame, Member, Section, rectangle_section, round_section

INNER, OUTER = "inner end", "outer end"
MIDDLE = "mid-span"
NEAR = 1e-6
"""Distance below which two places on the shaft are one, m."""


@dataclass(frozen=True)
class Station:
    """A named node: its label, its number, and the place along the shaft, m."""

    label: str
    node: int
    out: float


@dataclass(frozen=True)
class CrankFrame:
    """A crankshaft's frame.

    Attributes
    ----------
    side : whose.
    frame : nodes from the inner end outwards along shaft, webs and pins.
    on_shaft : (n,) whether a node lies on the shaft's axis.
    stations : ends, bearings, throws, mid-span and counterweights, outwards.
    masses : what is lumped at each node, in the side's coordinates.
    """

    side: Side
    frame: Frame
    on_shaft: tuple[bool, ...]
    stations: tuple[Station, ...]
    masses: tuple[MassProperties, ...]

    def node(self, label: str) -> int:
        """Give the number of a named node.

        Raises
        ------
        KeyError
            When there is none: a mid-span inside a throw is no place on the shaft.
        """
        found = {s.label: s.node for s in self.stations}
        if label not in found:
            raise KeyError(f"no station '{label}' on the shaft; there are {', '.join(found)}")
        return found[label]

    @cached_property
    def weight(self) -> Array:
        """The (6 n, 3) loads of an acceleration of all masses: minus the columns times 1 m/s2 are d'Alembert's."""
        found = np.zeros((6 * len(self.masses), 3))
        for k, (piece, at) in enumerate(zip(self.masses, self.frame.nodes, strict=True)):
            for j in range(3):
                force = piece.mass * np.eye(3)[j]
                found[6 * k : 6 * k + 3, j] = force
                found[6 * k + 3 : 6 * k + 6, j] = np.cross(piece.com - at, force)
        return found

    @cached_property
    def spinning(self) -> Array:
        """The (6 n, 2) loads per unit of crank speed squared, and per unit of its rate, about the shaft's axis."""
        found = np.zeros((6 * len(self.masses), 2))
        for k, (piece, at) in enumerate(zip(self.masses, self.frame.nodes, strict=True)):
            outward = piece.com * np.array([1.0, 0.0, 1.0])
            spun = piece.inertia @ Y
            forces = (piece.mass * outward, -piece.mass * np.cross(Y, piece.com))
            turning = (-np.cross(Y, spun), -spun)
            for j, (force, moment) in enumerate(zip(forces, turning, strict=True)):
                found[6 * k : 6 * k + 3, j] = force
                found[6 * k + 3 : 6 * k + 6, j] = np.cross(piece.com - at, force) + moment
        return found


def throw(panel: str) -> str:
    """Name the station of a panel's throw: the middle of its pin."""
    return f"throw of panel '{panel}'"


def bearing(number: int) -> str:
    """Name the station of a bearing, counted from 1 as in the description."""
    return f"bearing {number}"


def bearing_joints(side: Side) -> tuple[str, ...]:
    """Give the names of the joints at a side's bearings, in the order of the description."""
    main = side.crank.bearings
    known = {main[0]: names.locating(side.name), main[1]: names.radial(side.name)}
    extra = [s.out for s in side.crank.stations if s.out not in main]
    known |= {out: names.further(side.name, k) for k, out in enumerate(extra, 3)}
    return tuple(known[s.out] for s in side.crank.stations)


@lru_cache(maxsize=64)
def crank_frame(side: Side) -> CrankFrame:
    """Give the frame of a side's crankshaft.

    Shaft bars are cut so that no piece is longer than the distance of the main bearings over `elements`.
    """
    c = side.crank
    throws = sorted(side.panels, key=lambda p: p.throw_out)
    half = (c.cheek.gap + c.cheek.thickness) / 2
    longest = abs(c.bearings[1] - c.bearings[0]) / c.elements
    edges = [c.ends[0], *(p.throw_out + s * half for p in throws for s in (-1, 1)), c.ends[1]]
    made = _Made(side)
    named = _places(side)
    for k, (start, end) in enumerate(zip(edges[::2], edges[1::2], strict=True)):
        made.bar(start, end, [y for y in named if start - NEAR <= y <= end + NEAR], longest)
        if k < len(throws):
            made.throw(throws[k], half)
    return made.whole()


def _places(side: Side) -> list[float]:
    """Give the places of a shaft that something is wanted or sits at, m."""
    c = side.crank
    return [
        *c.ends,
        *(s.out for s in c.stations),
        *(y for _, y in middles(side)),
        *(w.out for w in c.weights),
    ]


def middles(side: Side) -> list[tuple[str, float]]:
    """Give the labels and places, m, of the middles between bearings: of the main ones, and of all neighbours."""
    c = side.crank
    found = [(MIDDLE, sum(c.bearings) / 2)]
    if len(c.stations) > 2:
        numbered = sorted(enumerate(c.stations, 1), key=lambda x: x[1].out)
        found += [(f"{MIDDLE} of bearings {a} and {b}", (near.out + far.out) / 2)
                  for (a, near), (b, far) in pairwise(numbered)]  # fmt: skip
    return found


class _Made:
    """A frame under construction, from the inner end outwards."""

    def __init__(self, side: Side) -> None:
        self.side = side
        c = side.crank
        self.nodes: list[Array] = []
        self.on_shaft: list[bool] = []
        self.members: list[Member] = []
        self.pins: dict[str, int] = {}
        self.last = -1
        self.bar_section, self.pin_section = round_section(c.shaft), round_section(c.pin)

    def node(self, place: Array, on_shaft: bool) -> int:
        self.nodes.append(place)
        self.on_shaft.append(on_shaft)
        return len(self.nodes) - 1

    def member(self, name: str, a: int, b: int, section: Section, across: Array) -> None:
        """Add a member whose local y lies along `across`."""
        along = self.nodes[b] - self.nodes[a]
        length = float(np.linalg.norm(along))
        x = along / length
        axes = np.column_stack([x, across, np.cross(x, across)])
        self.members.append(Member(name, a, b, axes, length, section, self.side.crank.material.modulus))

    def bar(self, start: float, end: float, wanted: list[float], longest: float) -> None:
        """Add a bar of the shaft, from where the last web left it; none where two webs share a place."""
        if self.last < 0:
            self.last = self.node(start * Y, True)
        cuts = sorted({start, end, *wanted})
        merged = [cuts[0]]
        for y in cuts[1:]:
            if y - merged[-1] > NEAR:
                merged.append(y)
        for a, b in pairwise(merged):
            pieces = max(1, int(np.ceil((b - a) / longest - NEAR)))
            for y in np.linspace(a, b, pieces + 1)[1:]:
                here = self.node(float(y) * Y, True)
                self.member("shaft", self.last, here, self.bar_section, vector(0, 0, 1))
                self.last = here

    def throw(self, panel: Panel, half: float) -> None:
        """Add a throw: web, pin in two halves, web."""
        at = np.array(panel.throw_angle)
        up = pin_place(1.0, 0.0, at)
        section = rectangle_section(self.side.crank.cheek.thickness, web_width(self.side, panel))
        pins = [
            self.node(pin_place(panel.throw_radius, panel.throw_out + shift, at), False)
            for shift in (-half, 0.0, half)
        ]
        after = self.node((panel.throw_out + half) * Y, True)
        name = f"panel '{panel.name}'"
        self.member(f"inner web of {name}", self.last, pins[0], section, Y)
        for a, b in pairwise(pins):
            self.member(f"pin of {name}", a, b, self.pin_section, up)
        self.member(f"outer web of {name}", pins[2], after, section, Y)
        self.pins[panel.name] = pins[1]
        self.last = after

    def nearest(self, out: float) -> int:
        """Give the node on the shaft that is nearest to a place."""
        return min(
            (k for k, on in enumerate(self.on_shaft) if on), key=lambda k: abs(float(self.nodes[k][1]) - out)
        )

    def whole(self) -> CrankFrame:
        """Give the frame with its stations and masses."""
        c = self.side.crank
        labels = [(INNER, c.ends[0]), (OUTER, c.ends[1])]
        labels += [(bearing(k), s.out) for k, s in enumerate(c.stations, 1)]
        stations = [Station(label, self.nearest(y), y) for label, y in labels]
        for label, middle in middles(self.side):
            # Inside a throw there is no shaft to have a middle.
            if abs(float(self.nodes[self.nearest(middle)][1]) - middle) < NEAR:
                stations.append(Station(label, self.nearest(middle), middle))
        stations += [Station(throw(p.name), self.pins[p.name], p.throw_out) for p in self.side.panels]
        stations.sort(key=lambda s: s.out)
        return CrankFrame(
            self.side,
            Frame(np.array(self.nodes), tuple(self.members)),
            tuple(self.on_shaft),
            tuple(stations),
            self.lumped(),
        )

    def lumped(self) -> tuple[MassProperties, ...]:
        """Give each node its share of the crankshaft's pieces: in all they are `sim.mass.crank_mass`."""
        c = self.side.crank
        density = c.material.density
        parts: list[list[MassProperties]] = [[] for _ in self.nodes]
        throws = sorted(self.side.panels, key=lambda p: p.throw_out)
        faces = [(p.throw_out - c.cheek.half, p.throw_out + c.cheek.half) for p in throws]
        edges = [c.ends[0], *(y for pair in faces for y in pair), c.ends[1]]
        free = list(zip(edges[::2], edges[1::2], strict=True))
        for m in self.members:
            if m.name == "shaft":
                self._slices(parts, m, c.shaft, density, free)
            elif m.name.startswith("pin"):
                middle = float(self.nodes[m.a][1] + self.nodes[m.b][1]) / 2
                p = min(throws, key=lambda p: abs(p.throw_out - middle))
                gap = (p.throw_out - c.cheek.gap / 2, p.throw_out + c.cheek.gap / 2)
                self._slices(parts, m, c.pin, density, [gap])
        for p in throws:
            turn = rotation(Y, p.throw_angle)
            for face in (-1, 1):
                place = p.throw_out + face * (c.cheek.gap + c.cheek.thickness) / 2
                piece = web(c.cheek, p.throw_radius, density).turned(turn).shifted(place * Y)
                parts[self.nearest(place)].append(piece)
        for w in c.weights:
            at = vector(w.radius * np.sin(w.angle), w.out, w.radius * np.cos(w.angle))
            parts[self.nearest(w.out)].append(point(w.mass, at))
        if c.coupling.mass > 0:
            disc = cylinder(c.coupling.mass, c.coupling.diameter / 2, c.coupling.diameter, 1)
            parts[0].append(disc.shifted(c.ends[0] * Y))
        empty = (point(0.0, at) for at in self.nodes)
        return tuple(joined(own) if own else nothing for own, nothing in zip(parts, empty, strict=True))

    def _slices(
        self,
        parts: list[list[MassProperties]],
        m: Member,
        diameter: float,
        density: float,
        free: list[tuple[float, float]],
    ) -> None:
        """Give both ends of a round bar half of it, as far as it shows between the webs."""
        ends = [float(self.nodes[k][1]) for k in (m.a, m.b)]
        middle = sum(ends) / 2
        aside = self.nodes[m.a] * np.array([1.0, 0.0, 1.0])
        for node, low, high in ((m.a, ends[0], middle), (m.b, middle, ends[1])):
            for start, end in free:
                a, b = max(low, start), min(high, end)
                if b > a:
                    mass = float(density * np.pi / 4 * diameter**2 * (b - a))
                    bar = cylinder(mass, diameter / 2, b - a, 1)
                    parts[node].append(bar.shifted(aside + (a + b) / 2 * Y))


def web_width(side: Side, panel: Panel) -> float:
    """Give the width, m, that a web bends with: the bar's, or the outline's half-way between shaft and pin."""
    return _width(side.crank.cheek, panel.throw_radius)


@lru_cache(maxsize=64)
def _width(cheek: Cheek, radius: float) -> float:
    if cheek.outline is None:
        return cheek.width
    shape = Polygon(cheek.outline.exterior, cheek.outline.holes)
    far = 1 + max(abs(x) for x, _ in cheek.outline.exterior)
    cut = shape.intersection(LineString([(-far, radius / 2), (far, radius / 2)])).length
    return float(cut) if cut > 0 else cheek.width
