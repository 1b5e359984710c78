"""Straight bars in space against beam tables, a reference library, and frames whose energy is written out.

Bars lie askew in space and away from the origin, so that a forgotten axis or origin shows. Shear is either
switched off, where a table leaves it out, or added in closed form.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import sympy
from castigliano import Bar, Push, flexibility, forced, rectangle_softness, saint_venant
from evidence import Outside, Value
from sympy.physics.continuum_mechanics.beam import Beam

from sim.arrays import Array, rotation
from sim.shaft.frame import Frame, Held, Member, Section, Support, held, rectangle_section, round_section

OPEN_TABLES = "tables of slope and deflection in an open textbook, Strength of Materials, appendix B"
FORMULAS = "Civil Engineering Formulas, chapter 2, beams and uniformly loaded continuous beams"
TWO_SPANS = "two equal spans, one loaded in its middle, in public beam formulas"
COWPER = "Cowper, The shear coefficient in Timoshenko's beam theory, 1966, as published code cites it"
GOODIER = "Timoshenko & Goodier, Theory of Elasticity, table of rectangles in torsion, as constants in published code"
SERIES = "Saint-Venant's series, Timoshenko & Goodier, art. 109"
SYMPY = "sympy.physics.continuum_mechanics.beam"
MECHANICS = "any mechanics-of-materials textbook"
HALF = "half the last printed digit"
SOLVED = 1e-9
"""Relative; two closed forms, one by way of equations whose stiffnesses differ by a million."""
ROUNDING = "the same theory, solved by a matrix"

E, L = 200e9, 1.7
G = E / 2.6
ROUND = round_section(0.03)
SLENDER = replace(ROUND, shear=(1e9, 1e9))
"""Without shear."""
FLAT = rectangle_section(0.01, 0.05)
EI = E * ROUND.about_z
SHEAR = G * ROUND.area * ROUND.shear[0]
TURN = rotation([0.3, -1.0, 0.7], 1.1)
START = np.array([0.2, -0.5, 0.3])


class Line:
    """A bar cut at stations, on supports; loads and movements are along its local y and about its local z.

    Supports: `fixed` and `simple` list numbers of stations; sideways, twist and length are held at the first.
    """

    def __init__(
        self, stations: Sequence[float], section: Section, fixed: Sequence[int], simple: Sequence[int]
    ) -> None:
        nodes = START + np.outer(stations, TURN[:, 0])
        lengths = np.diff(stations)
        members = tuple(
            Member("bar", k, k + 1, TURN, float(length), section, E) for k, length in enumerate(lengths)
        )
        x, y, z = np.hstack([TURN.T, np.zeros((3, 3))])
        about_x, about_y, about_z = np.hstack([np.zeros((3, 3)), TURN.T])
        first = min([*fixed, *simple])
        supports = [Support("rest", first, np.array([x, z, about_x, about_y]))]
        supports += [Support(f"at {k}", k, np.array([y, about_z])) for k in fixed]
        supports += [Support(f"at {k}", k, np.array([y])) for k in simple]
        self.held: Held = held(Frame(nodes, members), supports)
        self.up, self.about = y, about_z
        self.size = len(nodes)

    def put(
        self, *, forces: Sequence[tuple[int, float]] = (), moments: Sequence[tuple[int, float]] = ()
    ) -> None:
        """Put loads on stations."""
        loads = np.zeros(6 * self.size)
        for rows, given in ((self.up, forces), (self.about, moments)):
            for k, size in given:
                loads[6 * k : 6 * k + 6] += size * rows
        self.moved = self.held.by_load @ loads
        self.reactions = self.held.carried @ loads
        self.inside = self.held.frame.end_loads(self.moved)

    def deflections(self) -> Array:
        return self.moved.reshape(-1, 6) @ self.up

    def slopes(self) -> Array:
        return self.moved.reshape(-1, 6) @ self.about

    def reaction(self, k: int) -> Array:
        """Give a support's push along y and, where it is fixed, its moment about z."""
        return self.reactions[self.held.rows(f"at {k}")]

    def moment_before(self, k: int) -> float:
        """Give the bending moment E I y'' at the end of the bar that comes before a station."""
        return float(self.inside[k - 1, 1, 5])


def stated(outside: Outside, rows: Sequence[tuple[str, Value, Value]], source: str, seen: str) -> None:
    """Check closed forms."""
    for what, expected, got in rows:
        outside(what, source=source, seen=seen, expected=_nine(expected), got=got, relative=SOLVED,
                reason=ROUNDING)  # fmt: skip


def _nine(value: Value) -> Value:
    """Round what is worked out here to ten digits, alike on every machine."""
    rounded = [float(f"{x:.10g}") for x in np.ravel(np.asarray(value, dtype=float))]
    return rounded[0] if np.ndim(value) == 0 else rounded


def test_sections(outside: Outside) -> None:
    outside("shear coefficients of a round and a rectangle, Poisson's ratio .3", source=COWPER, seen="read",
            expected=(0.886, 0.850), got=(ROUND.shear[0], FLAT.shear[1]), absolute=5e-4, reason=HALF)  # fmt: skip
    ratios = (1, 1.5, 2, 3, 5, 10)
    found = [rectangle_section(r, 1.0).torsion / r for r in ratios]
    outside("torsion constant over a b^3 of rectangles with sides as 1, 1.5, 2, 3, 5 and 10 to 1", source=GOODIER,
            seen="read", expected=(0.141, 0.196, 0.229, 0.263, 0.291, 0.312), got=found, absolute=5e-4,
            reason=HALF)  # fmt: skip
    fine = np.concatenate([np.linspace(1, 3, 81), [5, 10, 50]])
    shares = [rectangle_section(1.0, r).torsion / saint_venant(1.0, r) for r in fine]
    outside("torsion constant of rectangles with sides as 1 to 50 to 1 over the exact one, least and most",
            source=SERIES, seen="computed", expected=(1.0, 1.0), got=(min(shares), max(shares)), absolute=5e-3,
            reason="Roark's polynomial; worst near 1.15 to 1")  # fmt: skip
    torque = 90.0
    bar = Line(np.linspace(0, L, 5), ROUND, fixed=[0], simple=[])
    loads = np.zeros(30)
    loads[27:30] = torque * TURN[:, 0]
    turned = (bar.held.by_load @ loads)[27:30] @ TURN[:, 0]
    inside = bar.held.frame.end_loads(bar.held.by_load @ loads)
    stated(
        outside,
        [
            ("twist T L / G J of a round bar, rad", torque * L / (G * np.pi * 0.03**4 / 32), turned),
            ("torque in each of its four pieces, N m", [torque] * 4, inside[:, 0, 3]),
        ],
        MECHANICS, "memory",
    )  # fmt: skip


def test_cantilever(outside: Outside) -> None:
    P, M, a = 350.0, 80.0, 0.6
    bar = Line([0, a, L], ROUND, fixed=[0], simple=[])
    bar.put(forces=[(2, P)])
    along = [P * a**2 * (3 * L - a) / (6 * EI) + P * a / SHEAR, P * L**3 / (3 * EI) + P * L / SHEAR]
    stated(
        outside,
        [
            ("cantilever, end load: deflections at .6 m and the end, shear P x / k G A added, m", along,
             bar.deflections()[1:]),
            ("cantilever, end load: slope P L^2 / 2 EI of the end, rad", P * L**2 / (2 * EI), bar.slopes()[2]),
        ],
        OPEN_TABLES, "read",
    )  # fmt: skip
    stated(
        outside,
        [
            ("cantilever, end load: reaction and moment of the wall, N, N m", [-P, -P * L], bar.reaction(0)),
            ("cantilever, end load: moment E I y'' at .6 m, N m", P * (L - a), bar.moment_before(1)),
        ],
        "statics", "computed",
    )  # fmt: skip
    bar.put(moments=[(2, M)])
    stated(
        outside,
        [
            ("cantilever, end moment: deflections M x^2 / 2 EI at .6 m and the end, m",
             [M * x**2 / (2 * EI) for x in (a, L)], bar.deflections()[1:]),
            ("cantilever, end moment: slopes M x / EI, rad", [M * x / EI for x in (a, L)], bar.slopes()[1:]),
            ("cantilever, end moment: moment E I y'' at .6 m, N m", M, bar.moment_before(1)),
        ],
        MECHANICS, "memory",
    )  # fmt: skip


def lumped(pieces: int, w: float, spans: int = 1) -> list[tuple[int, float]]:
    """Give a uniform load as forces at the stations."""
    each = w * L * spans / pieces
    return [(k, each / 2 if k in (0, pieces) else each) for k in range(pieces + 1)]


def test_uniform_load_on_a_cantilever(outside: Outside) -> None:
    w = 120.0
    exact = w * L**4 / (8 * EI)
    tips: list[float] = []
    for pieces in (4, 8, 16):
        bar = Line(np.linspace(0, L, pieces + 1), SLENDER, fixed=[0], simple=[])
        bar.put(forces=lumped(pieces, w))
        tips.append(float(bar.deflections()[-1]))
    wrong = np.array(tips) - exact
    outside("cantilever, uniform load lumped at 5, 9 and 17 stations: error of each over that of the next",
            source=MECHANICS, seen="memory", expected=(4.0, 4.0), got=wrong[:-1] / wrong[1:], absolute=0.01,
            reason="lumping is of second order")  # fmt: skip
    outside("cantilever, uniform load: deflection w L^4 / 8 EI of the end from 9 and 17 stations, m",
            source=OPEN_TABLES, seen="read", expected=_nine(exact), got=(4 * tips[2] - tips[1]) / 3,
            relative=1e-7, reason="the error of second order taken out")  # fmt: skip


@pytest.mark.parametrize("a", [0.4, 1.1])
def test_off_centre_load(outside: Outside, a: float) -> None:
    P, b = 500.0, L - a
    bar = Line([0, a, L], ROUND, fixed=[], simple=[0, 2])
    bar.put(forces=[(1, P)])
    stated(
        outside,
        [
            (f"load at {a} m of 1.7 m: deflection P a^2 b^2 / 3 EI L, shear P a b / L k G A added, m",
             P * a**2 * b**2 / (3 * EI * L) + P * a * b / (L * SHEAR), bar.deflections()[1]),
            # A section's turn stays behind the slope of the line by the shear, P b / L k G A at the left end.
            (f"load at {a} m of 1.7 m: turns of the ends' sections, rad",
             [P * a * b * (L + b) / (6 * EI * L), -P * a * b * (L + a) / (6 * EI * L)], bar.slopes()[[0, 2]]),
        ],
        OPEN_TABLES, "read",
    )  # fmt: skip
    stated(
        outside,
        [
            (f"load at {a} m of 1.7 m: moment -P a b / L, N m", -P * a * b / L, bar.moment_before(1)),
            (f"load at {a} m of 1.7 m: reactions, N", [-P * b / L, -P * a / L],
             np.concatenate([bar.reaction(0), bar.reaction(2)])),
        ],
        "statics", "computed",
    )  # fmt: skip


def test_overhang(outside: Outside) -> None:
    P, a = 300.0, 0.35
    bar = Line([0, L / np.sqrt(3), L, L + a], SLENDER, fixed=[], simple=[0, 2])
    bar.put(forces=[(3, P)])
    stated(
        outside,
        [
            ("load .35 m beyond a span of 1.7 m: tip P a^2 (L + a) / 3 EI and most between, m",
             [P * a**2 * (L + a) / (3 * EI), -P * a * L**2 / (9 * np.sqrt(3) * EI)], bar.deflections()[[3, 1]]),
            ("load .35 m beyond a span of 1.7 m: moment over the support, N m", P * a, bar.moment_before(2)),
            ("load .35 m beyond a span of 1.7 m: reactions, N", [P * a / L, -P * (1 + a / L)],
             np.concatenate([bar.reaction(0), bar.reaction(2)])),
        ],
        MECHANICS, "memory",
    )  # fmt: skip


def test_propped_and_fixed(outside: Outside) -> None:
    P = 400.0
    propped = Line([0, L / 2, L], SLENDER, fixed=[0], simple=[2])
    propped.put(forces=[(1, P)])
    both = Line([0, L / 2, L], SLENDER, fixed=[0, 2], simple=[])
    both.put(forces=[(1, P)])
    stated(
        outside,
        [
            ("propped cantilever, load in the middle: reactions 5 / 16 P and 11 / 16 P, N",
             [-5 / 16 * P, -11 / 16 * P], [propped.reaction(2)[0], propped.reaction(0)[0]]),
            ("propped cantilever, load in the middle: moment 3 / 16 P L of the wall, N m", -3 / 16 * P * L,
             propped.reaction(0)[1]),
            ("propped cantilever, load in the middle: deflection 7 P L^3 / 768 EI there, m",
             7 * P * L**3 / (768 * EI), propped.deflections()[1]),
            ("fixed ends, load in the middle: deflection P L^3 / 192 EI, m", P * L**3 / (192 * EI),
             both.deflections()[1]),
            ("fixed ends, load in the middle: moments P L / 8 of wall and middle, N m", [-P * L / 8] * 2,
             [both.reaction(0)[1], both.moment_before(1)]),
        ],
        MECHANICS, "memory",
    )  # fmt: skip
    pieces, w = 64, 90.0
    propped = Line(np.linspace(0, L, pieces + 1), SLENDER, fixed=[0], simple=[pieces])
    propped.put(forces=lumped(pieces, w))
    both = Line(np.linspace(0, L, pieces + 1), SLENDER, fixed=[0, pieces], simple=[])
    both.put(forces=lumped(pieces, w))
    for what, expected, got in (
        ("propped cantilever, uniform load: 3 / 8 and 5 / 8 of it on the supports", [3 / 8, 5 / 8],
         [-propped.reaction(k)[0] / (w * L) for k in (pieces, 0)]),
        ("propped cantilever, uniform load: moment 1 / 8 w L^2 of the wall, over it", 1 / 8,
         -propped.reaction(0)[1] / (w * L**2)),
        ("fixed ends, uniform load: moment 1 / 12 w L^2 of the walls and 1 / 24 in the middle, over it",
         [1 / 12, 1 / 24], [-both.reaction(0)[1] / (w * L**2), -both.moment_before(pieces // 2) / (w * L**2)]),
        ("fixed ends, uniform load: deflection in the middle over w L^4 / EI", 1 / 384,
         both.deflections()[pieces // 2] * EI / (w * L**4)),
    ):  # fmt: skip
        outside(what, source=FORMULAS, seen="read", expected=_nine(expected), got=got, relative=1e-3,
                reason="lumped at 65 stations, second order")  # fmt: skip


def test_three_supports_and_more(outside: Outside) -> None:
    P = 200.0
    two = Line([0, L / 2, L, 2 * L], SLENDER, fixed=[], simple=[0, 2, 3])
    two.put(forces=[(1, P)])
    stated(
        outside,
        [
            ("three supports, one span loaded in its middle: reactions 13, 22 and -3 of 32", [13, 22, -3],
             [-32 * two.reaction(k)[0] / P for k in (0, 2, 3)]),
            ("three supports, one span loaded in its middle: moments 13 / 64 and 3 / 32 P L, over it",
             [-13 / 64, 3 / 32], [two.moment_before(k) / (P * L) for k in (1, 2)]),
        ],
        TWO_SPANS, "read",
    )  # fmt: skip
    for spans, parts in ((2, (3, 10, 3)), (3, (4, 11, 11, 4)), (4, (11, 32, 26, 32, 11))):
        pieces, whole = 32 * spans, {2: 8, 3: 10, 4: 28}[spans]
        bar = Line(np.linspace(0, L * spans, pieces + 1), SLENDER, fixed=[],
                   simple=list(range(0, pieces + 1, 32)))  # fmt: skip
        bar.put(forces=lumped(pieces, 60.0, spans))
        found = [-bar.reaction(k)[0] / (60.0 * L) * whole for k in range(0, pieces + 1, 32)]
        outside(f"{spans} equal spans, uniform load: reactions in {whole}ths of a span's load", source=FORMULAS,
                seen="read", expected=parts, got=found, relative=1e-3,
                reason="lumped at 33 stations a span, second order")  # fmt: skip


def test_against_a_reference_library(outside: Outside) -> None:
    """Fixed, on two rollers and overhanging, under two loads and a moment."""
    stations = (0, 2, 3, 5, 7, 9, 12)
    beam = Beam(12, 7, 1)
    wall, turn = beam.apply_support(0, "fixed")
    rollers = [beam.apply_support(place, "roller") for place in (5, 9)]
    # Its forces and deflections are positive upward as ours, its applied moments clockwise; the bending moment
    # that it names is -E I y'' once its loads are positive upward.
    beam.apply_load(3, 3, -1)
    beam.apply_load(-2, 12, -1)
    beam.apply_load(4, 7, -2)
    beam.solve_for_reaction_loads(wall, turn, *rollers)
    x = sympy.Symbol("x")
    deflected, turned = (
        [float(curve.subs(x, s)) for s in stations] for curve in (beam.deflection(), beam.slope())
    )
    moment = [-float(sympy.limit(beam.bending_moment(), x, s, "-")) for s in stations[1:]]
    given = {k: float(v) for k, v in beam.reaction_loads.items()}
    section = replace(SLENDER, area=7 / E * 1e3, about_y=7 / E, about_z=7 / E, torsion=7 / E)
    bar = Line(stations, section, fixed=[0], simple=[3, 5])
    bar.put(forces=[(2, 3.0), (6, -2.0)], moments=[(4, -4.0)])
    for what, expected, got in (
        ("deflections at 0, 2, 3, 5, 7, 9 and 12 m, m", deflected, bar.deflections()),
        ("slopes, rad", turned, bar.slopes()),
        ("moment E I y'' before each station, N m", moment, [bar.moment_before(k) for k in range(1, 7)]),
        ("reactions, N, and moment of the wall, N m",
         [given[wall], *(given[r] for r in rollers), -given[turn]],
         [bar.reaction(0)[0], bar.reaction(3)[0], bar.reaction(5)[0], bar.reaction(0)[1]]),
    ):  # fmt: skip
        outside(f"beam of 12 m, EI 7 N m2, fixed, on two rollers and overhanging: {what}", source=SYMPY,
                seen="computed", expected=_nine(expected), got=got, relative=SOLVED, reason=ROUNDING)  # fmt: skip


def joined(points: Sequence[Array], across: Sequence[Array], section: Section) -> Frame:
    """Give a frame of bars end to end."""
    members: list[Member] = []
    for k, (start, end) in enumerate(pairwise(points)):
        x = (end - start) / np.linalg.norm(end - start)
        axes = np.column_stack([x, across[k], np.cross(x, across[k])])
        members.append(Member("bar", k, k + 1, axes, float(np.linalg.norm(end - start)), section, E))
    return Frame(np.array(points), tuple(members))


def test_bent_cantilever(outside: Outside) -> None:
    """A bar of two legs at a right angle, the tip loaded square to both: bending and torsion."""
    a, b, P = 0.7, 0.4, 120.0
    x, y, z = TURN.T
    frame = joined([START, START + a * x, START + a * x + b * y], [z, z], ROUND)
    on = held(frame, [Support("wall", 0, np.eye(6))])
    loads = np.zeros(18)
    loads[12:15] = P * z
    moved = on.by_load @ loads
    GJ = G * ROUND.torsion
    inside = on.frame.end_loads(moved)
    stated(
        outside,
        [
            ("bent cantilever, load square to its plane: P (a^3 + b^3) / 3 EI + P a b^2 / G J + shear, m",
             P * (a**3 + b**3) / (3 * EI) + P * a * b**2 / GJ + P * (a + b) / SHEAR, moved[12:15] @ z),
            ("bent cantilever, load square to its plane: turns of the tip about both legs, rad",
             [P * b**2 / (2 * EI) + P * a * b / GJ, -P * a**2 / (2 * EI)], [moved[15:18] @ x, moved[15:18] @ y]),
            ("bent cantilever, load square to its plane: twist P b in the first leg, moment P a at the wall, N m",
             [P * b, P * a], [inside[0, 0, 3], np.linalg.norm(inside[0, 0, 4:])]),
        ],
        "Castigliano's second theorem, written out", "computed",
    )  # fmt: skip


def test_portal(outside: Outside) -> None:
    """Two hinged feet, a load in the middle of the beam: the thrust of the feet."""
    h, span, P = 0.9, 1.4, 250.0
    section = replace(SLENDER, area=ROUND.area * 1e5)
    x, y, z = TURN.T
    points = [START, START + h * y, START + h * y + span / 2 * x, START + h * y + span * x, START + span * x]
    frame = joined(points, [z] * 4, section)
    still = np.vstack([np.hstack([TURN.T, np.zeros((3, 3))]), [*np.zeros(3), *x]])
    feet = [Support("near", 0, still), Support("far", 4, np.hstack([TURN.T, np.zeros((3, 3))]))]
    loads = np.zeros(30)
    loads[12:15] = -P * y
    thrust = (held(frame, feet).carried @ loads)[0]
    outside("portal on hinged feet, load P in the middle of its beam: thrust 3 P L / 8 h (2 h / L + 3), N",
            source="textbooks of frames (Kleinlogel)", seen="memory",
            expected=_nine(3 * P * span / (8 * h * (2 * h / span + 3))), got=thrust, relative=1e-7,
            reason="stretch a hundred thousandth of the bar's, but not none")  # fmt: skip


def test_frame_of_flat_bars_in_space(outside: Outside) -> None:
    """Three flat bars, each square to the others, from a wall; then its tip held by two springs."""
    steps = (np.array([0.5, 0, 0]), np.array([0, 0.3, 0]), np.array([0, 0.1, -0.6]))
    points = [START, *(START + np.sum(steps[: k + 1], axis=0) for k in range(3))]
    across = [np.array([0, 0.6, 0.8]), np.array([0.8, 0, -0.6]), np.array([1.0, 0, 0])]
    frame = joined(points, across, FLAT)
    soft = rectangle_softness(0.01, 0.05, E, FLAT.torsion)
    bars = [Bar(points[k], points[k + 1], across[k], soft) for k in range(3)]
    rows = [tuple(r) for r in np.eye(3)]
    six = [*(Push(0, r) for r in rows), *(Push(0, (0, 0, 0), r) for r in rows)]
    tip = [*(Push(3, r) for r in rows), *(Push(3, (0, 0, 0), r) for r in rows)]
    flexible = flexibility(bars, six, [*tip, Push(3, (1, 0, 0)), Push(3, (0, 0, 1))])
    wall = Support("wall", 0, np.eye(6))
    free = held(frame, [wall])
    spring = Support("springs", 3, np.eye(6)[[0, 2]], give=2e-6)
    sprung = held(frame, [wall, spring])
    left, back = forced(flexible, 2, 2e-6)
    loads = np.array([40.0, -25.0, 60.0, 3.0, -5.0, 2.0])
    whole = np.concatenate([np.zeros(18), loads])
    stated(
        outside,
        [
            ("three flat bars in space from a wall: displacements of the loaded tip, m",
             flexible[:3, :6] @ loads, free.by_load[18:21] @ whole),
            ("three flat bars in space from a wall: turns of the loaded tip, rad",
             flexible[3:6, :6] @ loads, free.by_load[21:24] @ whole),
            ("the same on two springs: displacements, m", left[:3] @ loads, sprung.by_load[18:21] @ whole),
            ("the same on two springs: their forces, N", back @ loads,
             (sprung.carried @ whole)[sprung.rows("springs")]),
        ],
        "Castigliano's second theorem on a free body, apart from the program", "computed",
    )  # fmt: skip
