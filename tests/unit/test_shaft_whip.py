"""Whip, slopes, misalignment, centre bearing, bow: against direct bending, closed forms and closures."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analysis import centre_bearing, coupling_line, shaft_whip
from analysis.finding import Finding, Limit
from models.loading import changed, load
from models.mechanism import Side, Station
from models.resolve import mechanism
from sim import names
from sim.beam import round_second_moment
from sim.builders import Linkage, linkage
from sim.identity import canonical
from sim.layout import chain_run
from sim.mass import sprocket_mass
from sim.run import Channel, Run
from sim.scenarios import Turn
from sim.shaft import loading
from sim.shaft.bending import bent, standing
from sim.shaft.crank import INNER, MIDDLE, bearing, throw
from sim.shaft.loading import Loading, bowed, of_run, recorded, standing_still, unloaded
from sim.simulate import simulate

MODELS = Path(__file__).parents[2] / "models"
RPM = np.pi / 30
STILL = shaft_whip.When("by hand", "test")


def closed(name: str, **values: object) -> Linkage:
    changes = {key.replace("__", "."): value for key, value in values.items()}
    return linkage(mechanism(changed(load(MODELS / f"{name}.toml"), changes)))


def with_stations(side: Side, *stations: Station) -> Side:
    return replace(side, crank=replace(side.crank, stations=stations))


def one(found: list[Finding], what: str, where: str) -> Finding:
    return next(f for f in found if (f.what, f.where) == (what, where))


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return closed("manta")


@pytest.fixture(scope="module")
def still(manta: Linkage) -> Loading:
    return standing_still(manta.sides[0], manta.mechanism)


@pytest.fixture(scope="module")
def turn(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """Turn the moth slowly."""
    folder = tmp_path_factory.mktemp("runs")
    return simulate(load(MODELS / "moth.toml"), Turn(10 * RPM), runs=folder, check=False)


# --- Whip of a run ---


@pytest.mark.parametrize("number", [0, 1])
def test_whip_of_a_run_is_the_shaft_bent_under_its_loads(turn: Run, number: int) -> None:
    side = closed("moth").mechanism.sides[number]
    force = turn[f"joints/{names.crank_eye(side.name, 'wing')}/force"].copy()
    force[:, 1] *= side.sign
    name = names.crankshaft(side.name)
    crank, speed = turn[f"angles/{name}/angle"], turn[f"angles/{name}/speed"]
    expected = bent(side, {"wing": force}, crank, speed, np.gradient(speed, turn.time))
    moved = expected.deflection(expected.crank.node(throw("wing")))
    size = np.hypot(moved[:, 0], moved[:, 2])
    found = shaft_whip.findings(turn)
    pin = one(found, shaft_whip.DEFLECTION, f"{name}, throw of panel 'wing'")
    n = int(np.argmax(size))
    assert pin.value == pytest.approx(size[n], rel=1e-12)
    assert (pin.time, pin.crank) == pytest.approx((turn.time[n], crank[n]))
    locating = one(found, shaft_whip.SLOPE, names.locating(side.name))
    assert locating.value == pytest.approx(expected.slope(expected.crank.node(bearing(1))).max(), rel=1e-12)


def test_a_slow_run_bends_as_the_piece_that_stands(turn: Run) -> None:
    moth = closed("moth")
    still = shaft_whip.of_linkage(moth)
    found = shaft_whip.findings(turn)
    for place in ("shaft", "throw of panel 'wing'", "inner end"):
        run, closed_form = (
            one(fs, shaft_whip.DEFLECTION, f"left crankshaft, {place}").value for fs in (found, still)
        )
        mirror = one(found, shaft_whip.DEFLECTION, f"right crankshaft, {place}").value
        assert run == pytest.approx(mirror, rel=1e-3)
        # At 10 rpm of the crank the wing's inertia adds 2 % to what the rod carries at its turning points.
        assert run == pytest.approx(closed_form, rel=0.03)


def test_long_runs_are_bent_in_parts(still: Loading, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = still.shape()
    monkeypatch.setattr(loading, "CHUNK", 50)
    parts = still.shape()
    assert parts.moved == pytest.approx(whole.moved, abs=1e-15)
    assert parts.reactions == pytest.approx(whole.reactions, abs=1e-9)
    assert len(parts.angle) == 360


def test_a_run_counts_where_every_pin_has_its_force_and_down_is_down(turn: Run) -> None:
    side = closed("moth").mechanism.sides[0]
    assert recorded(turn, side)
    assert not recorded(replace(turn, case="lifted"), side)
    eye = f"joints/{names.crank_eye('left', 'wing')}/force"
    broken = replace(turn, channels={c: v for c, v in turn.channels.items() if c != eye})
    assert not recorded(broken, side)
    assert {f.where.split()[0] for f in shaft_whip.findings(broken)} == {"right"}


def test_where_nothing_moves_there_is_no_spin_and_no_time(turn: Run) -> None:
    side = closed("moth").mechanism.sides[0]
    standing_ = replace(turn, channels={c: v for c, v in turn.channels.items() if not c.endswith("/speed")})
    found = of_run(standing_, side, 9.81)
    assert found.time is None
    assert not found.speed.any()
    assert shaft_whip.findings(standing_)[0].time is None


def test_the_worst_of_each_load_case(turn: Run) -> None:
    table = shaft_whip.by_case([("slow", [turn]), ("nothing", [])])
    assert {name for name, _ in table} == {"slow"}
    pin = next(f for _, f in table if "throw" in f.where)
    own = [f for f in shaft_whip.findings(turn) if f.what == shaft_whip.DEFLECTION and "throw" in f.where]
    assert pin.value == max(f.value for f in own)


# --- What turns with the shaft ---


def test_bow_and_load_add_up(manta: Linkage, still: Loading) -> None:
    side = bowed(manta.sides[0].side, 2e-3, np.radians(30))
    both, load_alone, turns = still.shape(side), still.shape(), unloaded(side)
    node = both.crank.node(MIDDLE)
    turning = np.broadcast_to(turns.deflection(node), (360, 3))
    assert both.deflection(node) == pytest.approx(
        load_alone.deflection(node) + standing(turning, both.angle), abs=1e-12
    )
    found = shaft_whip.deflections(replace(still, side=side), both, STILL)
    where = "left crankshaft, mid-span"
    assert one(found, shaft_whip.TURNING, where).value == pytest.approx(1e-3, rel=1e-9)
    alone = np.linalg.norm(load_alone.deflection(node)[:, [0, 2]], axis=1).max()
    assert one(found, shaft_whip.LOADED, where).value == pytest.approx(alone, rel=1e-9)
    whole = one(found, shaft_whip.DEFLECTION, where)
    assert whole.value < 1e-3 + alone
    assert "of it turns with the shaft" in whole.note


def test_a_true_shaft_has_nothing_that_turns(still: Loading) -> None:
    found = shaft_whip.deflections(still, still.shape(), STILL)
    assert {f.what for f in found} == {shaft_whip.DEFLECTION}


def test_a_shaft_bent_for_good_is_named(still: Loading) -> None:
    # The outer pin stands at 170 MPa of 250 standing still.
    gentle = shaft_whip.deflections(still, still.shape(), STILL)
    assert not any("for good" in f.note for f in gentle)
    hard = replace(still, pins={name: 2 * force for name, force in still.pins.items()})
    found = shaft_whip.deflections(hard, hard.shape(), STILL)
    pin = one(found, shaft_whip.DEFLECTION, "left crankshaft, throw of panel 'outer'")
    assert "pin of panel 'outer'" in pin.note
    assert "for good" in pin.note


# --- Limits ---


def test_limits_are_those_given(manta: Linkage) -> None:
    def slopes(side: Side, station: Station) -> Limit | None:
        del side
        return Limit(1e-4 / 0.02, "most", "clearance over length") if station.out > 0.5 else None

    def misaligned(side: Side) -> tuple[Limit | None, Limit | None]:
        del side
        return Limit(np.radians(1.0), "most", "angular"), Limit(4e-4, "most", "parallel")

    found = shaft_whip.of_linkage(manta, slopes, misaligned)
    # .57 deg of slope against .29; .57 deg of angular misalignment against 1, .6 mm of parallel against .4.
    assert one(found, shaft_whip.SLOPE, names.radial("left")).beyond
    assert one(found, shaft_whip.SLOPE, names.locating("left")).limit is None
    assert not one(found, coupling_line.ANGULAR, names.coupling("left")).beyond
    assert one(found, coupling_line.PARALLEL, names.coupling("left")).beyond


# --- Centre bearing ---


def test_a_centre_bearing_lowers_the_demos_whip(still: Loading) -> None:
    found = centre_bearing.of_shape(still, still.shape(), "by hand", "test")
    where = "left crankshaft, centre bearing at 590 mm"
    without, with_ = (one(found, what, where) for what in (centre_bearing.WITHOUT, centre_bearing.WITH))
    assert with_.value < 0.3 * without.value
    assert "the description has none" in without.note
    deflections = shaft_whip.deflections(still, still.shape(), STILL)
    assert without.value == one(deflections, shaft_whip.DEFLECTION, "left crankshaft, shaft").value


def test_a_described_centre_bearing_is_taken_off_instead(still: Loading) -> None:
    two = still.side.crank.stations
    third = with_stations(still.side, *two, Station(0.59, "arm", None))
    described = replace(still, side=third)
    assert centre_bearing.centre(third) == centre_bearing.Centre(
        True, ((3, third.crank.stations[2]),), third, still.side
    )
    tried = centre_bearing.of_shape(still, still.shape(), "", "")
    own = centre_bearing.of_shape(described, described.shape(), "", "")
    assert [f.value for f in own] == pytest.approx([f.value for f in tried], rel=1e-12)
    found = shaft_whip.of_shape(described, described.shape(), STILL)
    forces = {f.where: f.value for f in found if f.what == shaft_whip.FORCE}
    assert set(forces) == {names.locating("left"), names.radial("left"), names.further("left", 3)}
    carries = next(f for f in own if f.what == centre_bearing.CARRIES)
    assert forces[names.further("left", 3)] == pytest.approx(carries.value, rel=1e-12)
    # Whatever it takes, the other two take less: together the same.
    together = sum(described.shape().bearing_force(k) for k in (1, 2, 3))
    apart = sum(still.shape().bearing_force(k) for k in (1, 2))
    assert together == pytest.approx(apart, abs=1e-6)
    assert described.shape().deflection(described.shape().crank.node(bearing(3)))[:, [0, 2]] == pytest.approx(
        np.zeros((360, 2)), abs=1e-12
    )


def test_where_a_centre_bearing_would_go(manta: Linkage) -> None:
    side = manta.sides[0].side
    assert centre_bearing.proposed(side) == pytest.approx(0.59)
    # Webs reach 35 mm to either side of a throw: the bar from .865 to .93 is the nearer to mid-span then.
    inner, outer = side.panels
    near = replace(side, panels=(replace(inner, throw_out=0.795), outer))
    assert centre_bearing.proposed(near) == pytest.approx((0.25 + 0.76) / 2)
    tight = replace(
        side, crank=replace(side.crank, stations=(Station(0.34, "arm", None), Station(0.36, "arm", None)))
    )
    assert centre_bearing.proposed(tight) is None
    assert centre_bearing.centre(tight) is None


# --- Couplings ---


def test_what_stands_still_and_what_swings() -> None:
    angle = np.linspace(0, 2 * np.pi, 36, endpoint=False)
    path = np.stack([3 + 0.5 * np.cos(angle), -4 + 0.5 * np.sin(angle)], -1)
    assert coupling_line.swinging(path) == pytest.approx((5.0, 0.5))


def test_the_centre_shaft_bends_under_its_chain() -> None:
    demo = closed("manta").mechanism
    tensions = {"a": 800.0, "b": 50.0}
    time = np.array([0.0, 1.0])
    channels = {
        f"chains/{names.stage(2)}/tension {s}": Channel(np.full(2, value), "N", s)
        for s, value in tensions.items()
    }
    run = Run("0" * 12, "x", "turn", "x", {}, {}, {}, canonical(demo), "", "finished", "", False, time, channels,
              (), ())  # fmt: skip
    stage = demo.stages[1]
    chain = chain_run(demo, 2)
    pull = -tensions["a"] * chain.directions[0] - tensions["b"] * chain.directions[1]
    # Centre distance 406 mm, the chain rising to the upper shaft or falling: most of it hangs on the upper one.
    up = float(chain.directions[:, 2].mean())
    pull[2] -= 9.81 * (sprocket_mass(40, stage).mass + chain.weight * (1 + up))
    near, far = stage.shaft.bearings
    EI = 200e9 * round_second_moment(stage.shaft.diameter)
    for side in demo.sides:
        end = side.sign * side.crank.ends[0]
        line = coupling_line.centre_line(run, demo, side)
        span = far - near
        a, b = stage.out - near, far - stage.out
        overhang = end - far if side.sign > 0 else near - end
        if 0 < a < span and overhang > 0:
            # Simple beam, load at a: slope at the far support P a b (L + a) / 6 L EI, at the near one (L + b).
            # The load bows the span its way, so the overhangs go the other.
            slope = a * b * (span + (a if side.sign > 0 else b)) / (6 * span * EI)
            assert line.place[0] == pytest.approx(-overhang * slope * pull[[0, 2]], rel=1e-9)
            assert line.slope[0] == pytest.approx(-slope * pull[[0, 2]], rel=1e-9)
        else:
            pytest.fail(
                "the demo's chain runs between the centre shaft's bearings, its couplings beyond them"
            )


def test_misalignment_is_between_both_ends(still: Loading, manta: Linkage) -> None:
    shape = still.shape()
    line = coupling_line.inner_line(shape)
    node = shape.crank.node(INNER)
    assert np.linalg.norm(line.slope, axis=1) == pytest.approx(shape.slope(node), rel=1e-12)
    # The slope is that of the straight overhang between the bearing and the end: the coupling's 6 N bend it little.
    overhang = still.side.crank.bearings[0] - still.side.crank.ends[0]
    assert -line.place / overhang == pytest.approx(line.slope, rel=0.01, abs=1e-5)
    other = coupling_line.Line(np.full((360, 2), 1e-4), np.full((360, 2), 1e-3))
    apart = line.against(other)
    assert apart.place == pytest.approx(line.place - 1e-4)
    assert apart.slope == pytest.approx(line.slope - 1e-3)
    found = coupling_line.of_shape(manta.mechanism, still, shape, "x", "y", coupling_line.unlimited)
    assert one(found, coupling_line.ANGULAR, "left coupling").value == pytest.approx(shape.slope(node).max())
