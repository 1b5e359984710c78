"""The crankshaft as a frame: its masses, its balance, and what bearings off line and clearances do to it."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from models.loading import load
from models.mechanism import Off, Station
from models.outline import Outline
from models.resolve import mechanism
from sim import names
from sim.arrays import Array
from sim.beam import influence, round_second_moment
from sim.builders import linkage
from sim.linkage import SideLinkage
from sim.mass import crank_mass, joined
from sim.shaft.bending import bent
from sim.shaft.crank import INNER, MIDDLE, OUTER, bearing, crank_frame, throw, web_width
from sim.shaft.frame import Frame, Member, Support, held, round_section
from sim.statics import Statics, statics

TURN = np.linspace(0, 2 * np.pi, 72, endpoint=False)
MODELS = Path(__file__).parents[2] / "models"


def standing_still(name: str) -> tuple[SideLinkage, Statics, dict[str, Array]]:
    """Give the left side of an example, its statics over a turn, and what its rods put on the pins."""
    made = mechanism(load(MODELS / f"{name}.toml"))
    side = linkage(made).sides[0]
    found = statics(side, TURN, made.gravity, made.friction)
    pins = {p.name: found.forces[names.crank_eye("left", p.name)] for p in side.side.panels}
    return side, found, pins


@pytest.mark.parametrize("name", ["manta", "moth", "manta_stand"])
def test_the_lumped_masses_are_the_crankshaft(name: str) -> None:
    side = mechanism(load(MODELS / f"{name}.toml")).sides[0]
    lumped, whole = joined(crank_frame(side).masses), crank_mass(side)
    assert lumped.mass == pytest.approx(whole.mass, rel=1e-12)
    assert lumped.com == pytest.approx(whole.com, abs=1e-12)
    assert lumped.inertia == pytest.approx(whole.inertia, abs=1e-12)


def test_webs_that_touch_leave_a_bar_of_their_thickness() -> None:
    side = mechanism(load(MODELS / "manta.toml", {"panel.outer.throw.out": "420 mm"})).sides[0]
    found = crank_frame(side)
    between = [
        m for m in found.frame.members if m.name == "shaft" and 0.38 <= found.frame.nodes[m.a][1] < 0.39
    ]
    assert sum(m.length for m in between) == pytest.approx(0.01)
    assert joined(found.masses).inertia == pytest.approx(crank_mass(side).inertia, abs=1e-12)


def test_a_web_cut_as_an_outline_bends_as_wide_as_it_is_half_way() -> None:
    side, _, pins = standing_still("manta")
    bar = ((-0.025, -0.025), (0.025, -0.025), (0.025, 0.1), (0.06, 0.24), (-0.06, 0.24), (-0.025, 0.1))
    hole = ((-0.005, 0.03), (0.005, 0.03), (0.005, 0.05), (-0.005, 0.05))
    for outline, widths in (
        (Outline(bar, ()), (0.05, 0.05)),
        (Outline(bar, (hole,)), (0.04, 0.05)),
    ):
        cut = replace(
            side.side, crank=replace(side.side.crank, cheek=replace(side.side.crank.cheek, outline=outline))
        )
        assert [web_width(cut, p) for p in cut.panels] == pytest.approx(widths)
    plain = replace(cut.crank.cheek, outline=Outline(bar, ()))
    cut = replace(cut, crank=replace(cut.crank, cheek=plain))
    for label in (throw("inner"), MIDDLE):
        moved = [bent(s, pins, TURN, gravity=0.0) for s in (side.side, cut)]
        here, there = (b.deflection(b.crank.node(label)) for b in moved)
        assert here == pytest.approx(there, abs=1e-9)


@pytest.mark.parametrize(
    ("bearings", "inner", "outer"),
    [
        (["250 mm", "500 mm"], 0.19, 0.865),
        (["450 mm", "950 mm"], 0.315, 0.97),
        (["450 mm", "650 mm"], 0.315, 0.865),
    ],
)
def test_a_throw_outside_the_bearings_ends_the_bar(bearings: list[str], inner: float, outer: float) -> None:
    made = mechanism(load(MODELS / "manta.toml", {"crank.bearings": bearings}))
    side = made.sides[0]
    assert side.crank.ends == pytest.approx((inner, outer))
    found = crank_frame(side)
    assert np.all(np.diff(found.frame.nodes[:, 1]) >= 0)
    assert found.node(INNER) == 0
    assert found.node(OUTER) == len(found.frame.nodes) - 1
    assert joined(found.masses).mass == pytest.approx(crank_mass(side).mass, rel=1e-12)
    with pytest.raises(KeyError, match="no station 'nowhere'"):
        found.node("nowhere")


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_on_two_bearings_the_bent_shaft_carries_what_the_rigid_one_does(name: str) -> None:
    side, still, pins = standing_still(name)
    found = bent(side.side, pins, TURN)
    assert found.torque == pytest.approx(still.torque, abs=1e-6)
    for number, joint in ((1, names.locating("left")), (2, names.radial("left"))):
        assert found.bearing_force(number) == pytest.approx(still.forces[joint], abs=1e-6)


def test_spin_pulls_on_the_bearings_as_on_a_rigid_shaft() -> None:
    side, _, _ = standing_still("manta")
    speed, rate = 9.0, 4.0
    spun = bent(side.side, {}, TURN, speed, rate, gravity=0.0)
    piece = crank_mass(side.side)
    pull = sum(np.linalg.norm(spun.bearing_force(k)[0, [0, 2]]) for k in (1, 2))
    total = spun.bearing_force(1) + spun.bearing_force(2)
    arm = float(np.hypot(piece.com[0], piece.com[2]))
    assert np.linalg.norm(total, axis=1) == pytest.approx(
        piece.mass * arm * np.hypot(speed**2, rate), rel=1e-9
    )
    assert pull > 0
    assert spun.torque == pytest.approx(_about_axis(piece.inertia, piece.mass, arm) * rate, rel=1e-9)


def _about_axis(inertia: Array, mass: float, arm: float) -> float:
    return float(inertia[1, 1] + mass * arm**2)


def test_a_straight_bar_bends_as_the_beam_with_shear_on_top() -> None:
    length, d, E = 1.0, 0.0254, 200e9
    nodes = np.array([[0.0, y, 0.0] for y in np.linspace(0, length, 9)])
    axes = np.array([[0.0, 0, 1], [1, 0, 0], [0, 1, 0]])
    bar = tuple(Member("bar", k, k + 1, axes, length / 8, round_section(d), E) for k in range(8))
    ends = [Support("near", 0, np.eye(6)[[0, 1, 2, 4]]), Support("far", 8, np.eye(6)[[0, 2]])]
    found = held(Frame(nodes, bar), ends).by_load[6 * 4 + 2, 6 * 4 + 2]
    bending = influence([0.5], [0.5], (0, 1), E * round_second_moment(d))[0, 0]
    section = round_section(d)
    shear = length / 4 / (section.shear[0] * section.area * E / 2.6)
    assert found == pytest.approx(bending + shear, rel=1e-9)


def test_a_cut_into_finer_pieces_changes_nothing_but_the_lumped_weight() -> None:
    side, _, pins = standing_still("manta")
    finer = replace(side.side, crank=replace(side.side.crank, elements=32))
    for label in (MIDDLE, OUTER, throw("outer")):
        moved = [bent(s, pins, TURN, gravity=0.0) for s in (side.side, finer)]
        coarse, fine = (b.deflection(b.crank.node(label)) for b in moved)
        assert coarse == pytest.approx(fine, abs=1e-9)


def test_bearings_off_line_do_not_load_a_shaft_on_two_and_do_on_three() -> None:
    side, _, pins = standing_still("manta")
    two = side.side.crank.stations
    off = tuple(replace(s, up=1e-3 * k) for k, s in enumerate(two))
    moved = replace(side.side, crank=replace(side.side.crank, stations=off))
    plain, askew = bent(side.side, pins, TURN), bent(moved, pins, TURN)
    assert askew.bearing_force(2) == pytest.approx(plain.bearing_force(2), abs=1e-6)
    at = askew.crank.node(bearing(2))
    assert askew.deflection(at)[:, 2] == pytest.approx(np.full(72, 1e-3), abs=1e-9)
    third = (*two, Station(0.59, "arm", None, up=1e-3))
    forced = replace(side.side, crank=replace(side.side.crank, stations=third))
    alone = replace(forced, crank=replace(forced.crank, stations=(*two, Station(0.59, "arm", None))))
    apart = bent(forced, pins, TURN).bearing_force(3) - bent(alone, pins, TURN).bearing_force(3)
    assert np.all(apart[:, 2] < -50)


def test_a_clearance_is_taken_up_towards_the_load() -> None:
    side, still, pins = standing_still("manta")
    loose = tuple(replace(s, clearance=2e-4, stiffness=1e9) for s in side.side.crank.stations)
    found = bent(replace(side.side, crank=replace(side.side.crank, stations=loose)), pins, TURN)
    for number, joint in ((1, names.locating("left")), (2, names.radial("left"))):
        force = still.forces[joint] * np.array([1.0, 0.0, 1.0])
        size = np.linalg.norm(force, axis=1, keepdims=True)
        moved = found.deflection(found.crank.node(bearing(number))) * np.array([1.0, 0.0, 1.0])
        # Smooth below half a newton: at tens of newtons within a thousandth of the clearance.
        assert moved == pytest.approx(1e-4 * force / size, abs=2e-7)


def test_a_bow_turns_with_the_shaft_and_loads_only_a_third_bearing() -> None:
    side, _, _ = standing_still("manta")
    bowed = replace(side.side, crank=replace(side.side.crank, runout=2e-3, runout_angle=np.pi / 2))
    free = bent(bowed, {}, TURN, gravity=0.0)
    middle = free.deflection(free.crank.node(MIDDLE))
    assert middle[0] == pytest.approx([1e-3, 0, 0], abs=1e-9)
    assert middle[18] == pytest.approx([0, 0, -1e-3], abs=1e-9)
    assert np.abs(free.end_loads).max() < 1e-6
    third = (*bowed.crank.stations, Station(0.59, "arm", None))
    forced = bent(replace(bowed, crank=replace(bowed.crank, stations=third)), {}, TURN, gravity=0.0)
    assert np.linalg.norm(forced.bearing_force(3), axis=1) == pytest.approx(
        np.full(72, np.linalg.norm(forced.bearing_force(3)[0])), rel=1e-9
    )
    assert np.linalg.norm(forced.bearing_force(3)[0]) > 10


def test_a_throw_welded_off_line_tilts_the_shaft_between_its_bearings() -> None:
    side, _, _ = standing_still("manta")
    inner = replace(side.side.panels[0], off=Off(offset=6.8e-4, toward=0.0))
    askew = replace(side.side, panels=(inner, *side.side.panels[1:]))
    found = bent(askew, {}, TURN[:1], gravity=0.0)
    near, far = (s.out for s in askew.crank.stations)
    # Held to the axis at both bearings, the two straight parts lie 0.68 mm apart, tilted alike.
    before, after = (found.deflection(k)[0, 2] for k in (2, 6))
    nodes = found.crank.frame.nodes[:, 1]
    tilt = -6.8e-4 / (far - near)
    assert before == pytest.approx(tilt * (nodes[2] - near), abs=1e-9)
    assert after == pytest.approx(6.8e-4 + tilt * (nodes[6] - near), abs=1e-9)
    assert np.abs(found.end_loads).max() < 1e-6


def test_a_frame_that_can_move_is_refused() -> None:
    nodes = np.array([[0.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    axes = np.array([[0.0, 0, 1], [1, 0, 0], [0, 1, 0]])
    bar = (Member("bar", 0, 1, axes, 1.0, round_section(0.02), 2e11),)
    with pytest.raises(ValueError, match="loose"):
        held(Frame(nodes, bar), [Support("near", 0, np.eye(6)[[0, 2]])])


def test_two_supports_share_a_movement_when_one_of_them_gives() -> None:
    nodes = np.array([[0.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    axes = np.array([[0.0, 0, 1], [1, 0, 0], [0, 1, 0]])
    beam = Frame(nodes, (Member("bar", 0, 1, axes, 1.0, round_section(0.02), 2e11),))
    wall, spring = Support("wall", 0, np.eye(6)), Support("spring", 0, np.eye(6)[[2]], give=1e-6)
    tip = held(beam, [wall]).by_load[8, 8]
    assert held(beam, [wall, spring]).by_load[8, 8] == pytest.approx(tip, rel=1e-12)
    with pytest.raises(ValueError, match="same movement"):
        held(beam, [wall, Support("again", 0, np.eye(6)[[2]])])
    only = [Support(f"spring {k}", 0, np.eye(6)[[k]], give=1e-9) for k in range(6)]
    assert held(beam, only).by_load[8, 8] == pytest.approx(tip + 1e-9 + 1e-9, rel=1e-9)


def test_a_third_bearing_makes_two_spans_with_a_middle_each() -> None:
    side, _, _ = standing_still("manta")
    third = (*side.side.crank.stations, Station(0.59, "arm", None))
    frame = crank_frame(replace(side.side, crank=replace(side.side.crank, stations=third)))
    places = {s.label: s.out for s in frame.stations}
    assert places[f"{MIDDLE} of bearings 1 and 3"] == pytest.approx(0.42)
    assert places[f"{MIDDLE} of bearings 3 and 2"] == pytest.approx(0.76)
    assert float(frame.frame.nodes[frame.node(f"{MIDDLE} of bearings 3 and 2")][1]) == pytest.approx(0.76)
    assert not any(
        label.startswith(f"{MIDDLE} of") for label in (s.label for s in crank_frame(side.side).stations)
    )
