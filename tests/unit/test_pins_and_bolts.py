"""Pins across plates and groups of bolts: closed forms, balance, and how demands and sizes go together."""

import math

import numpy as np
import pytest

from analysis.parts.bolt_group import (
    BoltLoad,
    bearing,
    bolt_checks,
    bolt_circle,
    pulls,
    resists,
    shears,
    used_up,
    worst_bolt,
)
from analysis.parts.fasteners import most_sheared
from analysis.parts.lock import diameters
from analysis.parts.pins import (
    PinLoad,
    between_plates,
    modulus,
    overhung,
    pin_checks,
    rounds,
    shear_resistance,
    system_of,
)
from models.materials import material
from models.parts.catalogue import catalogue
from models.parts.fasteners import FASTENERS, Fastener

STEEL = material("A36 steel")
PATTERN = ((-0.02, 0.025), (0.02, 0.025), (-0.02, 0.05), (0.02, 0.05))


def bolt(size: str, grade: str = "8.8") -> Fastener:
    return next(f for f in catalogue(FASTENERS) if f.size == size and f.grade == grade)


def test_the_moment_between_three_plates_is_that_of_even_pressures() -> None:
    force, middle, outer, gap = 1000.0, 0.03, 0.02, 0.002
    n = 200_000
    half = middle / 2 + gap + outer
    x = (np.arange(n) + 0.5) * half / n
    # Per length on one half of the pin: the middle plate pushes down, an outer one up.
    load = np.where(x < middle / 2, -force / middle, np.where(x > middle / 2 + gap, force / 2 / outer, 0.0))
    assert between_plates(force, middle, outer, gap) == pytest.approx(
        float(np.sum(load * x) * half / n), rel=1e-6
    )


def test_an_overhung_pin_is_a_cantilever() -> None:
    assert overhung(500.0, 0.01, 0.002) == pytest.approx(500 * 0.007)
    assert overhung(500.0, 0.01, 0.02) > overhung(500.0, 0.01, 0.002)


def test_a_pin_as_thick_as_each_check_asks_just_holds() -> None:
    load = PinLoad(plane=4000.0, moment=30.0, pressed=4000.0, thickness=0.01)
    by_shear, by_bending = diameters(load, 1.5)
    shear = pin_checks(by_shear, load, STEEL, STEEL, 1.5, "c")[0]
    bending = pin_checks(by_bending, load, STEEL, STEEL, 1.5, "c")[1]
    assert (shear.margin, bending.margin) == (pytest.approx(0, abs=1e-9), pytest.approx(0, abs=1e-9))
    # By hand: 1.5 x 4 kN over .6 x 400 MPa / 1.25, and 30 N m over .8 x 250 MPa.
    assert by_shear == pytest.approx(math.sqrt(6000 / 192e6 * 4 / math.pi))
    assert by_bending == pytest.approx((32 * 30 / math.pi / 200e6) ** (1 / 3))
    for thinner, thicker in ((0.01, 0.012), (0.012, 0.02)):
        pairs = zip(
            pin_checks(thinner, load, STEEL, STEEL, 1.5, "c"),
            pin_checks(thicker, load, STEEL, STEEL, 1.5, "c"),
            strict=True,
        )
        assert all(a.margin < b.margin for a, b in pairs)


def test_the_weaker_of_pin_and_plate_bears() -> None:
    load = PinLoad(1.0, 1.0, 1000.0, 0.01)
    soft = material("304 stainless")
    assert soft.strength < STEEL.strength
    hard, mixed = (pin_checks(0.01, load, STEEL, plate, 1.5, "c")[3] for plate in (STEEL, soft))
    assert mixed.allowed == pytest.approx(0.6 * 0.01 * 0.01 * soft.strength)
    assert hard.allowed > mixed.allowed


def test_a_pin_of_unknown_ultimate_strength_counts_by_its_yield() -> None:
    plastic = material("acetal")
    assert shear_resistance(0.01, plastic) == pytest.approx(
        0.6 * math.pi / 4 * 1e-4 * plastic.strength / 1.25
    )


def test_stock_for_pins() -> None:
    assert [r.diameter for r in rounds("metric")] == sorted(r.diameter for r in rounds("metric"))
    assert [system_of(d) for d in (0.008, 0.0125, 0.0127, 0.01905)] == ["metric", "metric", "inch", "inch"]
    with pytest.raises(ValueError, match="no system 'furlong'"):
        rounds("furlong")


@pytest.mark.parametrize("moment", [0.0, 50.0, -80.0])
def test_shears_balance_force_and_moment(moment: float) -> None:
    places = ((0.0, 0.0), (0.04, 0.01), (0.03, 0.06), (-0.02, 0.05))
    found = shears(places, (300.0, -200.0), moment)
    at = np.array(places) - np.mean(places, axis=0)
    assert found.sum(axis=0) == pytest.approx([300.0, -200.0])
    assert float(np.sum(at[:, 0] * found[:, 1] - at[:, 1] * found[:, 0])) == pytest.approx(moment)


def test_pulls_balance_while_all_pull_and_never_push() -> None:
    found = pulls(PATTERN, 4000.0, 20.0)
    away = np.array([p[1] for p in PATTERN]) - 0.0375
    assert found.sum() == pytest.approx(4000.0)
    assert float(found @ away) == pytest.approx(20.0)
    assert pulls(PATTERN, -4000.0, 0.0) == pytest.approx(np.zeros(4))
    assert pulls(PATTERN, 0.0, 100.0) == pytest.approx([0, 0, 2000, 2000])


def test_bolts_that_cannot_hold_a_moment_are_refused() -> None:
    with pytest.raises(ValueError, match="one place"):
        shears(((0.0, 0.0), (0.0, 0.0)), (1.0, 0.0), 1.0)
    with pytest.raises(ValueError, match="one row"):
        pulls(((0.0, 0.0), (0.1, 0.0)), 1.0, 1.0)


def test_the_worst_side_of_a_force_is_no_better_than_any() -> None:
    stood = resists(bolt("M6"))
    arm = 0.0375
    worst = used_up(worst_bolt(PATTERN, 2000.0, 300.0, arm, stood), stood)
    for way in np.radians([0, 17, 45, 90, 133, 180, 260, 300]):
        flat, lifted = 2000 * math.cos(way), 2000 * math.sin(way)
        sheared = np.linalg.norm(shears(PATTERN, (300.0, flat), 300 * arm), axis=1)
        pulled = pulls(PATTERN, lifted, -lifted * arm)
        any_bolt = max(used_up(BoltLoad(s, p), stood) for s, p in zip(sheared, pulled, strict=True))
        assert any_bolt <= worst * 1.001
    # Lifting the pin's side: the near row of two pulls F / 2 (1 + arm / half the rows' distance), each half of it.
    lifted_only = worst_bolt(PATTERN, 2000.0, 0.0, arm, BoltLoad(math.inf, stood.pull))
    assert lifted_only.pull == pytest.approx(2000 / 4 + 2000 * arm * 0.0125 / (4 * 0.0125**2))


def test_a_higher_shaft_pulls_more_on_its_feet() -> None:
    stood, feet = resists(bolt("M8")), ((0.0, -0.05), (0.0, 0.05))
    low, high = (
        worst_bolt(feet, 1000.0, 0.0, 0.0, BoltLoad(math.inf, stood.pull), h).pull for h in (0.0, 0.04)
    )
    assert low == pytest.approx(500.0)
    # F sin / 2 + F cos h / s, at its worst the root of both squares.
    assert high == pytest.approx(math.hypot(500.0, 1000 * 0.04 / 0.1), rel=2e-3)


def test_what_a_bolt_and_its_plate_stand() -> None:
    m10 = bolt("M10")
    assert resists(m10).pull == pytest.approx(0.9 * 800e6 * 58e-6 / 1.25)
    assert resists(m10).shear == pytest.approx(0.6 * 800e6 * m10.shear / 1.25)
    assert resists(bolt("M10", "A2-70")).shear == pytest.approx(0.5 * 700e6 * m10.shear / 1.25)
    # Far from any edge: 2.5 fu d t / 1.25; at 1.2 hole diameters ab = .4 and k1 = 1.66.
    assert bearing(m10, 0.005, 1.0, STEEL) == pytest.approx(2.5 * 400e6 * 0.01 * 0.005 / 1.25)
    near = bearing(m10, 0.005, 1.2 * 0.011, STEEL)
    assert near == pytest.approx(1.66 * 0.4 * 400e6 * 0.01 * 0.005 / 1.25)
    assert bearing(m10, 0.005, 0.5 * 0.011, STEEL) == 0.0


def test_shear_and_pull_are_used_up_together_and_pull_alone_counts_whole() -> None:
    stood = BoltLoad(1000.0, 2000.0)
    assert used_up(BoltLoad(500.0, 1400.0), stood) == pytest.approx(1.0)
    assert used_up(BoltLoad(0.0, 2000.0), stood) == pytest.approx(1.0)


def test_no_thread_below_six_millimetres_is_chosen() -> None:
    small, right = (bolt_checks(bolt(s), BoltLoad(1.0, 1.0), "c", None)[-1] for s in ("M5", "M6"))
    assert not small.holds
    assert right.holds


def test_a_circle_of_bolts_shares_a_torque_by_its_radius() -> None:
    places = bolt_circle(4, 0.08)
    assert most_sheared(places, 0.0, 80.0) == pytest.approx(80 / 4 / 0.04)
    assert most_sheared(places, 400.0, 80.0) == pytest.approx(80 / 4 / 0.04 + 100)


def test_section_modulus() -> None:
    assert modulus(0.02) == pytest.approx(math.pi * 0.02**3 / 32)
