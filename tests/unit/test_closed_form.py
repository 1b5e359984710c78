"""Energy, torque and joint forces of a side from closed form, against each other and hand calculations."""

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.loading import load
from models.mechanism import Mechanism
from models.resolve import mechanism
from sim import names
from sim.closed_form import gravity_torque, moving_parts, potential, reduced_inertia
from sim.linkage import close
from sim.mass import crank_mass, crank_pieces, joined, plate_mass, rod_mass, sprocket_mass, wheel_mass
from sim.statics import statics
from sim.swivel import swivel

MODELS = Path(str(files("models")))
CRANK = np.linspace(0, 2 * np.pi, 361)
G = 9.81


@pytest.fixture(scope="module")
def manta() -> Mechanism:
    return mechanism(load(MODELS / "manta.toml"))


def test_torque_is_the_slope_of_the_potential(manta: Mechanism) -> None:
    # Central differences with d = 1e-4 are good to d^2 of the third derivative, about 1e-6 of the peak.
    d = 1e-4
    linkage = close(manta.sides[0])
    low, high = (potential(moving_parts(linkage, CRANK + k * d), G) for k in (-1, 1))
    torque = gravity_torque(moving_parts(linkage, CRANK), G)
    np.testing.assert_allclose((high - low) / (2 * d), torque, atol=2e-6 * np.abs(torque).max())


def test_inertia_from_rates_of_every_part(manta: Mechanism) -> None:
    """The spins used for the inertia are those that turn the rods: e' = spin x e."""
    d = 1e-5
    linkage = close(manta.sides[0])
    parts = {p.name: p for p in moving_parts(linkage, CRANK)}
    for a, b, c in zip(*(linkage.course(CRANK + k * d) for k in (-1, 0, 1)), strict=True):
        before, after = ((x.yoke.value - x.pin.value) / x.panel.rod.length for x in (a, c))
        along = (b.yoke.value - b.pin.value) / b.panel.rod.length
        spin = parts[f"{b.panel.name} rod"].spin
        np.testing.assert_allclose((after - before) / (2 * d), np.cross(spin, along), atol=1e-8)
        # and along the rod it follows the panel, as the spin lock makes it
        panel = parts[f"{b.panel.name} panel"].spin
        np.testing.assert_allclose(np.sum(spin * along, 1), np.sum(panel * along, 1), atol=1e-12)
    assert np.all(reduced_inertia(tuple(parts.values())) > 0)


def test_static_forces_balance_every_part(manta: Mechanism) -> None:
    """Each part in balance: the torque found by moments equals that found from energy."""
    linkage = close(manta.sides[0])
    found = statics(linkage, CRANK, G, manta.friction)
    parts = {p.name: p for p in moving_parts(linkage, CRANK)}
    torque = np.zeros(len(CRANK))
    for course in linkage.course(CRANK):
        pin = found.forces[names.crank_eye("left", course.panel.name)]
        torque -= np.cross(course.pin.value, pin)[:, 1]
    shaft = parts["crankshaft"]
    torque -= np.cross(shaft.com.value, np.array([0, 0, -shaft.mass * G]))[:, 1]
    # Two independent ways, both exact: only rounding remains.
    np.testing.assert_allclose(torque, found.torque, atol=1e-10)
    total = sum(found.forces[f("left")] for f in (names.locating, names.radial))
    total = total + found.forces[names.hinge("left", "inner")]
    weight = sum(p.mass for p in parts.values()) * G
    np.testing.assert_allclose(total, np.tile([0, 0, -weight], (len(CRANK), 1)), atol=1e-9)


def test_friction_of_a_lone_shaft(manta: Mechanism) -> None:
    """With friction in the bushes only, the drag is mu r times both bearing loads."""
    only = replace(manta.friction, rod_end=0.0, hinge=0.0)
    found = statics(close(manta.sides[0]), CRANK, G, only)
    loads = sum(np.linalg.norm(found.forces[f("left")], axis=1) for f in (names.locating, names.radial))
    np.testing.assert_allclose(found.friction, 0.12 * 0.0127 * loads, rtol=1e-12)


def test_wheel_of_the_trade() -> None:
    # Common practice, no source: a solid steel disc 28 in across and half an inch thick weighs about 40 kg.
    # "About" is taken as a kilogram.
    text = (MODELS / "starter.toml").read_text()
    whole = load(MODELS / "starter.toml", {"wheel.diameter": "28 in", "wheel.thickness": "1/2 in"})
    assert text
    assert wheel_mass(mechanism(whole).wheel).mass == pytest.approx(40, abs=1)


def test_wheel_of_the_handbook() -> None:
    # Solid steel disc 700 mm x 10 mm: 30.210 kg, 1.8504 kg m2 about its axis (computed, 7850 kg/m3).
    whole = load(MODELS / "starter.toml", {"wheel.diameter": "700 mm", "wheel.thickness": "10 mm"})
    wheel = wheel_mass(mechanism(whole).wheel)
    assert wheel.mass == pytest.approx(30.210, abs=5e-4)
    assert wheel.inertia[1, 1] == pytest.approx(1.8504, abs=5e-5)


def test_plate_of_the_trade() -> None:
    # Common practice, no source: a half-inch steel plate of .30 m2 weighs about 30 kg.
    square = 'outline = { unit = "m", points = [[0, 0], [0.6, 0], [0.6, 0.5], [0, 0.5]] }'
    from models.loading import loads
    from models.resolve import plates

    text = f'name = "P"\nmaterial = "A36 steel"\n[[panel]]\nname = "p"\n{square}\nthickness = "1/2 in"\n'
    assert plate_mass(plates(loads(text))[0]).mass == pytest.approx(30, abs=0.5)


def test_reduction_of_the_trade() -> None:
    # Common practice, no source: two 14:42 stages are 9:1. Exact, as counted in teeth.
    stage = {"teeth": [14, 42], "pitch": "12.7 mm", "centres": "500 mm"}
    assert mechanism(load(MODELS / "manta.toml", {"stage": [stage, stage]})).reduction == 9.0


def test_pieces_add_up(manta: Mechanism) -> None:
    side = manta.sides[0]
    pieces = [p for _, p in crank_pieces(side)]
    whole = crank_mass(side)
    assert whole.mass == pytest.approx(sum(p.mass for p in pieces), rel=1e-14)
    again = joined(reversed(pieces))
    np.testing.assert_allclose(whole.inertia, again.inertia, rtol=1e-12, atol=1e-14)
    # A turn about the shaft moves the inertia with it.
    quarter = np.array([[0.0, 0, 1], [0, 1, 0], [-1, 0, 0]])
    np.testing.assert_allclose(whole.turned(quarter).com, quarter @ whole.com)


def test_rod_with_its_ends(manta: Mechanism) -> None:
    rod = manta.sides[0].panels[0].rod
    found = rod_mass(rod)
    bar = rod.density * np.pi / 4 * rod.diameter**2 * rod.length
    assert found.mass == pytest.approx(bar + 2 * rod.end_mass)
    across = bar * (rod.length**2 / 12 + rod.diameter**2 / 16) + 2 * rod.end_mass * rod.length**2 / 4
    assert found.inertia[0, 0] == pytest.approx(across)
    assert found.inertia[2, 2] == pytest.approx(bar * rod.diameter**2 / 8)


def test_sprocket_is_a_disc(manta: Mechanism) -> None:
    stage = manta.stages[0]
    found = sprocket_mass(stage.driven, stage)
    radius = stage.pitch / 2 / np.sin(np.pi / stage.driven)
    assert found.inertia[1, 1] == pytest.approx(found.mass * radius**2 / 2)


def test_swivel_by_search(manta: Mechanism) -> None:
    """The closed form finds what a fine search over the rod's spin finds."""
    course = close(manta.sides[0]).course(np.linspace(0, 2 * np.pi, 13))[1]
    for clocking, along in ((np.pi / 2, True), (0.0, True), (np.radians(65), True), (0.0, False)):
        rod = replace(course.panel.rod, clocking=clocking)
        changed = replace(course, panel=replace(course.panel, rod=rod, pin_along=along))
        first, second = swivel(changed)
        got = np.maximum(first, second)
        e = (course.yoke.value - course.pin.value) / rod.length
        crank_pin = np.array([0.0, 1, 0])
        for k in range(len(e)):
            a = course.angle.value[k]
            yoke_pin = np.array([1.0, 0, 0]) if along else np.array([0.0, np.cos(a), np.sin(a)])
            x = np.cross(e[k], [0.3, 0.2, 0.9])
            x /= np.linalg.norm(x)
            y = np.cross(e[k], x)
            spin = np.linspace(0, np.pi, 20001)[:, None]
            h1 = np.cos(spin) * x + np.sin(spin) * y
            h2 = np.cos(spin + clocking) * x + np.sin(spin + clocking) * y
            both = np.maximum(
                np.arccos(np.clip(np.abs(h1 @ crank_pin), 0, 1)),
                np.arccos(np.clip(np.abs(h2 @ yoke_pin), 0, 1)),
            )
            # The search's step of pi / 20000 leaves up to that much.
            assert got[k] == pytest.approx(both.min(), abs=np.pi / 20000)
            # Never less than the tilt of the rod out of the plane across the pin.
            assert first[k] >= np.arcsin(np.clip(abs(e[k] @ crank_pin), 0, 1)) - 1e-12
