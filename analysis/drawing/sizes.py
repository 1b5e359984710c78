"""The schedule of sizes beside the views: every figure that was understood, with what was assumed marked."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from analysis.drawing.parts import Pose, sided
from analysis.drawing.sheet import degrees, millimetres, short
from models.drive import Coupling, DriveShaft, Stage
from models.keyways import Keyways
from models.mechanism import Mechanism, Panel, Side
from sim.builders import Linkage
from sim.mass import crank_mass, plate_mass, wheel_mass

COLUMNS = 4
"""Panels beside each other."""
ASSUMED = "*"


@dataclass(frozen=True)
class Row:
    """A line of the schedule: a heading where there are no cells and `heading` is set."""

    words: str
    cells: tuple[str, ...] = ()
    heading: bool = False


def schedule(closed: Linkage, poses: list[Pose], assumed: Collection[str]) -> list[Row]:
    """Give the lines of the schedule.

    Parameters
    ----------
    closed : the sculpture.
    poses : of its sides.
    assumed : dotted names of what the description left open.
    """
    m = closed.mechanism
    columns = [
        (p.side, panel, swing)
        for p in poses
        if p is poses[0] or _differs(p.side, poses[0].side)
        for panel, swing in zip(p.side.panels, p.swing, strict=True)
    ]
    many = len({s.name for s, _, _ in columns}) > 1
    rows: list[Row] = []
    for start in range(0, len(columns), COLUMNS):
        rows += _panels(columns[start : start + COLUMNS], m, many, assumed)
    return [*rows, *_crank(m, assumed), *_drive(m, assumed), *_joints(m, assumed)]


def _differs(a: Side, b: Side) -> bool:
    return a.panels != b.panels or a.key_angle != b.key_angle or a.crank != b.crank


def _panels(
    columns: list[tuple[Side, Panel, tuple[float, float]]],
    m: Mechanism,
    many: bool,
    assumed: Collection[str],
) -> list[Row]:
    names = tuple(short(p.name, 12) for _, p, _ in columns)
    panels = [p for _, p, _ in columns]
    inner = {s.panels[0].name for s in m.sides}

    def row(words: str, values: list[str], field: str = "") -> Row:
        flags = [_flag(f"panel.{p.name}.{field}", assumed) if field else "" for p in panels]
        return Row(words, tuple(v + f for v, f in zip(values, flags, strict=True)))

    ups = [
        millimetres(p.hinge_up)
        + _flag(f"panel.{p.name}.hinge.{'up' if p.name in inner else 'above'}", assumed)
        for p in panels
    ]
    sizes = [_size(p) for p in panels]
    return [
        *([Row("", tuple(s.name for s, _, _ in columns))] if many else []),
        Row("Panels" if len(m.sides) == 1 or many else "Panels, both sides", names, heading=True),
        row("chord × span", sizes),
        row("thickness", [millimetres(p.plate.thickness) for p in panels]),
        row("mass [kg]", [f"{plate_mass(p.plate).mass:.3g}" for p in panels]),
        row("hinge out (post, hinge before)", [millimetres(p.hinge_out) for p in panels], "hinge.out"),
        Row("hinge up (above panel before)", tuple(ups)),
        row("hinge forward", [millimetres(p.hinge_forward) for p in panels], "hinge.forward"),
        row("yoke pin out from hinge", [millimetres(p.yoke_out) for p in panels]),
        row("yoke pin below", [millimetres(p.yoke_below) for p in panels], "yoke_pin.below"),
        row("yoke pin forward", [millimetres(p.yoke_forward) for p in panels], "yoke_pin.forward"),
        row("yoke pin lies", ["along" if p.pin_along else "across" for p in panels], "yoke_pin.axis"),
        row("throw radius", [millimetres(p.throw_radius) for p in panels]),
        row("throw angle", [degrees(p.throw_angle) for p in panels], "throw.angle"),
        row("throw out", [millimetres(p.throw_out) for p in panels]),
        row("rod, eye to eye", [millimetres(p.rod.length) for p in panels]),
        row("panel lowest, from level", [degrees(s[0]) for _, _, s in columns]),
        row("panel highest", [degrees(s[1]) for _, _, s in columns]),
    ]


def _size(p: Panel) -> str:
    flat = np.array(p.plate.outline.exterior)
    chord, span = flat.max(axis=0) - flat.min(axis=0)
    return f"{millimetres(chord)} × {millimetres(span)}"


def _flag(field: str, assumed: Collection[str]) -> str:
    return ASSUMED if field in assumed else ""


def _marked(value: str, assumed: Collection[str], *fields: str) -> str:
    """Mark a value of which any part was assumed."""
    return value + (ASSUMED if any(f in assumed for f in fields) else "")


def _crank(m: Mechanism, assumed: Collection[str]) -> list[Row]:
    def one(words: str, value: str, *fields: str) -> Row:
        return Row(words, (_marked(value, assumed, *fields),))

    c = m.sides[0].crank
    numbered = list(enumerate(c.stations, 1))
    outs = ", ".join(_marked(millimetres(x.out), assumed, f"crank.bearings.{k}") for k, x in numbered)
    held = ", ".join(_marked(x.on, assumed, f"crank.bearings.{k}.on") for k, x in numbered)
    rows = [
        Row("Crankshaft", heading=True),
        one("axis above ground", millimetres(m.crank_height)),
        one("shaft Ø, pin Ø", f"{millimetres(c.shaft)}, {millimetres(c.pin)}", "crank.shaft", "crank.pin"),
        one("material", short(c.material.name, 24), "crank.material"),
        Row("bearings out, the locating one first", (outs,)),
        Row("bearings held by", (held,)),
        one("webs: width × thickness, gap",
            f"{millimetres(c.cheek.width)} × {millimetres(c.cheek.thickness)}, {millimetres(c.cheek.gap)}"
            if c.cheek.outline is None
            else f"outline × {millimetres(c.cheek.thickness)}, {millimetres(c.cheek.gap)}",
            "crank.web.width", "crank.web.thickness", "crank.web.gap"),
    ]  # fmt: skip
    if any(x.stiffness is not None for x in c.stations):
        gives = ("rigid" if x.stiffness is None else f"{x.stiffness / 1e3:.4g}" for x in c.stations)
        rows.insert(6, Row("stiffness of what holds them [N/mm]", (", ".join(gives),)))
    for k, w in enumerate(c.weights, 1):
        value = f"{w.mass:.3g} kg, r {millimetres(w.radius)}, {degrees(w.angle)}, out {millimetres(w.out)}"
        rows.append(Row(f"counterweight {k}" if len(c.weights) > 1 else "counterweight", (value,)))
    rows.append(one("runout", millimetres(c.runout), "crank.runout"))
    rows += _coupling(c.coupling, assumed)
    keyed = [s for s in m.sides if s.key_angle]
    rows += [Row(f"{s.name} side keyed", (degrees(s.key_angle),)) for s in keyed]
    rows += _keyways(m.keyways, assumed)
    rows.append(Row("mass of one side's crankshaft", (f"{crank_mass(m.sides[0]).mass:.3g} kg",)))
    return rows


def _keyways(keys: Keyways | None, assumed: Collection[str]) -> list[Row]:
    if keys is None:
        return []
    centre = ", ".join(degrees(a) for a in keys.centre) if keys.centre else "to be cut"
    measured = _marked(degrees(keys.measured), assumed, "keyways.measured")
    return [
        Row("keyways of left, right crankshaft", (f"{degrees(keys.left)}, {degrees(keys.right)}",)),
        Row("of the centre shaft; each may be off", (f"{centre}; {measured}",)),
    ]


def _coupling(c: Coupling, assumed: Collection[str]) -> list[Row]:
    at = "crank.coupling"
    kind = _marked(c.kind, assumed, f"{at}.kind")
    if c.stiffness is not None:
        kind += f", {c.stiffness:.4g} N m/rad"
    if c.backlash:
        kind += f", backlash {degrees(c.backlash)}"
    rows = [Row("coupling", (kind,))]
    if c.mass:
        size = f"{c.mass:.3g} kg, Ø {millimetres(c.diameter)}"
        rows.append(Row("coupling's mass, size", (_marked(size, assumed, f"{at}.mass", f"{at}.diameter"),)))
    if c.rated is not None:
        service = _marked(f"{c.service:.3g}", assumed, f"{at}.service")
        rows.append(Row("coupling rated, service factor", (f"{c.rated:.4g} N m, {service}",)))
    if c.angular or c.parallel:
        angle = _marked(degrees(c.angular), assumed, f"{at}.angular")
        offset = _marked(f"{1e3 * c.parallel:.3g}", assumed, f"{at}.parallel")
        rows.append(Row("coupling allows: angle, offset", (f"{angle}, {offset}",)))
    if c.length is not None:
        size = _marked(millimetres(c.length), assumed, f"{at}.length")
        rows.append(Row("coupling, between its crosses", (size,)))
    return rows


def _drive(m: Mechanism, assumed: Collection[str]) -> list[Row]:
    w = m.wheel
    rows = [Row("Wheel" if w.kind == "disc" else "Handle", heading=True)]
    if w.kind == "disc":
        size = f"{millimetres(2 * w.radius)} ({2 * w.radius / 0.0254:.1f} in) × {millimetres(w.thickness)}"
        rows.append(Row("diameter × thickness", (size,)))
        if w.bar:
            rows.append(Row("rim bar Ø", (millimetres(w.bar),)))
    else:
        rows.append(Row("radius", (f"{millimetres(w.radius)} ({w.radius / 0.0254:.1f} in)",)))
        rows.append(Row("grip", (f"{w.grip_mass:.3g} kg{_flag('wheel.grip.mass', assumed)}",)))
    if w.hub_mass:
        rows.append(Row("hub", (f"{w.hub_mass:.3g} kg, Ø {millimetres(w.hub_diameter)}",)))
    rows.append(Row("axis above ground", (millimetres(w.height) + _flag("wheel.height", assumed),)))
    rows.append(Row("plane out", (_marked(sided(w.out), assumed, "wheel.out"),)))
    if m.stages:
        rows.append(_shaft("shaft Ø; its bearings out", w.shaft, "wheel.shaft", assumed))
    if w.slip is not None:
        rows.append(Row("hub slips at", (f"{w.slip:.4g} N m",)))
    mass = f"{wheel_mass(w).mass:.3g} kg{_flag('wheel.material', assumed)}"
    rows.append(Row("mass", (mass,)))
    if m.stages:
        chains = all(s.kind == "chain" for s in m.stages)
        rows.append(Row("Chain stages, from the wheel" if chains else "Stages, from the wheel", heading=True))
    for k, s in enumerate(m.stages, 1):
        rows += _stage(k, s, assumed)
    if m.limiter is not None:
        where = "wheel's hub" if m.limiter.at == 0 else f"driven hub of stage {m.limiter.at}"
        rows.append(Row("torque limiter", (f"{where}, {m.limiter.torque:.4g} N m",)))
    return rows


def _stage(k: int, s: Stage, assumed: Collection[str]) -> list[Row]:
    at = f"stage.{k}"
    more = [] if s.kind == "chain" else [s.kind]
    more += [
        f"{s.driver} → {s.driven} teeth",
        f"pitch {_marked(millimetres(s.pitch), assumed, f'{at}.pitch')}",
    ]
    if s.centres is not None:
        more.append(f"centres {_marked(millimetres(s.centres), assumed, f'{at}.centres')}")
    more += [f"{s.links} links"] if s.links is not None else []
    more += [f"slack {millimetres(s.slack)}"] if s.slack is not None else []
    more += [f"sideways {millimetres(s.sideways)}"] if s.sideways is not None else []
    more += [f"tight {s.tight:.4g} N"] if s.tight else []
    more += [f"tensioner {s.tensioner.force:.4g} N"] if s.tensioner is not None else []
    loss = _marked(f"{100 * (1 - s.efficiency):.3g} %", assumed, f"{at}.efficiency")
    rows = [
        Row(f"stage {k}", (", ".join(more),)),
        Row(f"stage {k}: plane out, loss", (f"{_marked(sided(s.out), assumed, f'{at}.out')}, {loss}",)),
        _shaft(f"stage {k}: driven shaft Ø; its bearings out", s.shaft, f"{at}.shaft", assumed),
    ]
    if any(x is not None for x in s.slips):
        slips = (("driver", s.slips[0]), ("driven", s.slips[1]))
        words = ", ".join(f"{word} {x:.4g} N m" for word, x in slips if x is not None)
        rows.append(Row(f"stage {k}: hubs slip at", (words,)))
    return rows


def _shaft(words: str, shaft: DriveShaft, at: str, assumed: Collection[str]) -> Row:
    places = (
        _marked(sided(place), assumed, f"{at}.bearings.{k}") for k, place in enumerate(shaft.bearings, 1)
    )
    size = _marked(millimetres(shaft.diameter), assumed, f"{at}.diameter")
    return Row(words, (f"{size}; {', '.join(places)}",))


def _joints(m: Mechanism, assumed: Collection[str]) -> list[Row]:
    rod, panel = m.sides[0].panels[0].rod, m.sides[0].panels[0]
    f = m.friction
    values = (_marked(f"{v:.3g}", assumed, f"friction.{n}") for n, v in
              (("bush", f.bush), ("rod_end", f.rod_end), ("hinge", f.hinge)))  # fmt: skip
    bearing = _marked(f"{f.bearing:.3g}", assumed, "friction.bearing")
    drag = _marked(f"{f.wheel_drag:.3g} N m", assumed, "friction.wheel_drag")
    factors = ", ".join(_marked(f"{v:.3g}", assumed, f"friction.{n}") for n, v in
                        (("static", f.static), ("low", f.low), ("high", f.high)))  # fmt: skip
    rows = [
        Row("Rods, rod ends, hinges, post", heading=True),
        Row("rod bar Ø", (millimetres(rod.diameter) + _flag("rods.diameter", assumed),)),
        Row("rod end: mass, ball Ø",
            (f"{rod.end_mass:.3g} kg{_flag('rod_ends.mass', assumed)}, "
             f"{millimetres(rod.ball)}{_flag('rod_ends.ball', assumed)}",)),
        Row("rod end: swivel limit, clocking",
            (f"{degrees(m.swivel_limit)}{_flag('rod_ends.swivel', assumed)}, "
             f"{degrees(rod.clocking)}{_flag('rod_ends.clocking', assumed)}",)),
        Row("hinge pin Ø", (millimetres(panel.hinge_pin) + _flag("hinges.pin", assumed),)),
        Row("friction: bush, rod end, hinge", (", ".join(values),)),
        Row("friction: drive's bearings; wheel's drag", (f"{bearing}; {drag}",)),
        Row("friction factors: static, low, high", (factors,)),
    ]  # fmt: skip
    if m.post is not None:
        size = f"{millimetres(m.post.outside)} × {millimetres(m.post.wall)}"
        rows.append(Row("post: outside × wall", (size,)))
        top = _marked(millimetres(m.post.above), assumed, "post.height")
        rows.append(Row("post's top above the crank's axis", (top,)))
    for x in m.lifts:
        place = f"{millimetres(x.forward)}, {sided(x.out)}, {millimetres(x.up)}"
        rows.append(Row(f"lifted at {short(x.name, 20)}: forward, out, up", (place,)))
    return rows
