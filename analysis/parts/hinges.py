"""The hinges: pins, knuckles and the bolts of their leaves.

Each of the two outermost groups of a line carries its share of the joint's force and moment, at every instant of every
load case. A pin goes through an odd number of knuckles, so that the inner ones are held on either side.
"""

import math

import numpy as np

from analysis.bearing_loads import LARGEST
from analysis.parts.basis import Basis
from analysis.parts.bolt_group import TABLE, bearing, bolt_checks, resists, worst_bolt
from analysis.parts.choice import Check, Line, Sizing, Table, line
from analysis.parts.hinge_lines import GroupLoads, HingeLine, hinge_lines, in_use, of_run
from analysis.parts.pins import PinLoad, between_plates, modulus, pin_checks, rounds, system_of
from analysis.parts.worst import Worst, met, used
from analysis.strength.endurance import endurance
from models.materials import Material
from models.mechanism import Mechanism
from models.parts.catalogue import SYSTEMS
from models.parts.fasteners import FASTENERS, Fastener
from models.resolve_fixing import EXACT
from models.shown import shown
from models.strengths import strengths
from sim import names
from sim.run import Run

PIN, BOLT, GROUPS = "hinge pin", "hinge leaf bolt", "hinge groups"
WORN = 0.5e-3
"""Depth by which a knuckle may wear, m: then the panel rattles. Assumption."""
DRY = 7e-3 / (3 * 1.176e9)
"""Wear of mild steel on mild steel without grease, m2/N: K P L / (3 H), K 7e-3, H 1.176 GPa (encyclopedia, read)."""
GREASED = 1e-5 / 1.176e9
"""The same kept greased: K between 1e-6 and 1e-4 (encyclopedia gives 1e-6 for mild lubricated wear, read), 1e-5:
assumption."""
BUSH = 5e-15
"""Of a lined or polymer bush on a smooth stainless pin, m2/N: 5e-6 mm3/(N m), assumption; its sheet says."""
WEAR = "V = K F s (Archard), over the bore's projected area, length times diameter, as where the pin presses"


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give the pins and the bolts of every hinge line, alike sides as one."""
    found: list[Line] = []
    for alike in _alike(basis):
        loads = _loads(basis, alike)
        worn = _worn(basis, alike)
        for system in SYSTEMS:
            found += [_pin(basis, alike, loads, worn, system), _bolts(basis, alike, loads, system)]
        # Groups that have no room are no note: no pin of any size makes them fit.
        groups = _groups(basis, alike)
        found += [] if groups.described is None or groups.described.holds else [groups]
    return tuple(found)


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give how each line's load comes to its pins, and how long knuckles last."""
    return (_shares(basis), _wear(basis))


# --- Lines that are alike ---


Alike = tuple[HingeLine, ...]


def _alike(basis: Basis) -> list[Alike]:
    """Give the hinge lines, those of mirrored sides together."""
    m = basis.mechanism
    sides = [hinge_lines(m, side) for side in m.sides]
    return list(zip(*sides, strict=True)) if basis.loads.mirrored else [(x,) for s in sides for x in s]


def _where(m: Mechanism, alike: Alike) -> str:
    joint = alike[0].joint
    side = m.sides[0].name
    return joint.removeprefix(f"{side} ") if len(alike) > 1 else joint


def _worst_radial(run: Run, alike: Alike) -> np.ndarray | None:
    found = [g.worst for g in (of_run(run, x) for x in alike) if g is not None]
    return np.max(found, axis=0) if found else None


def _worst_thrust(run: Run, alike: Alike) -> np.ndarray | None:
    found = [g.thrust for g in (of_run(run, x) for x in alike) if g is not None]
    return np.max(found, axis=0) if found else None


Loads = tuple[Worst, Worst, Worst | None]
"""The worst force on a group met, the worst thrust, and the worst force in use."""


def _loads(basis: Basis, alike: Alike) -> Loads:
    """Give the worst force on a group met and the worst thrust, and the worst force in use."""
    radial = met(basis.loads, lambda run: _worst_radial(run, alike))
    thrust = met(basis.loads, lambda run: _worst_thrust(run, alike))
    if radial is None or thrust is None:
        raise ValueError(f"no load case says what {alike[0].joint} carries")
    return radial, thrust, used(basis.loads, lambda run: _worst_radial(run, alike))


def _duty(basis: Basis, alike: Alike) -> GroupLoads:
    return in_use(basis.linkage, {x.joint: x for x in alike})[alike[0].joint]


# --- Pins ---


def pin_load(m: Mechanism, force: float) -> PinLoad:
    """Give what a group's pin carries for a force on the group, N, shared evenly by its inner knuckles."""
    h = m.hinges
    each = force / (h.planes // 2)
    return PinLoad(each / 2, between_plates(each, h.knuckle, h.knuckle, h.gap), each, h.knuckle)


def _pin(basis: Basis, alike: Alike, loads: Loads, worn: tuple[Check, ...], system: str) -> Line:
    m, h = basis.mechanism, basis.mechanism.hinges
    radial, _, ordinary = loads

    def checks(diameter: float) -> tuple[Check, ...]:
        own = pin_checks(
            diameter,
            pin_load(m, radial.value),
            h.material,
            h.material,
            m.use.margin,
            radial.case,
            radial.crank,
        )
        return (*own, *_fatigue(m, diameter, ordinary), *worn)

    given, described = alike[0].panel.hinge_pin, None
    # A pin that nobody gave is there to be chosen.
    if system == system_of(given) and all(d.field != "hinges.pin" for d in m.defaults):
        described = Sizing(shown(given, "length"), checks(given), "the description")
    return line(
        PIN, _where(m, alike), rounds(system), lambda row: checks(row.diameter), system=system,
        count=h.count * len(alike), described=described,
        notes=(
            f"{h.count} groups of {h.knuckles} knuckles, {h.planes} shear planes each, the outermost "
            f"{shown(alike[0].span, 'length')} apart; the two outermost are taken to carry all",
            f"pin and knuckles of {h.material.name}; a pin's length is at least {shown(h.length, 'length')}",
            *_blocked(basis, alike),
        ),
    )  # fmt: skip


def _fatigue(m: Mechanism, diameter: float, ordinary: Worst | None) -> tuple[Check, ...]:
    h = m.hinges
    known = strengths().get(h.material.name)
    if ordinary is None or known is None:
        return ()
    stress = pin_load(m, ordinary.value).moment / modulus(diameter)
    stood = endurance(known, diameter, "cold drawn").limit / m.use.margin
    source = (
        f"the worst moment in use as if it reversed with every turn; endurance limit over {m.use.margin:g}"
    )
    return (
        Check(
            "bending of the pin to and fro", stress, stood, "stress", ordinary.case, source, ordinary.crank
        ),
    )


def _worn(basis: Basis, alike: Alike) -> tuple[Check, ...]:
    m = basis.mechanism
    if m.hinges.wear is None:
        return ()
    depth = wear_depth(m, pressed(basis, alike), m.hinges.wear) * m.use.turns(m.reduction) * m.use.years
    what = f"wear of a knuckle in {m.use.years:g} years"
    return (
        Check(what, depth, WORN, "length", "in use", f"{WEAR}; .5 mm allowed: assumption", years=m.use.years),
    )


def pressed(basis: Basis, alike: Alike) -> float:
    """Give the sum of force times angle turned of the harder pressed group over a turn of the crank, N rad."""
    duty = basis.duty[alike[0].joint]
    loads = _duty(basis, alike)
    return float(np.max(np.mean(loads.radial * duty.turn[:, None], axis=0)) * 2 * math.pi)


def wear_depth(m: Mechanism, force_angle: float, coefficient: float) -> float:
    """Give how deep an inner knuckle wears in a turn of the crank, m.

    Parameters
    ----------
    m : whose hinges.
    force_angle : as `pressed` gives it, N rad.
    coefficient : m3/(N m).

    Returns
    -------
    K F s / (n L d) with s = d / 2 times the angle, so that the diameter falls out.
    """
    h = m.hinges
    return coefficient * force_angle / (2 * (h.planes // 2) * h.knuckle)


def _blocked(basis: Basis, alike: Alike) -> tuple[str, ...]:
    found = [f for x in alike if (f := basis.loads.bound.get((x.joint, LARGEST))) is not None]
    if not found:
        return ()
    most = max(found, key=lambda f: f.value)
    return (
        f"with a panel or crank blocked up to {shown(most.value, 'force')} on the joint: an upper bound in "
        f"which only a "
        "rod gives, bounded by a torque limiter or a slipping hub; it does not choose the size",
    )


def fits(m: Mechanism, hinge: HingeLine) -> tuple[Check, ...]:
    """Give the room that a line's groups need between each other and along its edge."""
    h = m.hinges
    found = [
        Check("length of a group between two middles", h.length, hinge.span / (h.count - 1), "length", "geometry",
              "knuckles and gaps over the distance of the groups' middles; write fewer or shorter ones, or a longer "
              "span")
    ]  # fmt: skip
    if hinge.edge is not None:
        low, high = hinge.places[0] - h.length / 2, hinge.places[1] + h.length / 2
        # Both ends, counted from the middle that they share: a micrometre is rounding.
        found.append(
            Check("groups along the edge, end to end", high - low, hinge.edge[1] - hinge.edge[0] + 2e-6, "length",
                  "geometry", "the part of the edge that both panels have; write a shorter span or knuckle")
        )  # fmt: skip
    return tuple(found)


def _groups(basis: Basis, alike: Alike) -> Line:
    m, h = basis.mechanism, basis.mechanism.hinges
    described = Sizing(f"{h.count} of {shown(h.length, 'length')}", fits(m, alike[0]), "the description")
    return Line(GROUPS, _where(m, alike), h.count * len(alike), "", None, None, described)


# --- Bolts of the leaves ---


def _bolts(basis: Basis, alike: Alike, loads: Loads, system: str) -> Line:
    m, h = basis.mechanism, basis.mechanism.hinges
    radial, thrust, _ = loads
    grade = m.bolting.grade if system == "metric" else "grade 5"
    plates = _plates(m, alike[0])
    arm = float(np.mean([away for _, away in h.pattern]))
    margin = m.use.margin

    def checks(row: Fastener) -> tuple[Check, ...]:
        load = worst_bolt(h.pattern, margin * radial.value, margin * thrust.value, arm, resists(row))
        note = f"loads times {margin:g}; force across the line from its worst side, worst thrust along it"
        most = _most_shear(h.pattern, margin * radial.value, margin * thrust.value, arm)
        return (
            *bolt_checks(row, load, radial.case, radial.crank, note),
            _bears(row, most, h.leaf, h.edge, h.material, "leaf", radial),
            *(_bears(row, most, thick, h.edge, stock, what, radial) for what, thick, stock in plates),
            Check("hole and edge in the leaf's pattern", 2.4 * row.hole, min(h.pitch, h.rows, 2 * h.edge), "length",
                  "geometry", "2.4 hole diameters between bolts, 1.2 to an edge: EN 1993-1-8, table 3.3 (memory)"),
        )  # fmt: skip

    rows = basis.series(FASTENERS, system, grade=grade)
    described = None
    if h.bolt is not None:
        own = [r for r in rows if abs(r.diameter - h.bolt) < EXACT]
        described = Sizing(own[0].size, checks(own[0]), "the description") if own else None
    return line(
        BOLT, _where(m, alike), rows, checks, system=system, count=2 * h.bolts * h.count * len(alike),
        described=described,
        notes=(
            f"{grade}; {h.bolts} a leaf in two rows along the line, on two leaves of each group; pattern "
            f"and edge distance "
            "as described or assumed ([hinges] reach, rows, pitch, edge)",
            "loosening, prying by a leaf that bends, and fatigue of the bolts are not counted: tighten and lock them; "
            "common practice, no source",
        ),
    )  # fmt: skip


def _plates(m: Mechanism, hinge: HingeLine) -> tuple[tuple[str, float, Material], ...]:
    """Give what the two leaves of a group are bolted to, as far as described: what, its thickness, m, and its stock."""
    number, stocks, body = hinge.number, m.hinges.plates, m.structure.body
    found = [("panel", hinge.panel.plate.thickness, stocks[number] if stocks else m.hinges.material)]
    if number:
        side = next(s for s in m.sides if names.hinge(s.name, hinge.panel.name) == hinge.joint)
        before = side.panels[number - 1].plate.thickness
        found.append(("panel before it", before, stocks[number - 1] if stocks else m.hinges.material))
    elif body is not None:
        found.append(("body", body.thickness, body.material))
    return tuple(found)


def _most_shear(pattern: tuple[tuple[float, float], ...], radial: float, thrust: float, arm: float) -> float:
    """Give the largest shear of a bolt with all of the force in the leaf's plane, N."""
    total = sum((x * x + (y - arm) ** 2) for x, y in pattern)
    far = max(pattern, key=lambda p: math.hypot(p[0], p[1] - arm))
    along = thrust / len(pattern) + thrust * arm * abs(far[1] - arm) / total
    across = radial / len(pattern) + thrust * arm * abs(far[0]) / total
    return math.hypot(along, across)


def _bears(
    row: Fastener, shear: float, thickness: float, edge: float, plate: Material, what: str, worst: Worst
) -> Check:
    return Check(
        f"bolt on the {what}, bearing or tearing out", shear, bearing(row, thickness, edge, plate), "force", worst.case,
        f"k1 ab fu d t / 1.25: {TABLE}; {shown(edge, 'length')} to the edge, {plate.name}", worst.crank,
    )  # fmt: skip


# --- Tables ---


def _shares(basis: Basis) -> Table:
    m = basis.mechanism
    rows: list[tuple[str, ...]] = [("hinge line", "edge", "groups", "apart", "worst on a group", "case", "in use",
                                    "thrust along the line")]  # fmt: skip
    for alike in _alike(basis):
        radial, thrust, ordinary = _loads(basis, alike)
        edge = alike[0].edge
        rows.append((
            _where(m, alike),
            "none near the line: the whole outline counts" if edge is None else shown(edge[1] - edge[0], "length"),
            str(m.hinges.count), shown(alike[0].span, "length"), shown(radial.value, "force"), radial.case,
            "not known" if ordinary is None else shown(ordinary.value, "force"), shown(thrust.value, "force"),
        ))  # fmt: skip
    return Table("Hinge lines", tuple(rows),
                 "Force and moment of the joint shared by the two outermost groups, at every instant. The "
                 "edge is the part "
                 "that both panels have along the line; what the body offers is not described.")  # fmt: skip


def _wear(basis: Basis) -> Table:
    m = basis.mechanism
    yearly = m.use.turns(m.reduction)
    kinds = [("steel on steel, dry", DRY), ("steel on steel, kept greased (assumption)", GREASED),
             ("lined or polymer bush (assumption)", BUSH)]  # fmt: skip
    if m.hinges.wear is not None:
        kinds.append(("as described", m.hinges.wear))
    rows: list[tuple[str, ...]] = [("hinge line", "turned each turn of the crank", *(k for k, _ in kinds))]
    for alike in _alike(basis):
        force_angle = pressed(basis, alike)
        life = [_years(wear_depth(m, force_angle, k) * yearly) for _, k in kinds]
        rows.append((_where(m, alike), shown(basis.duty[alike[0].joint].swept, "angle"), *life))
    return Table("Wear of hinge knuckles: years to .5 mm", tuple(rows),
                 f"{WEAR}, {yearly:.0f} turns of the crank a year. Coefficients scatter tenfold and more "
                 f"either way; grit "
                 "and rust are not counted. A bush's own sheet is better: write [hinges] wear.")  # fmt: skip


def _years(depth: float) -> str:
    if depth <= 0:
        return "no wear"
    years = WORN / depth
    return "over 100 years" if years > 100 else f"{years:.2g} years"
