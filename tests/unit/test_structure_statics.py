"""Simple statics of what carries a piece: against formulas by hand."""

import math
from itertools import pairwise

import numpy as np
import pytest

from analysis.structure.acting import Wrench, acting, base, sway
from analysis.structure.air import CRITICAL, SUBCRITICAL, VISCOSITY, equivalent_speed, tube_drag
from analysis.structure.body import strip_stress
from analysis.structure.bolts import bolt_shear, bolt_tension
from analysis.structure.cantilever import Cantilever
from analysis.structure.tipping import Edge, Tips, edges
from analysis.structure.tube import Tube, weld_checks
from models.making import Use, Weld
from models.materials import material
from models.structure import Arm, Stand

STEEL = material("A36 steel")
EI, HEIGHT, TOP = 3.0e6, 3.0, 3.2


def one(force: tuple[float, float, float], at: tuple[float, float, float], couple: object = None) -> Wrench:
    return base((acting(np.array(force), np.array(at), couple),), 1)


def test_a_moment_is_the_lever_times_the_force() -> None:
    w = one((3, 0, -5), (0.2, -0.4, 1.5))
    assert w.force[0] == pytest.approx([3, 0, -5])
    # y Fz - z Fy, z Fx - x Fz, x Fy - y Fx
    assert w.moment[0] == pytest.approx([2, 4.5 + 1, 1.2])
    assert w.overturning[0] == pytest.approx(math.hypot(2, 5.5))


def moved(
    force: tuple[float, float, float], at: tuple[float, float, float], couple: object = None
) -> np.ndarray:
    return sway((acting(np.array(force, dtype=float), np.array(at), couple),), HEIGHT, TOP, EI, 1)[0]


def test_a_post_sways_as_a_cantilever() -> None:
    a = 1.2
    assert moved((100, 0, 0), (0, 0, HEIGHT))[0] == pytest.approx(100 * HEIGHT**3 / (3 * EI))
    assert moved((100, 0, 0), (0, 0, a))[0] == pytest.approx(100 * a**2 * (3 * HEIGHT - a) / (6 * EI))
    # Above the top it counts there, with its couple: 100 N at 4 m are 100 N at 3.2 m and 80 N m.
    above = 100 * HEIGHT**2 * (3 * TOP - HEIGHT) / (6 * EI) + 100 * (4 - TOP) * HEIGHT**2 / (2 * EI)
    assert moved((100, 0, 0), (0, 0, 4.0))[0] == pytest.approx(above)
    assert moved((0, 100, 0), (0, 0, HEIGHT)) == pytest.approx([0, 100 * HEIGHT**3 / (3 * EI)])


def test_a_weight_off_the_axis_bends_the_post_its_own_way() -> None:
    couple = 500 * 0.4
    forward = moved((0, 0, -500), (0.4, 0, HEIGHT))
    assert forward == pytest.approx([couple * HEIGHT**2 / (2 * EI), 0])
    left = moved((0, 0, -500), (0, 0.4, HEIGHT))
    assert left == pytest.approx([0, couple * HEIGHT**2 / (2 * EI)])
    assert moved((0, 0, 0), (0, 0, 1.2), np.array([0, 50.0, 0]))[0] == pytest.approx(
        50 * 1.2 * (6 - 1.2) / (2 * EI)
    )


def test_many_pushes_sway_as_a_uniform_load() -> None:
    w, pieces = 80.0, 400
    each = HEIGHT / pieces
    loads = tuple(
        acting(np.array([w * each, 0, 0]), np.array([0, 0, (k + 0.5) * each])) for k in range(pieces)
    )
    got = sway(loads, HEIGHT, HEIGHT, EI, 1)[0, 0]
    assert got == pytest.approx(w * HEIGHT**4 / (8 * EI), rel=1e-4)


def arm(**given: object) -> Cantilever:
    sizes = {"outside": 0.06, "wall": 0.004, "material": STEEL, "up": 0.0, "forward": 0.0, "bracket": None,
             "weld": Weld()} | given  # fmt: skip
    places = sizes.pop("places", (0.8,))
    return Cantilever(Arm(**sizes), places, 9.81)


def test_an_arm_bends_as_a_cantilever() -> None:
    beam, force = arm(), np.array([[30.0, 0, -400.0]])
    stiff, length = STEEL.modulus * beam.tube.second, 0.8
    shift, turn = beam.moved([force], 0)
    assert shift[0] == pytest.approx([30 * length**3 / (3 * stiff), 0, -400 * length**3 / (3 * stiff)])
    assert turn[0] == pytest.approx([-400 * length**2 / (2 * stiff), 0, -30 * length**2 / (2 * stiff)])
    own = STEEL.density * beam.tube.area * 9.81 * length**2 / 2
    assert beam.root([force])[0] == pytest.approx([-400 * length - own, 0, -30 * length])


def test_a_bearing_over_its_arm_twists_it() -> None:
    high, length = 0.3, 0.8
    beam, force = arm(up=-high), np.array([[50.0, 0, 0]])
    tube, stiff = beam.tube, STEEL.modulus * beam.tube.second
    twist = 50 * high * length / (STEEL.shear_modulus * 2 * tube.second)
    shift, turn = beam.moved([force], 0)
    assert turn[0, 1] == pytest.approx(twist)
    assert shift[0, 0] == pytest.approx(50 * length**3 / (3 * stiff) + twist * high)
    assert beam.root([force])[0, 1] == pytest.approx(50 * high)


def test_a_bracket_adds_its_own_bending() -> None:
    width, thick, high = 0.1, 0.01, 0.3
    rigid, bent = arm(up=-high), arm(up=-high, bracket=(width, thick))
    force = np.array([[50.0, 20.0, 0]])
    more = bent.moved([force], 0)[0] - rigid.moved([force], 0)[0]
    assert more[0, 0] == pytest.approx(50 * high**3 / (3 * STEEL.modulus * thick * width**3 / 12))
    lean = bent.moved([force], 0)[1] - rigid.moved([force], 0)[1]
    assert lean[0, 0] == pytest.approx(-20 * high**2 / (2 * STEEL.modulus * width * thick**3 / 12))
    stress = bent.bracket_stress(force)
    assert stress is not None
    assert stress[0] == pytest.approx(50 * high / (thick * width**2 / 6) + 20 * high / (width * thick**2 / 6))


def test_a_bracket_that_lies_is_bent_by_what_pushes_up() -> None:
    width, thick, long = 0.08, 0.008, 0.2
    lying = arm(forward=-long, bracket=(width, thick))
    stress = lying.bracket_stress(np.array([[30.0, 20.0, -4000.0]]))
    assert stress is not None
    assert stress[0] == pytest.approx(
        4000 * long / (thick * width**2 / 6) + 20 * long / (width * thick**2 / 6) + 30 / (width * thick)
    )
    force = np.array([[0.0, 0.0, -4000.0]])
    strong = STEEL.modulus * thick * width**3 / 12
    more, lean = (
        a - b for a, b in zip(lying.moved([force], 0), arm(forward=-long).moved([force], 0), strict=True)
    )
    assert more[0] == pytest.approx([0, 0, -4000 * long**3 / (3 * strong)])
    # What hangs forward of its foot turns forward as it goes down.
    assert lean[0] == pytest.approx([0, 4000 * long**2 / (2 * strong), 0])


def test_two_bearings_on_an_arm_move_each_other_alike() -> None:
    # Maxwell: what a force at one does at the other is what it does the other way round.
    beam = arm(places=(0.3, 0.8), up=-0.2, forward=0.05)
    none, unit = np.zeros((3, 3)), np.eye(3)
    far = beam.moved([unit, none], 1)[0]
    near = beam.moved([none, unit], 0)[0]
    assert far[np.ix_([0, 2], [0, 2])] == pytest.approx(near[np.ix_([0, 2], [0, 2])].T, rel=1e-12)
    both = beam.moved([unit, unit], 1)[0]
    assert both == pytest.approx(far + beam.moved([none, unit], 1)[0])


def test_a_tube_is_a_bar_less_its_bore() -> None:
    tube, moment, axial = Tube(0.06, 0.004), np.array([[300.0, 120.0, -400.0]]), np.array([2000.0])
    second = math.pi * (0.06**4 - 0.052**4) / 64
    assert tube.second == pytest.approx(second)
    bending, shear = 500 * 0.03 / second, 120 * 0.03 / (2 * second)
    normal = bending + 2000 / tube.area
    assert tube.stress(moment, axial)[0] == pytest.approx(math.sqrt(normal**2 + 3 * shear**2))
    around = tube.surface(moment, axial)
    assert around.von_mises.max() == pytest.approx(tube.stress(moment, axial)[0], rel=1e-4)
    assert Tube(0.06, 0.0).modulus == pytest.approx(math.pi * 0.06**3 / 32)


def test_a_weld_whose_stress_is_as_allowed_lasts_just_as_long_as_wanted() -> None:
    tube, use = Tube(0.06, 0.004), Use(years=10.0)
    weld = Weld(toe="EN toe", root=None, partial=1.0)
    turns = 2e6 / use.years
    # 2 million turns in all: the class itself, 80 MPa, is what it stands.
    half = 40e6 * tube.modulus
    swing = np.array([[half, 0, 0], [-half, 0, 0]])
    (check,), notes = weld_checks(tube, weld, swing, np.zeros(2), turns, use)
    assert check.demand == pytest.approx(80e6)
    assert check.allowed == pytest.approx(80e6, rel=1e-6)
    assert any("throat" in n for n in notes)
    checks, _ = weld_checks(tube, Weld(None, None), swing, np.zeros(2), turns, use)
    assert checks == ()


def test_bolts_share_a_moment_as_a_group() -> None:
    moment, circle = 5000.0, 0.33
    for count in (4, 6, 8):
        heights = circle / 2 * np.cos(2 * np.pi * np.arange(count) / count)
        pulls = moment * heights / np.sum(heights**2)
        assert np.sum(pulls * heights) == pytest.approx(moment)
        assert bolt_tension(moment, 0.0, count, circle) == pytest.approx(pulls.max())
    assert bolt_tension(0.0, 800.0, 8, circle) == pytest.approx(-100)
    assert bolt_shear(400.0, 0.0, 8, circle) == pytest.approx(50)
    assert bolt_shear(0.0, 66.0, 8, circle) == pytest.approx(66 / (8 * circle / 2))
    with pytest.raises(ValueError, match="three or more"):
        bolt_tension(1.0, 0.0, 2, circle)


def test_a_block_tips_over_its_edges_by_hand() -> None:
    stand = Stand(((0.4, 0.5), (-0.4, 0.5), (-0.4, -0.5), (0.4, -0.5), (0.0, 0.1)), None, None)
    found = {e.words: e for e in edges(stand)}
    assert set(found) == {"front", "back", "left", "right"}
    weight = one((0, 0, -1000), (0.1, 0, 0.9))
    assert -found["front"].over(weight)[0] == pytest.approx(1000 * 0.3)
    assert -found["back"].over(weight)[0] == pytest.approx(1000 * 0.5)
    assert -found["left"].over(weight)[0] == pytest.approx(1000 * 0.5)
    push = one((100, 0, 0), (0, -0.2, 1.2))
    assert found["front"].over(push)[0] == pytest.approx(120)
    assert found["back"].over(push)[0] == pytest.approx(-120)
    assert found["left"].over(push)[0] == pytest.approx(0, abs=1e-12)
    hanging = one((0, 0, -2000), (0, 0.9, 2.0))
    assert found["left"].over(hanging)[0] == pytest.approx(2000 * 0.4)


def test_a_stand_that_falls_by_its_own_weight_fails() -> None:
    front = edges(Stand(((0.4, 0.5), (-0.4, 0.5), (-0.4, -0.5), (0.4, -0.5)), None, None))[0]
    alone = Tips(front, -140.0, 0.0, "slow-turn").check(1.5)
    assert not alone.holds
    assert alone.demand == pytest.approx(140)
    assert "own weight" in alone.note
    stands = Tips(front, 300.0, 190.0, "push").check(1.5)
    assert (stands.holds, stands.demand, stands.allowed) == (True, pytest.approx(190), pytest.approx(200))
    assert not Tips(front, 300.0, 210.0, "push").check(1.5).holds


def test_a_slanting_edge_has_its_own_lever() -> None:
    edge = Edge((1.0, 0.0), (0.0, 1.0))
    assert edge.words == "front left"
    assert -edge.over(one((0, 0, -10), (0, 0, 1)))[0] == pytest.approx(10 / math.sqrt(2))


def test_a_strip_bends_the_weak_way_by_what_pushes_it_forward() -> None:
    width, thick = 0.24, 0.015
    none = np.zeros((1, 3))
    face = strip_stress(width, thick, none, np.array([[0, 90.0, 0]]))[0]
    assert face == pytest.approx(90 * 6 / (width * thick**2))
    plane = strip_stress(width, thick, none, np.array([[90.0, 0, 0]]))[0]
    assert plane == pytest.approx(90 * 6 / (thick * width**2))
    assert strip_stress(width, thick, np.array([[0, 0, -720.0]]), none)[0] == pytest.approx(
        720 / (width * thick)
    )


def test_a_faster_wind_never_pushes_a_tube_less() -> None:
    speeds = np.linspace(1, 80, 400)
    pushes = [tube_drag(v, 0.219) * v**2 for v in speeds]
    assert all(b >= a - 1e-9 for a, b in pairwise(pushes))
    falls = CRITICAL * VISCOSITY / 0.219
    assert tube_drag(falls * 0.99, 0.219) == SUBCRITICAL
    assert tube_drag(80.0, 0.219) == pytest.approx(0.7)
    assert equivalent_speed(0.613 * 40**2) == pytest.approx(40, rel=1e-6)
