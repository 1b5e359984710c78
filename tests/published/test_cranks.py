"""The built-up crankshaft against Castigliano's theorem, and bearings off line or loose against beam formulas.

`castigliano.py` works in standing axes with the crank turned, from free bodies; the program in turning ones, from
a stiffness. One throw is written out by hand too.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest
from castigliano import Bar, Built, Push, Throw, flexibility, forced, saint_venant, statics
from evidence import Outside, Value
from scipy.optimize import minimize

from models.loading import load
from models.mechanism import Side, Station, Weight
from models.resolve import mechanism
from sim.arrays import Array
from sim.shaft.bending import SOFT, Bent, bent
from sim.shaft.crank import MIDDLE, OUTER, throw
from sim.shaft.frame import rectangle_section

MODELS = Path(__file__).parents[2] / "models"
THEOREM = "Castigliano's second theorem on a free body, apart from the program"
BY_HAND = "Castigliano's second theorem, written out for one throw"
TABLES = "any mechanics-of-materials table of beams, superposed"
TWIST = "the webs' torsion constant is within 8e-5 of the exact one at 5 to 1"
SOLVED = 1e-9
"""Relative; the same theory from equations whose stiffnesses differ by a million."""
TURN = np.array([0.0, 0.7, 1.9, 3.3, 5.1])
"""Crank angles, rad."""
GRAVITY = 9.81


def demo(changes: dict[str, object] | None = None) -> Side:
    return mechanism(load(MODELS / "manta.toml", changes or {})).sides[0]


@dataclass(frozen=True)
class Released:
    """A crank on its first bearing, its outermost and its coupling, as a chain at one crank angle."""

    bars: list[Bar]
    number: dict[float, int]
    six: list[Push]

    def push(self, place: float, direction: int) -> Push:
        """Give a unit force forward, out or up."""
        return Push(self.number[place], tuple(np.eye(3)[direction]))

    def pushes(self, places: Sequence[float]) -> list[Push]:
        return [self.push(y, k) for y in places for k in range(3)]


def released(side: Side, angle: float, exact: bool, places: Sequence[float] = ()) -> Released:
    """Give a side's crank for Castigliano's theorem; `exact` takes Saint-Venant's torsion constant."""
    c = side.crank
    torsion = None if exact else rectangle_section(c.cheek.thickness, c.cheek.width).torsion
    built = Built(c.shaft, c.pin, c.cheek.width, c.cheek.thickness, c.cheek.gap, c.material.modulus, torsion)
    throws = [
        Throw(p.throw_out, p.throw_radius, p.throw_angle + side.key_angle + angle)
        for p in sorted(side.panels, key=lambda p: p.throw_out)
    ]
    first, far = c.bearings
    stops = sorted({*c.ends, *(s.out for s in c.stations), sum(c.bearings) / 2, *places})
    bars, number = built.chain(throws, stops)
    ways = [(first, 0), (first, 1), (first, 2), (far, 0), (far, 2)]
    six = [Push(number[y], tuple(np.eye(3)[k])) for y, k in ways]
    return Released(bars, number, [*six, Push(0, moment=(0.0, 1.0, 0.0))])


def digits(value: Value, count: int = 10) -> Value:
    """Round what is worked out here, alike on every machine."""
    rounded = [float(f"{x:.{count}g}") for x in np.ravel(np.asarray(value, dtype=float))]
    return rounded[0] if np.ndim(value) == 0 else rounded


def both_ways(
    outside: Outside, what: str, exact: Array, same: Array, got: Array, source: str = THEOREM
) -> None:
    """Check with the exact torsion constant, and to rounding with the program's."""
    outside(what, source=source, seen="computed", expected=digits(exact, 7), got=np.ravel(got), relative=1e-4,
            reason=TWIST)  # fmt: skip
    np.testing.assert_allclose(got, same, rtol=SOLVED, atol=SOLVED * np.abs(same).max())


def one_throw() -> Side:
    """Give a crank of one throw in the middle between its bearings, its throw's angle 40 deg."""
    side = demo()
    panel = replace(side.panels[0], throw_angle=np.radians(40), throw_out=0.5)
    crank = replace(
        side.crank, stations=(Station(0.3, "post", None), Station(0.7, "arm", None)), ends=(0.3, 0.7)
    )
    return replace(side, panels=(panel,), crank=crank)


def written_out(side: Side, torsion: float) -> tuple[float, float]:
    """Give the deflection per load at the middle of the pin: in the crank's plane, and square to it, m/N."""
    c = side.crank
    E, R, h = c.material.modulus, side.panels[0].throw_radius, (c.cheek.gap + c.cheek.thickness) / 2
    a, G = 0.2 - h, E / 2.6
    b, t = c.cheek.width, c.cheek.thickness
    Is, A = np.pi * c.shaft**4 / 64, np.pi * c.shaft**2 / 4
    i, ap = np.pi * c.pin**4 / 64, np.pi * c.pin**2 / 4
    kr, kw = 6 * 1.3 / 8.8, 10 * 1.3 / 15.3
    # Half the load on each bearing; moments P x / 2 along shaft and pin.
    beam = 2 * (a**3 / (12 * E * Is) + a / (4 * kr * G * A))
    beam += 2 * (((a + h) ** 3 - a**3) / (12 * E * i) + h / (4 * kr * G * ap))
    plane = beam + 2 * (a**2 / 4 * R / (E * b * t**3 / 12) + R / (4 * E * b * t))
    # Square to it the coupling takes P R: it twists the inner shaft, and bends the inner web by P (R - z / 2)
    # and the outer by P z / 2 at z from the shaft; both webs twist by P a / 2, the pin by P R / 2.
    square = beam + R**2 * a / (2 * G * Is) + 2 * (h * R**2 / 4 / (2 * G * i))
    square += 2 * (a**2 / 4 * R / (G * torsion) + R / (4 * kw * G * b * t))
    square += (7 + 1) * R**3 / 12 / (E * t * b**3 / 12)
    return plane, square


def test_one_throw(outside: Outside) -> None:
    side, P = one_throw(), 300.0
    c = side.crank
    angle = side.panels[0].throw_angle + TURN
    for what, along, k in (
        ("in the crank's plane", np.stack([np.sin(angle), 0 * angle, np.cos(angle)], -1), 0),
        ("square to it", np.stack([np.cos(angle), 0 * angle, -np.sin(angle)], -1), 1),
    ):
        found = bent(side, {side.panels[0].name: P * along}, TURN, gravity=0.0)
        got = np.sum(found.deflection(found.crank.node(throw(side.panels[0].name))) * along, axis=1)
        webs = rectangle_section(c.cheek.thickness, c.cheek.width).torsion
        exact = saint_venant(c.cheek.width, c.cheek.thickness)
        both_ways(outside, f"one throw in the middle, 300 N on the pin {what}: deflection there at five angles, m",
                  np.full(5, P * written_out(side, exact)[k]), np.full(5, P * written_out(side, webs)[k]), got,
                  BY_HAND)  # fmt: skip
        chain = released(side, 0.0, exact=True)
        flexible = flexibility(chain.bars, chain.six, chain.pushes([0.5]))
        theorem = along[0] @ flexible @ along[0]
        # The two outside ways against each other.
        assert theorem == pytest.approx(written_out(side, exact)[k], rel=1e-12)


def loads_on(side: Side) -> dict[str, Array]:
    """Give loads on the pins in general directions."""
    shapes = {
        side.panels[0].name: ((150.0, 20.0, -420.0), (-60.0, 10.0, 90.0)),
        side.panels[1].name: ((-230.0, -35.0, 310.0), (120.0, 5.0, 260.0)),
    }
    return {name: np.array(one) + np.outer(np.sin(3 * TURN), other) for name, (one, other) in shapes.items()}


def from_chain(side: Side, places: Sequence[float], exact: bool) -> tuple[Array, Array]:
    """Give displacements (n, places, 3) and the six reactions (n, 6) by the unit-load theorem."""
    given = loads_on(side)
    pins = [p.throw_out for p in side.panels]
    moved: list[Array] = []
    pushed: list[Array] = []
    for k, angle in enumerate(TURN):
        chain = released(side, float(angle), exact)
        load = np.concatenate([given[p.name][k] for p in side.panels])
        pushes = chain.pushes([*pins, *places])
        flexible = flexibility(chain.bars, chain.six, pushes)
        moved.append((flexible[:, : len(load)] @ load).reshape(-1, 3))
        pushed.append(np.sum([s * statics(chain.bars, chain.six, p)
                              for p, s in zip(pushes, load, strict=False)], axis=0))  # fmt: skip
    return np.array(moved), np.array(pushed)


def test_the_demos_crankshaft(outside: Outside) -> None:
    """Two throws at different angles and radii, loads on both pins in general directions, a key angle."""
    side = replace(demo(), key_angle=0.2)
    middle, end = sum(side.crank.bearings) / 2, side.crank.ends[1]
    found = bent(side, loads_on(side), TURN, gravity=0.0)
    exact, pushed = from_chain(side, [middle, end], exact=True)
    same, _ = from_chain(side, [middle, end], exact=False)
    for k, label in enumerate((throw("inner"), throw("outer"), MIDDLE, OUTER)):
        got = found.deflection(found.crank.node(label))
        both_ways(outside, f"the demo's crankshaft, both pins loaded: {label} at five angles, m",
                  exact[:, k], same[:, k], got)  # fmt: skip
    near, far = (-found.bearing_force(k) for k in (1, 2))
    got = np.column_stack([near, far[:, [0, 2]], found.torque])
    outside("the demo's crankshaft, both pins loaded: forces of bearings, N, and torque, N m, at five angles",
            source="statics of the turned crank", seen="computed", expected=digits(np.ravel(pushed)),
            got=np.ravel(got), relative=SOLVED, reason="statics")  # fmt: skip


@pytest.mark.parametrize("stiffness", [None, 2e6])
def test_the_demos_crankshaft_on_three_bearings(outside: Outside, stiffness: float | None) -> None:
    """The middle bearing's two forces are the unknowns of the force method."""
    centre = {"out": "590 mm", "on": "arm"} | ({} if stiffness is None else {"stiffness": "2 kN/mm"})
    side = demo({"crank.bearings": ["250 mm", centre, "930 mm"]})
    rest = "rigid" if stiffness is None else "2 kN/mm"
    found = bent(side, loads_on(side), TURN, gravity=0.0)
    pins = [p.throw_out for p in side.panels]
    given = loads_on(side)
    moved: dict[bool, list[Array]] = {True: [], False: []}
    pushed: dict[bool, list[Array]] = {True: [], False: []}
    for k, angle in enumerate(TURN):
        load = np.concatenate([given[p.name][k] for p in side.panels])
        for exact in (True, False):
            chain = released(side, float(angle), exact)
            held = [chain.push(0.59, way) for way in (0, 2)]
            flexible = flexibility(chain.bars, chain.six, [*chain.pushes(pins), *held])
            left, back = forced(flexible, 2, 0.0 if stiffness is None else 1 / stiffness)
            moved[exact].append((left @ load).reshape(-1, 3))
            pushed[exact].append(back @ load)
    got = -found.bearing_force(2)[:, [0, 2]]
    both_ways(outside, f"the demo's crankshaft on a third bearing ({rest}): its force at five angles, N",
              np.array(pushed[True]), np.array(pushed[False]), got)  # fmt: skip
    for p, label in enumerate((throw("inner"), throw("outer"))):
        got = found.deflection(found.crank.node(label))
        both_ways(outside, f"the demo's crankshaft on a third bearing ({rest}): {label} at five angles, m",
                  np.array(moved[True])[:, p], np.array(moved[False])[:, p], got)  # fmt: skip


def test_own_weight(outside: Outside) -> None:
    """Bars in short lengths, each web a point on its own middle, counterweight and coupling."""
    side = demo()
    c = side.crank
    density = c.material.density
    stops = [float(y) for y in np.arange(0.1925, 0.95, 0.005)]
    w = c.weights[0]
    found = bent(replace(side, crank=replace(c, elements=64)), {}, TURN, gravity=GRAVITY)
    coarse = bent(side, {}, TURN, gravity=GRAVITY)
    want: list[Array] = []
    for angle in TURN:
        chain = released(side, float(angle), exact=True, places=[*stops, w.out])
        half = (c.cheek.gap + c.cheek.thickness) / 2
        weights: list[tuple[Push, float]] = []
        bar = density * np.pi / 4 * c.shaft**2 * 0.005
        for y in stops:
            if all(abs(y - p.throw_out) > half + c.cheek.thickness / 2 for p in side.panels):
                weights.append((Push(chain.number[y], (0, 0, -1)), bar))
        for p in side.panels:
            pin = chain.number[p.throw_out]
            weights.append((Push(pin, (0, 0, -1)), density * np.pi / 4 * c.pin**2 * c.cheek.gap))
            web = density * c.cheek.width * c.cheek.thickness * (p.throw_radius + c.cheek.width)
            weights += [(Push(pin + k, (0, 0, -1)), web) for k in (-2, 2)]
        aside = w.radius * np.sin(w.angle + angle)
        weights.append((Push(chain.number[w.out], (0, 0, -1), (0.0, float(aside), 0.0)), w.mass))
        weights.append((Push(0, (0, 0, -1)), c.coupling.mass))
        places = [sum(c.bearings) / 2, *(p.throw_out for p in side.panels)]
        pushes = [*chain.pushes(places), *(p for p, _ in weights)]
        flexible = flexibility(chain.bars, chain.six, pushes)
        want.append(flexible[:9, 9:] @ np.array([GRAVITY * m for _, m in weights]))
    for name, shaft, relative, why in (
        ("64 pieces", found, 2e-3, "bars in lengths of 5 mm; torsion constant of the webs"),
        ("8 pieces", coarse, 1e-2, "bars in 8 pieces"),
    ):
        got = np.concatenate([shaft.deflection(shaft.crank.node(x))
                              for x in (MIDDLE, throw("inner"), throw("outer"))], axis=1)  # fmt: skip
        outside(f"the demo's crankshaft in {name} under its own weight: mid-span and pins at five angles, m",
                source=THEOREM, seen="computed", expected=digits(np.ravel(want)), got=np.ravel(got),
                relative=relative, reason=why)  # fmt: skip


# A straight shaft on three bearings: no throws, 1 m between the outer ones.
SPAN = 1.0
LEVEL = np.array([0.0, 0.0, 1.0])


def straight(stations: tuple[Station, ...], weight: float = 0.0) -> Side:
    side = demo()
    crank = replace(
        side.crank, stations=stations, ends=(0.0, SPAN), coupling=replace(side.crank.coupling, mass=0.0),
        weights=(Weight(weight, 0.0, 0.0, SPAN / 2),) if weight else (), elements=64,
    )  # fmt: skip
    return replace(side, panels=(), crank=crank)


def middle_softness(side: Side) -> float:
    """Give L^3 / 48 EI + L / 4 k G A, m/N."""
    E, d = side.crank.material.modulus, side.crank.shaft
    k = 6 * 1.3 / 8.8
    return float(SPAN**3 / (48 * E * np.pi * d**4 / 64) + SPAN / (4 * k * E / 2.6 * np.pi * d**2 / 4))


def weigh(side: Side, load: float) -> float:
    """Give the sag of the middle on two bearings, 5 w L^4 / 384 EI + w L^2 / 8 k G A and of a load there, m."""
    E, d = side.crank.material.modulus, side.crank.shaft
    area = np.pi * d**2 / 4
    w = side.crank.material.density * area * GRAVITY
    k = 6 * 1.3 / 8.8
    own = 5 * w * SPAN**4 / (384 * E * np.pi * d**4 / 64) + w * SPAN**2 / (8 * k * E / 2.6 * area)
    return float(own + load * GRAVITY * middle_softness(side))


def three(clearance: float = 0.0, stiffness: float | None = None, forward: float = 0.0, up: float = 0.0,
          weight: float = 0.0, ends: float = 0.0) -> tuple[Side, Bent]:  # fmt: skip
    """Bend a straight shaft whose middle bearing is off line or loose; `ends` is the clearance of the others."""
    outer = (Station(0.0, "post", None, ends), Station(SPAN, "arm", None, ends))
    side = straight((*outer, Station(SPAN / 2, "arm", stiffness, clearance, forward, up)), weight)
    return side, bent(side, {}, TURN, gravity=GRAVITY if weight else 0.0)


def test_bearings_off_line(outside: Outside) -> None:
    down = 8e-4
    side, found = three(up=-down)
    E, d = side.crank.material.modulus, side.crank.shaft
    bare = 48 * E * np.pi * d**4 / 64 * down / SPAN**3
    # What the lowered bearing puts on the shaft is downward: the shaft pulls it up.
    outside("straight shaft on three bearings, the middle one lowered by .8 mm: its load 48 E I d / L^3, N",
            source=TABLES, seen="memory", expected=digits(np.outer(np.ones(5), bare * LEVEL).ravel()),
            got=found.bearing_force(3).ravel(), relative=3e-3,
            reason="shear, 2.2 (d / L)^2, softens it by .14 %")  # fmt: skip
    force = down / middle_softness(side)
    for k, share in ((3, 1.0), (1, -0.5), (2, -0.5)):
        outside(f"the same, bearing {k}, with shear added, N", source=TABLES, seen="memory",
                expected=digits(np.outer(np.ones(5), share * force * LEVEL).ravel()),
                got=found.bearing_force(k).ravel(), relative=SOLVED, reason="closed form")  # fmt: skip
    side, found = three(up=-down, stiffness=3e5, weight=5.0)
    rest = (weigh(side, 5.0) - down) / (middle_softness(side) + 1 / 3e5)
    outside("the same on a support of .3 kN/mm, weight and 5 kg in the middle: load of the middle one, N",
            source=TABLES, seen="memory", expected=digits([rest] * 5), got=-found.bearing_force(3)[:, 2],
            relative=2e-4, reason="weight lumped in 64 pieces")  # fmt: skip


def test_clearance_of_a_middle_bearing(outside: Outside) -> None:
    """The shaft sags until it lies on the bush; one that is far enough off carries nothing."""
    clearance, stiffness = 4e-4, 1e8
    side, found = three(clearance, stiffness, weight=20.0)
    sag = weigh(side, 20.0)
    rest = (sag - clearance / 2) / (middle_softness(side) + 1 / stiffness)
    assert rest > 100 * SOFT
    loose = "straight shaft of 1 m, 20 kg in its middle, a middle bearing with .4 mm of clearance"
    outside(f"{loose}: its load, N", source=TABLES, seen="memory", expected=digits([rest] * 5),
            got=-found.bearing_force(3)[:, 2], relative=5e-4,
            reason="weight lumped in 64 pieces; half a newton of softness at the touch")  # fmt: skip
    _, wide = three(2 * sag + 2e-4, stiffness, weight=20.0)
    outside("the same with more clearance than it sags: its load, N", source=TABLES, seen="memory", expected=0.0,
            got=np.linalg.norm(wide.bearing_force(3), axis=1).max(), absolute=4 * SOFT,
            reason="softness at the touch: r / sqrt(r^2 + .5^2) of the clearance reached")  # fmt: skip
    forward = 3e-4
    side, aside = three(clearance, stiffness, forward=forward, weight=20.0)
    off = np.array([-forward, -sag])
    reach = np.linalg.norm(off)
    both = off / reach * (reach - clearance / 2) / (middle_softness(side) + 1 / stiffness)
    outside(f"{loose}, .3 mm forward: its load forward and up, N", source=TABLES, seen="memory",
            expected=digits(np.tile(both, 5)), got=aside.bearing_force(3)[:, [0, 2]].ravel(), relative=5e-4,
            reason="weight lumped in 64 pieces; half a newton of softness at the touch")  # fmt: skip
    # Equal clearances and weight alone: all three bushes are reached and nothing but the give is different.
    side, equal = three(clearance, None, weight=20.0, ends=clearance)
    soft, give = middle_softness(side), 1 / 5e7
    mass = side.crank.material.density * np.pi / 4 * side.crank.shaft**2 * SPAN + 20.0
    # The ends give under half of what the middle leaves: sag - r soft = r give - (W - r) / 2 give.
    rest = (weigh(side, 20.0) + mass * GRAVITY / 2 * give) / (soft + 1.5 * give)
    outside("the same clearance in all three: load of the middle one, N", source=TABLES, seen="memory",
            expected=digits([rest] * 5), got=-equal.bearing_force(3)[:, 2], relative=5e-4,
            reason="weight lumped in 64 pieces; half a newton of softness at the touch")  # fmt: skip


def test_clearances_by_least_complementary_energy(outside: Outside) -> None:
    """The demo on three loose bearings off line: the third one's force makes the complementary energy least.

    Energy of the bent shaft, plus of bushes that give, plus clearance / 2 times each force, less each force
    times how far its bearing is off line.
    """
    clearance, stiffness = (2e-4, 3e-4, 1.5e-4), 2e7
    side = demo({"crank.bearings": ["250 mm", "590 mm", "930 mm"]})
    offs = ((0.0, 0.0), (3e-4, -2e-4), (0.0, 4e-4))
    stations = tuple(
        replace(s, clearance=c, stiffness=stiffness, forward=off[0], up=off[1])
        for s, c, off in zip(side.crank.stations, clearance, offs, strict=True)
    )
    side = replace(side, crank=replace(side.crank, stations=stations))
    found = bent(side, loads_on(side), TURN, gravity=0.0)
    given = loads_on(side)
    pins = [p.throw_out for p in side.panels]
    want: list[Array] = []
    for k, angle in enumerate(TURN):
        chain = released(side, float(angle), exact=False)
        load = np.concatenate([given[p.name][k] for p in side.panels])
        pushes = [*chain.pushes(pins), *(chain.push(0.59, way) for way in (0, 2))]
        flexible = flexibility(chain.bars, chain.six, pushes)
        carried = np.array([statics(chain.bars, chain.six, p) for p in pushes]).T

        def energy(
            third: Array, flexible: Array = flexible, carried: Array = carried, load: Array = load
        ) -> float:
            whole = np.concatenate([load, third])
            six = carried @ whole
            forces = (six[[0, 2]], third, six[[3, 4]])
            total = whole @ flexible @ whole / 2 + six[1] ** 2 / (2 * stiffness)
            for force, c, off in zip(forces, clearance, offs, strict=True):
                size = np.sqrt(force @ force + SOFT**2)
                total += force @ force / (2 * stiffness) + c / 2 * size - force @ np.array(off)
            return float(1e3 * total)

        best = minimize(energy, np.zeros(2), method="Nelder-Mead",
                        options={"xatol": 1e-7, "fatol": 1e-14, "maxiter": 4000})  # fmt: skip
        want.append(best.x)
    rounded = [round(float(x), 2) for x in np.ravel(want)]
    outside("the demo's crankshaft on three loose bearings off line: force of the middle one at five angles, N",
            source="least complementary energy over Castigliano's chain, by scipy.optimize", seen="computed",
            expected=rounded, got=-found.bearing_force(2)[:, [0, 2]].ravel(), relative=1e-4,
            reason="a hundredth of a newton, past which the energy hardly tells")  # fmt: skip
    assert np.abs(want).max() > 50
