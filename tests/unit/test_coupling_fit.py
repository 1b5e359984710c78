"""Couplings between shafts that miss each other: against beams in closed form and two universal joints by vectors."""

import math
from dataclasses import replace

import numpy as np
import pytest

from analysis import coupling_fit
from analysis.coupling_fit import Misaligned, Verdict, allowed, double_cardan, joining, unevenness, verdicts
from models.coupling_kinds import coupling_kinds
from models.drive import Coupling
from sim.beam import influence, round_second_moment, slope_influence

DEG = np.pi / 180
EI = 200e9 * round_second_moment(0.0254)
SPIDER = Coupling("elastic", 0.6, 0.065, 900.0, 1.8, 0.0, 120.0, 5.0, DEG, 0.4e-3, None)
CLAMP = Coupling("clamp", 0.6, 0.065, None, 0.0, 0.0, None, 5.0, 0.0, 0.0, None)
CARDAN = Coupling(
    "double-cardan", 0.6, 0.05, None, 0.0, 0.0, None, 5.0, 25 * DEG, 0.1 * math.sin(25 * DEG), 0.1
)


def cantilever(length: float, way: int = 1) -> np.ndarray:
    """Give the flexibility of a free end: L^3 / 3, L^2 / 2, L over EI, mirrored if it comes from the other side."""
    return np.array([[length**3 / 3, way * length**2 / 2], [way * length**2 / 2, length]]) / EI


# --- Clamp ---


@pytest.mark.parametrize(("angular", "parallel"), [(0.0, 1e-3), (0.5 * DEG, 0.0), (-0.3 * DEG, 2e-3)])
def test_two_equal_cantilevers_are_one_built_in_beam(angular: float, parallel: float) -> None:
    """A beam 2 L long, built in at both ends: 12 EI d / (2 L)^3 for an end off by d, EI a / (2 L) for a kink amid.

    Slope and deflection of such a beam, textbooks; memory.
    """
    length = 0.3
    force, moment = joining(Misaligned(angular, parallel), (cantilever(length), cantilever(length, -1)))
    assert force == pytest.approx(12 * EI * parallel / (2 * length) ** 3, abs=1e-9)
    assert moment == pytest.approx(EI * angular / (2 * length), abs=1e-9)


def test_unequal_cantilevers_against_assembled_beam_elements() -> None:
    """Two elements, each built in at its far end, joined at a node whose second side is displaced and turned by u."""
    a, b, u = 0.25, 0.6, np.array([1.2e-3, -0.004])

    def at_the_node(length: float, way: int) -> np.ndarray:
        """Give the stiffness of an element's free end: 12, 6 L, 4 L^2 over EI / L^3."""
        return EI / length**3 * np.array([[12, -way * 6 * length], [-way * 6 * length, 4 * length**2]])

    first, second = at_the_node(a, 1), at_the_node(b, -1)
    # The node goes to x, the second element's end to x - u from where it was: K1 x + K2 (x - u) = 0.
    x = np.linalg.solve(first + second, second @ u)
    load = joining(Misaligned(u[1], u[0]), (cantilever(a), cantilever(b, -1)))
    np.testing.assert_allclose(load, first @ x, rtol=1e-9)
    np.testing.assert_allclose(cantilever(a) @ load + cantilever(b, -1) @ load, u, rtol=1e-9)


def test_overhangs_of_two_shafts_on_bearings() -> None:
    """Each shaft on two bearings with an overhang c: its end gives c^2 (l + c) / 3 EI under a force (beam tables)."""
    span, over = 0.4, 0.08

    def end(way: int) -> np.ndarray:
        tip, near = np.array([over]), (0.0, -span)
        give = influence(tip, tip, near, EI)[0, 0]
        turn = way * slope_influence(tip, tip, near, EI)[0, 0]
        # A moment there turns the tip by c / EI of its own and l / 3 EI of the span.
        return np.array([[give, turn], [turn, (over + span / 3) / EI]])

    assert end(1)[0, 0] == pytest.approx(over**2 * (span + over) / (3 * EI))
    # By symmetry an offset alone is carried by a force alone.
    force, moment = joining(Misaligned(0.0, 1e-3), (end(1), end(-1)))
    assert force == pytest.approx(1e-3 * 3 * EI / (2 * over**2 * (span + over)))
    assert moment == pytest.approx(0, abs=1e-9)
    _, moment = joining(Misaligned(0.01, 0.0), (end(1), end(-1)))
    assert moment == pytest.approx(0.01 * EI / (2 * (over + span / 3)))


def test_ends_that_do_not_give_are_refused() -> None:
    rigid = np.zeros((2, 2))
    with pytest.raises(ValueError, match="neither shaft's end gives"):
        joining(Misaligned(0.0, 1e-3), (rigid, rigid))
    only = joining(Misaligned(0.0, 1e-3), (rigid, cantilever(0.3)))
    assert only == pytest.approx(np.linalg.solve(cantilever(0.3), [1e-3, 0.0]))


def test_which_shaft_is_pushed_which_way() -> None:
    """The second end is higher: the first is pulled up to it, by a force upwards."""
    ends = (cantilever(0.3), cantilever(0.3, -1))
    load = joining(Misaligned(0.0, 1e-3), ends)
    assert load[0] > 0
    moved = ends[0] @ load
    assert moved[0] == pytest.approx(0.5e-3)


# --- Double-cardan ---


def turned(lean: float, angular: float, torque: float, length: float) -> dict[str, np.ndarray]:
    """Turn two universal joints with coplanar inner forks through a turn: couples and force from their pins alone."""
    first = np.array([1.0, 0, 0])
    middle, last = (np.array([math.cos(x), math.sin(x), 0.0]) for x in (lean, angular))
    angle = np.linspace(0, 2 * np.pi, 7201)
    found: dict[str, list[float]] = {"first": [], "second": [], "force": [], "out": [], "power": []}
    across = np.array([-last[1], last[0], 0.0])
    for t in angle:
        pin = np.array([0.0, -math.sin(t), math.cos(t)])  # of the first fork, turned by t about x
        inner = np.cross(middle, pin)
        inner /= np.linalg.norm(inner)
        outer = np.cross(inner, last)
        outer /= np.linalg.norm(outer)
        normals = [np.cross(pin, inner), np.cross(outer, inner)]
        normals = [n / np.linalg.norm(n) * np.sign(n @ middle) for n in normals]
        couple = torque / (normals[0] @ first) * normals[0]
        passed = couple @ middle / (normals[1] @ middle) * normals[1]
        found["first"].append(float(np.linalg.norm(couple - couple @ first * first)))
        found["second"].append(float(np.linalg.norm(passed - passed @ last * last)))
        rest = couple - passed
        found["force"].append(float(np.linalg.norm(rest - rest @ middle * middle)) / length)
        found["out"].append(math.atan2(-outer @ across, outer[2]))
        found["power"].append(float(passed @ last))
    made = {k: np.array(v) for k, v in found.items()}
    made["out"] = np.unwrap(made["out"])
    made["angle"] = angle
    return made


CASES = [(0.0, 30.0), (20.0, 0.0), (15.0, 30.0), (20.0, 25.0), (5.0, -20.0), (-12.0, 3.0)]
"""Lean of the middle part and angle between the shafts, deg."""


@pytest.mark.parametrize(("lean", "angular"), CASES)
def test_two_joints_by_vectors(lean: float, angular: float) -> None:
    length, torque = 0.1, 40.0
    off = Misaligned(angular * DEG, length * math.sin(lean * DEG))
    seen = turned(lean * DEG, angular * DEG, torque, length)
    found = double_cardan(coupling_kinds()["double-cardan"], off, length, torque)
    assert found.moment == pytest.approx(max(seen["first"].max(), seen["second"].max()), rel=1e-6)
    assert found.force == pytest.approx(seen["force"].max(), rel=1e-6, abs=1e-9)
    ahead = seen["out"] - seen["angle"]
    ahead -= (ahead.max() + ahead.min()) / 2
    assert found.ahead == pytest.approx(np.abs(ahead).max(), abs=1e-6)
    speed = np.gradient(seen["out"], seen["angle"])[1:-1]
    assert found.variation == pytest.approx(np.ptp(speed), abs=1e-5)
    # What goes in comes out: torque times speed.
    np.testing.assert_allclose(seen["power"][1:-1] * speed, torque, rtol=1e-5)


def test_a_single_joint() -> None:
    """30 deg: the speed goes from .866 to 1.155, and one shaft runs ahead by up to 4.12 deg."""
    variation, ahead = unevenness(30 * DEG)
    c = math.cos(30 * DEG)
    assert variation == pytest.approx(1 / c - c)
    assert math.tan(ahead) == pytest.approx((1 - c) / (2 * math.sqrt(c)))
    assert unevenness(30 * DEG, 30 * DEG) == (0, 0)


def test_equal_angles_run_smoothly() -> None:
    kind = coupling_kinds()["double-cardan"]
    offset = double_cardan(kind, Misaligned(0.0, 0.1 * math.sin(10 * DEG)), 0.1, 40.0)
    bent = double_cardan(kind, Misaligned(20 * DEG, 0.1 * math.sin(10 * DEG)), 0.1, 40.0)
    for found in (offset, bent):
        assert found.ahead == pytest.approx(0, abs=1e-12)
        assert "runs smoothly" in found.note
        assert found.share == pytest.approx(10 / 25)
        assert found.moment == pytest.approx(40 * math.tan(10 * DEG))
    assert offset.force == 0
    assert bent.force == pytest.approx(2 * 40 * math.tan(10 * DEG) * math.cos(10 * DEG) / 0.1)


def test_uneven_angles_are_said_and_an_offset_beyond_reach() -> None:
    kind = coupling_kinds()["double-cardan"]
    found = double_cardan(kind, Misaligned(30 * DEG, 0.0), 0.1, 40.0)
    assert found.share == pytest.approx(30 / 25)
    assert found.fits is False
    assert "its joints turn by 0 deg and 30 deg, so that one shaft runs ahead by up to 4.12 deg" in found.note
    beyond = double_cardan(kind, Misaligned(0.0, 0.1), 0.1, 40.0)
    assert (beyond.share, beyond.fits, beyond.force) == (math.inf, False, None)
    assert "beyond the length between its crosses, 100 mm" in beyond.note
    # A maker's own limit on the offset counts where it is less than the joints' angle.
    own = double_cardan(replace(kind, parallel=5e-3), Misaligned(0.0, 4e-3), 0.1, 40.0)
    assert own.share == pytest.approx(math.asin(0.04) / math.asin(0.05))


# --- Verdicts side by side ---

ENDS = (cantilever(0.3), cantilever(0.3, -1))


def by_kind(coupling: Coupling, off: Misaligned, **more: tuple[float, float]) -> dict[str, Verdict]:
    found = verdicts(coupling, off, ENDS, 40.0, **more)
    assert found[0].kind == coupling.kind
    assert sorted(v.kind for v in found) == ["clamp", "double-cardan", "elastic"]
    return {v.kind: v for v in found}


def test_each_kind_has_its_verdict() -> None:
    off = Misaligned(0.25 * DEG, 0.1e-3)
    found = by_kind(SPIDER, off)
    spider, clamp, cardan = (found[k] for k in ("elastic", "clamp", "double-cardan"))
    # A quarter of one limit and a quarter of the other.
    assert (spider.share, spider.fits) == (pytest.approx(0.5), True)
    assert (spider.force, spider.moment, spider.reversing) == (None, None, False)
    assert "not judged" in spider.note
    assert "reverse often" in spider.note
    assert (clamp.share, clamp.fits) == (None, None)
    assert clamp.force == pytest.approx(12 * EI * 0.1e-3 / 0.6**3)
    assert clamp.moment == pytest.approx(EI * 0.25 * DEG / 0.6)
    assert cardan.fits
    # Twice the diameter between its crosses, since the description has another kind.
    assert cardan.moment == pytest.approx(
        40 * math.sin(0.25 * DEG - math.asin(0.1e-3 / 0.13)) / math.cos(math.asin(0.1e-3 / 0.13))
    )


def test_a_descriptions_own_limits_count_for_its_own_kind_alone() -> None:
    off = Misaligned(0.5 * DEG, 0.0)
    strict = replace(SPIDER, angular=0.4 * DEG)
    assert by_kind(strict, off)["elastic"].share == pytest.approx(1.25)
    assert by_kind(strict, off)["elastic"].fits is False
    assert by_kind(CLAMP, off)["elastic"].share == pytest.approx(0.5)
    assert by_kind(replace(CARDAN, angular=0.5 * DEG), off)["double-cardan"].share == pytest.approx(1)
    assert allowed(strict).angular == 0.4 * DEG


def test_an_insert_of_known_stiffness_loads_the_ends() -> None:
    """In row with the ends: as stiff as a clamp in the limit, a spring of its own where it gives most."""
    off = Misaligned(0.25 * DEG, 0.1e-3)
    clamp = by_kind(SPIDER, off)["clamp"]
    hard = by_kind(SPIDER, off, gives=(1e12, 1e12))["elastic"]
    assert hard.force is not None
    assert (hard.force, hard.moment) == (
        pytest.approx(clamp.force, rel=1e-3),
        pytest.approx(clamp.moment, rel=1e-3),
    )
    soft = by_kind(SPIDER, off, gives=(1e3, 2.0))["elastic"]
    assert soft.force == pytest.approx(1e3 * 0.1e-3, rel=0.01)
    assert soft.moment == pytest.approx(2.0 * 0.25 * DEG, rel=0.01)
    assert "in row" in soft.note


def test_findings_against_the_limits() -> None:
    off = Misaligned(-1.5 * DEG, 0.2e-3)
    angle, offset = coupling_fit.findings(SPIDER, off, "left coupling", "turned", 0.3, "frame")
    assert (angle.value, angle.beyond, angle.crank, angle.source) == (
        pytest.approx(1.5 * DEG),
        True,
        0.3,
        "frame",
    )
    assert (offset.value, offset.beyond, offset.margin) == (0.2e-3, False, pytest.approx(0.5))
    assert angle.limit is not None
    assert "read" in angle.limit.source
    strict, _ = coupling_fit.findings(replace(SPIDER, angular=2 * DEG), off, "left coupling", "turned")
    assert strict.limit is not None
    assert (strict.limit.source, strict.beyond) == (coupling_fit.OWN, False)


def test_findings_of_a_clamp_and_of_two_joints() -> None:
    off = Misaligned(10 * DEG, 0.1 * math.sin(-8 * DEG))
    for f in coupling_fit.findings(CLAMP, off, "left coupling", "turned"):
        assert f.limit is None
        assert f.note == coupling_fit.FORCED
    angle, offset = coupling_fit.findings(CARDAN, off, "left coupling", "turned")
    # The middle part leans back by 8 deg, so that the second joint turns by 18.
    assert angle.value == pytest.approx(18 * DEG)
    assert offset.margin == pytest.approx(1 - math.sin(8 * DEG) / math.sin(25 * DEG))
    beyond, _ = coupling_fit.findings(CARDAN, Misaligned(0.0, 0.2), "left coupling", "turned")
    assert beyond.beyond
