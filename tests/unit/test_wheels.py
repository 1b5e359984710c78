"""Wheels side by side: each column by hand or by another way, and what is printed."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from saying import MANTA, MOTH
from wheeled import NAN, comparison, row

from analysis import feel
from analysis.questions import closed
from analysis.reach import RANGES
from analysis.summary.wheels import lines
from analysis.wheel_place import place
from analysis.wheel_row import coefficient, over_the_top, stopped, turned
from analysis.wheels import SLOW, Comparison, LeftOut, Size, compare, sizes, with_diameter, with_size
from models.loading import DescriptionError, load
from models.sculpture import Sculpture
from sim import names
from sim.coasting import Round, coasting
from sim.mass import wheel_mass
from sim.reduced.quick import let_go
from sim.scenarios import Grab, Turn
from sim.simulate import simulate
from sim.whole import holding_torque

DISC = {"kind": "disc", "diameter": "760 mm", "thickness": "12 mm", "height": "1.1 m"}
SPEED, ANGLES = 5.0, 3
SLIPPERY: dict[str, object] = {
    **{f"friction.{joint}": 0 for joint in ("bush", "rod_end", "hinge", "bearing")},
    "friction.wheel_drag": "0 N m",
}


def wheeled_moth(changes: dict[str, object] | None = None) -> Sculpture:
    # A copy: a change below it is put into the table itself.
    return load(MOTH, {"wheel": {**DISC}, **(changes or {})})


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Comparison:
    told: list[tuple[int, int]] = []
    chosen = sizes([0.6, 0.8, 0.0], [0.008])
    runs = tmp_path_factory.mktemp("runs")
    made = compare(
        wheeled_moth(), chosen, speed=SPEED, angles=ANGLES, runs=runs, done=lambda n, of: told.append((n, of))
    )
    # Two turns and three releases of either wheel, and a worst let go.
    assert told == [(n, 12) for n in range(1, 13)]
    return made


# --- Sizes ---


def test_all_combinations_of_sizes_once() -> None:
    assert sizes([0.5, 0.6, 0.5]) == [Size(0.5), Size(0.6)]
    assert sizes([0.5, 0.6], [0.008, 0.012]) == [
        Size(0.5, 0.008), Size(0.5, 0.012), Size(0.6, 0.008), Size(0.6, 0.012),
    ]  # fmt: skip
    assert [s.label for s in sizes([0.5, 0.6096], [0.0125])] == ["500 x 12.5 mm", "609.6 x 12.5 mm"]
    assert Size(0.5).label == "500 mm"


def test_a_size_changes_nothing_else() -> None:
    own, other = (closed(s).mechanism for s in (load(MANTA), with_size(load(MANTA), Size(0.5, 0.008))))
    assert other.wheel == replace(own.wheel, radius=0.25, thickness=0.008)
    # How fast a hand turns it follows from its radius.
    assert other.use.speed == pytest.approx(own.use.speed * own.wheel.radius / 0.25, rel=1e-3)
    assert replace(other, wheel=own.wheel, use=own.use, defaults=()) == replace(own, defaults=())
    handle = closed(with_diameter(load(MOTH), 0.5)).mechanism.wheel
    assert (handle.kind, handle.radius) == ("handle", 0.25)


def test_what_cannot_be_built_is_left_out_and_the_others_finish(found: Comparison) -> None:
    assert [r.label for r in found.rows] == ["600 x 8 mm", "800 x 8 mm"]
    (out,) = found.left_out
    assert out.size == Size(0.0, 0.008)
    assert out.why.startswith("moth.toml: wheel.diameter: '0 m' is out of range; ")


def test_where_none_can_be_built_each_problem_is_said_once(tmp_path: Path) -> None:
    with pytest.raises(DescriptionError) as refused:
        compare(wheeled_moth(), sizes([0.0, 500.0], [0.008]), speed=SPEED, angles=1, runs=tmp_path)
    assert [line.split(" is ")[0] for line in refused.value.lines] == [
        "moth.toml: wheel.diameter: '0 m'", "moth.toml: wheel.diameter: '500 m'",
    ]  # fmt: skip
    assert list(tmp_path.iterdir()) == []


# --- The columns ---


def test_mass_and_inertia(found: Comparison) -> None:
    for r in found.rows:
        wheel = closed(wheeled_moth({"wheel.diameter": f"{r.diameter} m", "wheel.thickness": "8 mm"}))
        disc = 7850 * np.pi / 4 * r.diameter**2 * 0.008
        assert r.mass == pytest.approx(disc, rel=1e-3)
        assert wheel_mass(wheel.mechanism.wheel).mass == r.mass
        assert r.inertia == pytest.approx(coasting(wheel).felt, rel=1e-12)
    wings = [r.inertia - r.mass * r.diameter**2 / 8 for r in found.rows]
    assert wings[0] == pytest.approx(wings[1], rel=1e-9)


def test_what_a_hand_feels(found: Comparison) -> None:
    for r in found.rows:
        assert (r.slow.speed, r.working.speed) == (SLOW, SPEED)
        for felt in (r.slow, r.working):
            assert felt.force == pytest.approx(felt.torque / (r.diameter / 2))
        piece = closed(wheeled_moth({"wheel.diameter": f"{r.diameter} m", "wheel.thickness": "8 mm"}))
        for way, started in ((1, r.forward), (-1, r.backward)):
            forces = [feel.start_of(piece, level, way).force for level in ("low", "nominal", "high")]
            assert started.force == pytest.approx(forces)
            assert started.youngest == feel.youngest(forces[1])
        # Static friction is more than sliding friction, and turned fast the wings' inertia comes on top.
        assert r.slow.force < r.forward.force[1] < r.forward.force[2]
        assert r.slow.torque < r.working.torque
    # At a held speed the wheel's inertia takes no torque.
    assert found.rows[0].working.torque == pytest.approx(found.rows[1].working.torque, rel=0.01)


@pytest.mark.parametrize("way", [1, -1])
def test_a_slow_turn_without_friction_holds_the_weights(way: int, tmp_path: Path) -> None:
    piece = wheeled_moth(SLIPPERY)
    felt = turned(simulate(piece, Turn(way * SLOW), method="reduced", runs=tmp_path, check=False))
    holds = way * holding_torque(closed(piece), np.linspace(0, 2 * np.pi, 1440))
    assert felt.torque == pytest.approx(holds.max(), rel=0.02)
    assert felt.kick == pytest.approx(-holds.min() / 0.38, rel=0.02)


def test_left_to_itself(found: Comparison) -> None:
    small, large = found.rows
    for r in found.rows:
        piece = coasting(
            closed(wheeled_moth({"wheel.diameter": f"{r.diameter} m", "wheel.thickness": "8 mm"}))
        )
        assert r.free.swing == pytest.approx(piece.swing)
        assert r.free.energy_ratio == pytest.approx(r.inertia * SPEED**2 / 2 / r.free.swing)
        assert r.free.heavy == pytest.approx(2 * r.free.swing / r.inertia)
        assert r.free.clearing_least == pytest.approx(piece.clearing_speed)
        assert r.free.clearing_least < r.free.clearing[0] < r.free.clearing[1] < r.free.clearing[2]
        assert r.free.over_the_top == over_the_top(SPEED, r.free.clearing[1])
    assert small.free.over_the_top == "stalls"
    assert math.isnan(small.free.slowest)
    assert large.free.clearing_least < small.free.clearing_least


def test_let_go(found: Comparison) -> None:
    for r in found.rows:
        piece = closed(wheeled_moth({"wheel.diameter": f"{r.diameter} m", "wheel.thickness": "8 mm"}))
        gone = [let_go(piece, SPEED, a) for a in np.linspace(0, 2 * np.pi, ANGLES, endpoint=False)]
        worst = max(gone, key=lambda g: max(g.peak, g.back))
        assert r.gone.worst_release == pytest.approx(worst.release)
        assert r.gone.peak_speed == pytest.approx(max(worst.peak, worst.back), rel=0.01)
        assert r.gone.rim_speed == pytest.approx(r.gone.peak_speed * r.diameter / 2)
        # The last swing before rest is the more sensitive, the smaller it is.
        assert r.gone.rest_least == pytest.approx(min(g.rest for g in gone), rel=0.1)
        assert r.gone.rest_longest == pytest.approx(max(g.rest for g in gone), rel=0.1)
        assert r.gone.rest_least <= r.gone.rest_longest
        assert 0 < r.moved < 0.05


@pytest.mark.parametrize(
    ("speed", "words"), [(2.99, "stalls"), (3.01, "near stall"), (3.46, "near stall"), (3.47, "goes round")]
)
def test_near_stall_is_less_than_half_of_the_speed_at_the_top(speed: float, words: str) -> None:
    """From 3 rad/s it clears; 3 / sqrt(1 - .25) = 3.464 leaves half of itself."""
    assert over_the_top(speed, 3.0) == words


def test_a_coefficient_is_given_where_it_holds() -> None:
    assert coefficient(Round(9.1, 10.9)) == pytest.approx(0.18)
    assert math.isnan(coefficient(Round(8.9, 11.1)))
    assert math.isnan(coefficient(None))


@pytest.mark.parametrize("wheel", ["500 mm", "760 mm"])
def test_a_grip_stops_it_within_what_is_said(wheel: str, tmp_path: Path) -> None:
    """Of the demo let go at its highest pose at 90 rpm, so that the wings pull: never longer, and not twice as long."""
    sculpture = load(MANTA, {"wheel.diameter": wheel})
    piece, speed = closed(sculpture), 3 * np.pi
    past = float(coasting(piece).crank[int(np.argmax(coasting(piece).potential))]) + 0.6
    run = simulate(sculpture, Grab("adult", speed, past, 0.0), method="reduced", runs=tmp_path, check=False)
    wheel_speed = run[f"angles/{names.WHEEL}/speed"]
    time = float(run.time[int(np.flatnonzero(wheel_speed < 0.02 * speed)[0])])
    assert 0.5 * stopped(piece, speed) < time < stopped(piece, speed)


def test_a_grip_that_the_wings_overcome_does_not_stop_it() -> None:
    """The moth's weights hold 24 N m against a handle: of 100 mm that is more than 200 N."""
    assert math.isnan(stopped(closed(load(MOTH, {"wheel.radius": "100 mm"})), 5.0))
    assert stopped(closed(load(MOTH, {"wheel.radius": "220 mm"})), 5.0) > 0


# --- The place ---


def test_height_and_reach() -> None:
    """Of the demo's wheel, 760 mm and 20 mm of rim bar about 900 mm; unobstructed 380 to 1220 mm are in reach."""
    found = place(closed(load(MANTA)))
    assert (found.low, found.high) == pytest.approx((0.51, 1.29))
    assert set(found.reach) == {name for name, _, _ in RANGES}
    share = found.reach[RANGES[0][0]]
    assert share == pytest.approx(1 - np.arccos(320 / 380) / np.pi)
    assert place(closed(load(MANTA, {"wheel.diameter": "600 mm"}))).reach[RANGES[0][0]] == 1
    assert found.faults == ()


def test_room_to_the_post() -> None:
    """The wheel's plane is 120 mm off the post's face: less half a rim bar of 20 mm and 3 mm of tolerance."""
    found = place(closed(load(MANTA)))
    assert (found.room, found.nearest) == (pytest.approx(0.107, abs=2e-4), "post")
    inside = place(closed(load(MANTA, {"wheel.out": "-100 mm"})))
    assert inside.room < 0
    assert inside.faults == ("it runs into the post; move wheel.out or wheel.height",)


def test_a_wheel_that_meets_a_throw_and_the_ground() -> None:
    """On the shop stand a wheel of 1.9 m in the plane of the inner throw, 350 mm out; it would need a pit of 60 mm."""
    stand = MANTA.replace("manta.toml", "manta_stand.toml")
    found = place(closed(load(stand, {"wheel.diameter": "1900 mm", "wheel.out": "-350 mm"})))
    assert found.low == pytest.approx(0.9 - 0.95 - 0.01)
    assert found.room < 0
    assert found.faults == (
        "it would run 60 mm (2.36 in) below the ground; raise wheel.height",
        f"it runs into the {found.nearest}; move wheel.out or wheel.height",
    )
    assert found.nearest.startswith("right inner")


def test_nothing_near() -> None:
    found = place(closed(load(MANTA, {"wheel.out": "-900 mm", "wheel.height": "600 mm"})))
    assert math.isnan(found.room)
    assert found.nearest == ""


# --- What mass buys ---

THREE = (
    row(0.5, 24.0, rim=3.3, force=23.0, torque=6.0),
    row(0.6, 33.0, rim=3.1, force=19.0, torque=6.0),
    row(0.7, 43.0, rim=3.05, force=16.0, torque=6.0),
)


def test_the_knee_is_named() -> None:
    said = " ".join(" ".join(lines(comparison(*THREE))).split())
    assert (
        "peak rim speed after letting go: the knee is 600 x 12 mm, 33 kg (72.8 lb); up to it each kilogram takes off "
        "0.0222 m/s (0.073 ft/s) on average, each further one beyond it 0.005 m/s (0.016 ft/s)"
    ) in said
    assert "peak torque at working speed: no knee; none is better than the lightest" in said
    four = comparison(*THREE, row(0.8, 55.0, rim=3.2, force=14.5, torque=6.0))
    assert "no better than a lighter one: 800 x 12 mm" in " ".join(" ".join(lines(four)).split())


def test_the_table_fits_a_terminal() -> None:
    five = comparison(*THREE, row(0.8, 55.0), row(0.9, 68.0))
    told = lines(five)
    assert max(len(line) for line in told) <= 120
    wide = [row(d, 123.4, rim=3.32, force=102.3, torque=15.75) for d in (0.6096, 0.7112, 0.8128, 0.9144)]
    assert max(len(line) for line in lines(comparison(*wide))) <= 120
    # Five do not stand beside each other.
    assert sum("500 x 12 mm" in line and "800 x 12 mm" in line for line in told) == 1
    assert sum(line.startswith(30 * " ") and "900 x 12 mm" in line for line in told) == 1
    assert sum(line.startswith("Left to itself") for line in told) == 2


def test_what_there_is_no_figure_for_is_said() -> None:
    one = THREE[0]
    odd = replace(
        one,
        free=replace(one.free, slowest=NAN, fastest=NAN, fluctuation=NAN, coefficient=NAN,
                     clearing=(9.0, math.inf, math.inf), over_the_top="stalls"),
        gone=replace(one.gone, time_to_rest=NAN, rest_longest=NAN, stopped=NAN),
        place=replace(one.place, low=-0.05, room=-0.01, nearest="left inner rod", faults=("it runs into the rod",)),
        moved=NAN,
    )  # fmt: skip
    told = "\n".join(lines(comparison(odd, left_out=(LeftOut(Size(0.0), "out of range"),))))
    for words in ("does not get round", "85.9 rpm to over 955 rpm", "still moving", "44 to over 300 s", "not at all",
                  "not checked", "500 x 12 mm: it runs into the rod", "0 mm: out of range", "-10 mm"):  # fmt: skip
        assert words in told
    assert "nan" not in told
    nowhere = replace(odd, gone=replace(odd.gone, rest_least=NAN), free=replace(odd.free, clearing=(math.inf,) * 3),
                      place=replace(odd.place, room=NAN, nearest=""))  # fmt: skip
    told = "\n".join(lines(comparison(nowhere)))
    assert "over 550 mm" in told
    (line,) = (line for line in told.splitlines() if "with friction, low to high" in line)
    assert line.split("  ")[-1].strip() == "over 955 rpm"


def test_only_what_was_left_out() -> None:
    told = lines(comparison(left_out=(LeftOut(Size(0.5), "turned at 10 rpm: no step"),)))
    assert told[-1] == "  500 mm: turned at 10 rpm: no step"
    assert not any("mass" in line for line in told)


def test_as_plain_data() -> None:
    table = comparison(*THREE, left_out=(LeftOut(Size(0.0), "out of range"),)).table()
    assert table["left_out"] == [{"diameter": 0.0, "thickness": None, "why": "out of range"}]
    knees = table["knees"]
    assert isinstance(knees, dict)
    assert knees["hand force at working speed"]["at"] == "600 x 12 mm"
    assert knees["peak torque at working speed"]["at"] is None
    rows = table["wheels"]
    assert isinstance(rows, list)
    assert rows[2]["free"]["clearing"] == (3.3, 3.6, 4.2)
