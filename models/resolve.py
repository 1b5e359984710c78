"""From a description to a mechanism: which fields a question needs, and what the rest is taken to be."""

import math
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TypeVar

from models.loading import DescriptionError
from models.materials import Material, material
from models.mechanism import (
    Cheek,
    Crankshaft,
    Default,
    Mechanism,
    Panel,
    Plate,
    PointMass,
    PostTube,
    Rod,
    Rubbing,
    Side,
    Stage,
    Weight,
    Wheel,
)
from models.sculpture import Difference, PanelDifference, Sculpture
from models.sculpture import Panel as PanelTable
from models.units import DescriptionFault, quantity

T = TypeVar("T")
ASSUMED = "assumption"
PRACTICE = "common practice, no source"


class Lacking(DescriptionError):
    """A question cannot be answered yet: the description lacks fields.

    Attributes
    ----------
    fields : the dotted names of what is lacking.
    """

    def __init__(self, label: str, question: str, fields: list[str]) -> None:
        super().__init__([f"{label}: {f}: {question} needs it; write {f}" for f in fields])
        self.fields = tuple(fields)


@dataclass
class _Settled:
    """Takes values, filling in defaults and noting what is lacking."""

    sculpture: Sculpture
    defaults: list[Default] = field(default_factory=list[Default])
    lacking: list[str] = field(default_factory=list[str])
    faults: list[str] = field(default_factory=list[str])

    def take(self, given: float | None, name: str, text: str, dimension: str, source: str = ASSUMED) -> float:
        """Give the value, or the default written as a maker would write it."""
        return self.number(given, name, quantity(text, dimension), dimension, source)

    def number(
        self, given: float | None, name: str, value: float, dimension: str, source: str = ASSUMED
    ) -> float:
        """Give the value, or the default."""
        if given is not None:
            return given
        if not any(d.field == name for d in self.defaults):
            self.defaults.append(Default(name, value, dimension, source))
        return value

    def note(self, name: str, value: str) -> None:
        """Note a default that is a word."""
        if not any(d.field == name for d in self.defaults):
            self.defaults.append(Default(name, value, "text", ASSUMED))

    def need(self, given: T | None, name: str, stand_in: T) -> T:
        """Give the value, or note that it is lacking (the stand-in is never used: `finish` refuses)."""
        if given is None:
            self.lacking.append(name)
            return stand_in
        return given

    def stock(self, given: str | None, name: str, default: str) -> Material:
        """Find a material, or note that it is not known."""
        if given is None:
            self.note(name, default)
        try:
            return material(given or default)
        except DescriptionFault as error:
            self.faults.append(f"{name}: {error.what}; {error.instead}")
            return material(default)

    def finish(self, question: str) -> None:
        """Refuse when something is lacking or wrong."""
        label = self.sculpture.source.label
        if self.faults:
            raise DescriptionError(list(dict.fromkeys(f"{label}: {f}" for f in self.faults)))
        if self.lacking:
            raise Lacking(label, question, list(dict.fromkeys(self.lacking)))


def mechanism(sculpture: Sculpture) -> Mechanism:
    """Settle every number of a sculpture.

    Raises
    ------
    Lacking
        When fields without a default are not given.
    DescriptionError
        When a value makes no mechanism.
    """
    s = _Settled(sculpture)
    wheel = _wheel(s)
    sides = _sides(s, whole=True)
    crank = sculpture.crank
    height = s.need(crank.height if crank else None, "crank.height", 1.0)
    rubbing = _friction(s)
    ends = sculpture.rod_ends
    swivel = s.take(ends.swivel if ends else None, "rod_ends.swivel", "13 deg", "angle",
                    "standard series, 13 to 15 deg; memory")  # fmt: skip
    gravity = s.take(sculpture.site.gravity if sculpture.site else None, "site.gravity", "9.81 m/s2",
                     "acceleration", PRACTICE)  # fmt: skip
    found = _stages(s)
    s.finish("the simulation")
    return Mechanism(
        sculpture.name, gravity, height, sides, wheel, found, _post(sculpture), rubbing, swivel,
        tuple(s.defaults),
    )  # fmt: skip


def sides(sculpture: Sculpture) -> tuple[Side, ...]:
    """Settle what the motion needs: panels, hinges, yoke pins, throws and rods.

    Raises
    ------
    Lacking
        When one of them is not given.
    """
    s = _Settled(sculpture)
    found = _sides(s, whole=False)
    s.finish("the motion")
    return found


def plates(sculpture: Sculpture) -> tuple[Plate, ...]:
    """Settle the panels' plates, which need nothing but outlines and thicknesses.

    Raises
    ------
    Lacking
        When no panel is given.
    """
    s = _Settled(sculpture)
    s.need(sculpture.panel or None, "panel", [])
    found = tuple(_plate(s, p, PanelDifference()) for p in sculpture.panel)
    s.finish("the mass")
    return found


def stages(sculpture: Sculpture) -> tuple[Stage, ...]:
    """Settle the chain stages."""
    s = _Settled(sculpture)
    found = _stages(s)
    s.finish("the chain fit")
    return found


def post(sculpture: Sculpture) -> PostTube | None:
    """Give the post, if there is one."""
    return _post(sculpture)


def _post(sculpture: Sculpture) -> PostTube | None:
    p = sculpture.post
    return None if p is None else PostTube(p.outside, p.wall)


def _stages(s: _Settled) -> tuple[Stage, ...]:
    found: list[Stage] = []
    for k, x in enumerate(s.sculpture.stage, 1):
        pitch = s.take(x.pitch, f"stage.{k}.pitch", "12.7 mm", "length", "ASME B29.1 No. 40, half-inch pitch")
        # Single-strand teeth are a little narrower than the chain inside: .284 in for half-inch pitch.
        width = s.number(x.width, f"stage.{k}.width", 0.57 * pitch, "length", "ASME B29.1, .57 pitch; memory")
        found.append(Stage(x.teeth[0], x.teeth[1], pitch, x.centres, x.links, x.slack, width))
    return tuple(found)


def _friction(s: _Settled) -> Rubbing:
    f = s.sculpture.friction
    return Rubbing(
        s.number(f.bush if f else None, "friction.bush", 0.12, "ratio"),
        s.number(f.rod_end if f else None, "friction.rod_end", 0.12, "ratio"),
        s.number(f.hinge if f else None, "friction.hinge", 0.2, "ratio"),
        s.take(f.wheel_drag if f else None, "friction.wheel_drag", "0.3 N m", "torque"),
    )


def _wheel(s: _Settled) -> Wheel:
    w = s.sculpture.wheel
    if w is None:
        s.lacking.append("wheel")
        return Wheel("disc", 1, 1, 0, 1, 0, 1, 0, 0, 1)
    stock = s.stock(w.material, "wheel.material", "A36 steel")
    height = s.take(w.height, "wheel.height", "900 mm", "length")
    hub_mass = s.take(w.hub.mass if w.hub else None, "wheel.hub.mass", "0 kg", "mass")
    hub_diameter = s.take(w.hub.diameter if w.hub else None, "wheel.hub.diameter", "100 mm", "length")
    if w.kind == "disc":
        diameter = s.need(w.diameter, "wheel.diameter", 1.0)
        thickness = s.need(w.thickness, "wheel.thickness", 0.01)
        bar = w.rim.bar if w.rim else 0.0
        return Wheel("disc", diameter / 2, thickness, bar, stock.density, hub_mass, hub_diameter,
                     0.0, 0.0, height)  # fmt: skip
    radius = s.need(w.radius, "wheel.radius", 0.2)
    grip = s.take(w.grip.mass if w.grip else None, "wheel.grip.mass", "0.5 kg", "mass")
    flat = stock.density * 0.04 * 0.008 * radius
    arm = s.number(w.arm.mass if w.arm else None, "wheel.arm.mass", flat, "mass",
                   "a flat bar of 40 by 8 mm; assumption")  # fmt: skip
    return Wheel("handle", radius, 0.0, 0.0, stock.density, hub_mass, hub_diameter, arm, grip, height)


def _sides(s: _Settled, whole: bool) -> tuple[Side, ...]:
    s.need(s.sculpture.panel or None, "panel", [])
    count = int(s.number(s.sculpture.sides, "sides", 2, "count", "the other side mirrors"))
    names = (("left", 1, s.sculpture.left), ("right", -1, s.sculpture.right))[:count]
    return tuple(_side(s, name, sign, d or Difference(), whole) for name, sign, d in names)


def _side(s: _Settled, name: str, sign: int, differs: Difference, whole: bool) -> Side:
    panels: list[Panel] = []
    for table in s.sculpture.panel:
        change = differs.panel.get(table.name, PanelDifference())
        panels.append(_panel(s, table, change, panels[-1] if panels else None))
    crank = _crankshaft(s, tuple(panels), whole)
    return Side(name, sign, differs.key_angle or 0.0, tuple(panels), crank)


def _plate(s: _Settled, table: PanelTable, change: PanelDifference) -> Plate:
    stock = s.stock(table.material or s.sculpture.material, "material", "A36 steel")
    lumps = tuple(PointMass(x.mass, x.forward, x.out, x.above) for x in table.lump)
    thickness = change.thickness or table.thickness
    # A plate that differs in thickness is another plate: a mass weighed on its twin does not hold for it.
    mass = change.mass or (table.mass if change.thickness is None else None)
    return Plate(table.name, table.outline, thickness, stock.density, mass, lumps)


def _panel(s: _Settled, table: PanelTable, change: PanelDifference, before: Panel | None) -> Panel:
    at = f"panel.{table.name}"
    forward, out, up = _hinge(s, table, before)
    yoke, throw = table.yoke_pin, table.throw
    for given, name in ((yoke, "yoke_pin"), (throw, "throw")):
        s.need(given, f"{at}.{name}", None)
    along = yoke is None or yoke.axis != "across"
    rods, ends, hinges = s.sculpture.rods, s.sculpture.rod_ends, s.sculpture.hinges
    stock = s.stock(rods.material if rods else None, "rods.material", "A36 steel")
    rod = Rod(
        s.need(table.rod, f"{at}.rod", 1.0),
        s.take(rods.diameter if rods else None, "rods.diameter", "12 mm", "length"),
        stock.density,
        s.take(ends.mass if ends else None, "rod_ends.mass", "0.1 kg", "mass"),
        s.take(ends.ball if ends else None, "rod_ends.ball", "20 mm", "length"),
        s.take(ends.clocking if ends else None, "rod_ends.clocking", "90 deg" if along else "0 deg", "angle"),
    )
    if yoke is not None and yoke.axis is None:
        s.note(f"{at}.yoke_pin.axis", "along")
    return Panel(
        _plate(s, table, change),
        forward,
        out,
        up,
        s.take(yoke.forward if yoke else None, f"{at}.yoke_pin.forward", "0 mm", "length"),
        yoke.out if yoke else 1.0,
        s.take(yoke.below if yoke else None, f"{at}.yoke_pin.below", "0 mm", "length"),
        along,
        throw.radius if throw else 1.0,
        s.take(throw.angle if throw else None, f"{at}.throw.angle", "0 deg", "angle"),
        throw.out if throw else 1.0,
        rod,
        table.seen.panel if table.seen else None,
        table.seen.crank if table.seen else 0.0,
        s.take(hinges.pin if hinges else None, "hinges.pin", "10 mm", "length"),
    )


def _hinge(s: _Settled, table: PanelTable, before: Panel | None) -> tuple[float, float, float]:
    """Give the hinge line's place: from the crank's axis, or on the panel before."""
    at = f"panel.{table.name}.hinge"
    h = table.hinge
    forward = s.take(h.forward if h else None, f"{at}.forward", "0 mm", "length")
    if before is None:
        if h is not None and h.above is not None:
            s.faults.append(f"{at}.above: the innermost hinge is measured from the crank's axis; write up")
        return forward, s.need(h.out if h else None, f"{at}.out", 1.0), s.need(
            h.up if h else None, f"{at}.up", 1.0
        )  # fmt: skip
    if h is not None and h.up is not None:
        s.faults.append(f"{at}.up: this hinge is measured on the panel before; write above")
    far = max(y for _, y in before.plate.outline.exterior)
    edge = f"the far edge of panel '{before.name}'"
    return (
        forward,
        s.number(h.out if h else None, f"{at}.out", far, "length", edge),
        s.take(h.above if h else None, f"{at}.above", "0 mm", "length"),
    )


def _crankshaft(s: _Settled, panels: tuple[Panel, ...], whole: bool) -> Crankshaft:
    c = s.sculpture.crank
    shaft = s.take(c.shaft if c else None, "crank.shaft", "25.4 mm", "length")
    pin = s.take(c.pin if c else None, "crank.pin", "12 mm", "length")
    stock = s.stock(c.material if c else None, "crank.material", "A36 steel")
    web = c.web if c else None
    cheek = Cheek(
        s.take(web.width if web else None, "crank.web.width", "50 mm", "length"),
        s.take(web.thickness if web else None, "crank.web.thickness", "10 mm", "length"),
        s.take(web.gap if web else None, "crank.web.gap", "40 mm", "length"),
        web.outline if web else None,
    )
    places = sorted(p.throw_out for p in panels) or [1.0]
    given = c.bearings if c else None
    bearings = (max(0.03, places[0] - cheek.half - 0.06), places[-1] + cheek.half + 0.06)
    if given is None:
        for k, value in enumerate(bearings, 1):
            s.number(None, f"crank.bearings.{k}", value, "length", "60 mm beyond the webs; assumption")
    elif len(given) != 2:
        s.faults.append(
            f"crank.bearings: a rigid shaft on {len(given)} bearing{'s' * (len(given) != 1)} has "
            + ("nothing to hold it" if len(given) == 1 else "no unique bearing loads")
            + "; write two places, the locating one first"
        )
    else:
        bearings = (given[0], given[1])
    weights = tuple(Weight(w.mass, w.radius, w.angle, w.out) for w in (c.counterweight if c else ()))
    if whole and not s.lacking:
        s.faults.extend(_collisions(panels, cheek, bearings))
    coupling = c.coupling if c else None
    return Crankshaft(
        shaft,
        pin,
        stock,
        bearings,
        _ends(s, c.ends if c else None, bearings, (places[0] - cheek.half, places[-1] + cheek.half)),
        cheek,
        weights,
        s.take(coupling.mass if coupling else None, "crank.coupling.mass", "0 kg", "mass"),
        s.take(coupling.diameter if coupling else None, "crank.coupling.diameter", "50 mm", "length"),
        s.take(c.runout if c else None, "crank.runout", "0 mm", "length", "assumption; measure it"),
    )


def _ends(
    s: _Settled, given: list[float] | None, bearings: tuple[float, float], throws: tuple[float, float]
) -> tuple[float, float]:
    """Give where the crankshaft's bar begins and ends; it reaches over its bearings and throws."""
    inner, outer = min(*bearings, throws[0]), max(*bearings, throws[1])
    if given is not None:
        if not s.lacking and not (given[0] <= inner and outer <= given[1]):
            s.faults.append(
                "crank.ends: the bar does not reach over its bearings and throws, from "
                f"{1000 * inner:.0f} to {1000 * outer:.0f} mm; write its two ends, inner first"
            )
        return given[0], given[1]
    # A side's bar begins on its own side of the post's axis.
    start = min(bearings) - 0.06
    around = (max(0.0, start) if min(bearings) > 0 else start, max(bearings) + 0.02)
    source = "60 mm before and 20 mm beyond the bearings; assumption"
    for k, value in enumerate(around, 1):
        s.number(None, f"crank.ends.{k}", value, "length", source)
    return around


def _collisions(panels: tuple[Panel, ...], cheek: Cheek, bearings: tuple[float, float]) -> list[str]:
    """Name throws and bearings that would sit in the same place on the shaft."""
    half = cheek.half
    found: list[str] = []
    by_place = sorted(panels, key=lambda p: p.throw_out)
    for a, b in pairwise(by_place):
        if b.throw_out - a.throw_out < 2 * half:
            found.append(
                f"panel '{b.name}', throw.out: its webs run into those of panel '{a.name}'; "
                f"put the throws at least {2000 * half:.0f} mm apart"
            )
    for place in bearings:
        for p in panels:
            if abs(place - p.throw_out) < half:
                found.append(
                    f"crank.bearings: the bearing at {1000 * place:.0f} mm sits inside the throw of panel "
                    f"'{p.name}'; keep it {1000 * half:.0f} mm or more from {1000 * p.throw_out:.0f} mm"
                )
    if math.isclose(bearings[0], bearings[1], abs_tol=0.02):
        found.append("crank.bearings: the two bearings are in one place; put them at least 20 mm apart")
    return found
