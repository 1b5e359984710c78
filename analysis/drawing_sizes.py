"""The schedule of sizes beside the views: every figure that was understood, with what was assumed marked."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from analysis.drawing_parts import Pose
from analysis.drawing_sheet import degrees, millimetres, short
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


def _crank(m: Mechanism, assumed: Collection[str]) -> list[Row]:
    def one(words: str, value: str, *fields: str) -> Row:
        return Row(words, (value + (ASSUMED if any(f in assumed for f in fields) else ""),))

    c = m.sides[0].crank
    locating, radial = c.bearings
    rows = [
        Row("Crankshaft", heading=True),
        one("axis above ground", millimetres(m.crank_height)),
        one("shaft Ø, pin Ø", f"{millimetres(c.shaft)}, {millimetres(c.pin)}", "crank.shaft", "crank.pin"),
        one("material", short(c.material.name, 24), "crank.material"),
        one("bearings out: locating, other", f"{millimetres(locating)}, {millimetres(radial)}",
            "crank.bearings.1", "crank.bearings.2"),
        one("webs: width × thickness, gap",
            f"{millimetres(c.cheek.width)} × {millimetres(c.cheek.thickness)}, {millimetres(c.cheek.gap)}"
            if c.cheek.outline is None
            else f"outline × {millimetres(c.cheek.thickness)}, {millimetres(c.cheek.gap)}",
            "crank.web.width", "crank.web.thickness", "crank.web.gap"),
    ]  # fmt: skip
    for k, w in enumerate(c.weights, 1):
        value = f"{w.mass:.3g} kg, r {millimetres(w.radius)}, {degrees(w.angle)}, out {millimetres(w.out)}"
        rows.append(Row(f"counterweight {k}" if len(c.weights) > 1 else "counterweight", (value,)))
    rows.append(one("runout", millimetres(c.runout), "crank.runout"))
    if c.coupling_mass:
        rows.append(
            one("coupling", f"{c.coupling_mass:.3g} kg, Ø {millimetres(c.coupling_diameter)}",
                "crank.coupling.mass")
        )  # fmt: skip
    keyed = [s for s in m.sides if s.key_angle]
    rows += [Row(f"{s.name} side keyed", (degrees(s.key_angle),)) for s in keyed]
    rows.append(Row("mass of one side's crankshaft", (f"{crank_mass(m.sides[0]).mass:.3g} kg",)))
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
    mass = f"{wheel_mass(w).mass:.3g} kg{_flag('wheel.material', assumed)}"
    rows.append(Row("mass", (mass,)))
    for k, s in enumerate(m.stages, 1):
        if k == 1:
            rows.append(Row("Chain stages, from the wheel", heading=True))
        pitch = millimetres(s.pitch) + _flag(f"stage.{k}.pitch", assumed)
        more = [f"{s.driver} → {s.driven} teeth", f"pitch {pitch}"]
        more += [f"centres {millimetres(s.centres)}"] if s.centres is not None else []
        more += [f"{s.links} links"] if s.links is not None else []
        more += [f"slack {millimetres(s.slack)}"] if s.slack is not None else []
        rows.append(Row(f"stage {k}", (", ".join(more),)))
    return rows


def _joints(m: Mechanism, assumed: Collection[str]) -> list[Row]:
    rod, panel = m.sides[0].panels[0].rod, m.sides[0].panels[0]
    f = m.friction
    flags = [_flag(f"friction.{n}", assumed) for n in ("bush", "rod_end", "hinge")]
    values = (f"{v:.3g}{s}" for v, s in zip((f.bush, f.rod_end, f.hinge), flags, strict=True))
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
    ]  # fmt: skip
    if m.post is not None:
        size = f"{millimetres(m.post.outside)} × {millimetres(m.post.wall)}"
        rows.append(Row("post: outside × wall", (size,)))
    return rows
