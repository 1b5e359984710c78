"""Loads on the base: what acts from outside against the sum of the joints' forces, and rows by hand."""

from pathlib import Path
from typing import cast

import numpy as np
import pytest
from parts_basis import demo

from analysis.loads import Loads
from analysis.parts.basis import Basis
from analysis.questions import closed
from analysis.structure import arms, body, post, tipping
from analysis.structure.acting import Wrench, base, weighed
from analysis.structure.air import on_piece, on_post
from analysis.structure.base_loads import AXES, BaseLoad, base_loads
from analysis.structure.bolts import bolt_loads
from analysis.structure.joints import carried
from analysis.structure.situations import Dead, Situation, push, situations
from analysis.structure.telling import lines, tables
from models.loading import changed, load
from sim import names, standing
from sim.arrays import Array
from sim.builders import Linkage
from sim.closed_form import momentum_rate, moving_parts
from sim.layout import shaft_places
from sim.run import Run
from sim.scenarios import Turn
from sim.shaft.crank import bearing_joints
from sim.simulate import calculated
from sim.weights import lacking, pieces
from sim.wind import AIR, Wind, static_pushes

MODELS = Path(__file__).parents[2] / "models"
CRANK = np.linspace(0, 2 * np.pi, 24, endpoint=False)


class Standing:
    """Channels of a piece that stands, as a run has them."""

    def __init__(self, closed: Linkage, pushes: object = None) -> None:
        self.channels = standing.channels(closed, standing.stand(closed, CRANK, pushes))  # type: ignore[arg-type]
        self.time = CRANK

    def __getitem__(self, name: str) -> Array:
        return self.channels[name].values


def joints(closed: Linkage, run: object) -> Wrench:
    found = cast(Run, run)
    return base(carried(found, closed.mechanism), len(found.time))


def moving(closed: Linkage, crank: Array) -> Wrench:
    """Give the weights of what moves at the foot of the post."""
    parts = tuple(p for p in pieces(closed, crank) if p.moves)
    return base(weighed(parts, closed.mechanism.gravity), len(crank))


def test_standing_still_the_joints_carry_the_weight_and_its_moment() -> None:
    # Nothing but the hand that holds the wheel acts besides, with a couple about its axis.
    piece = closed(load(MODELS / "moth.toml"))
    run = Standing(piece)
    off = joints(piece, run) - moving(piece, CRANK)
    assert off.force == pytest.approx(np.zeros((24, 3)), abs=1e-9)
    hand = run[f"torques/{names.HAND}/torque"]
    assert np.ptp(hand) > 1
    assert off.moment == pytest.approx(np.stack([0 * hand, hand, 0 * hand], -1), abs=1e-9)


def test_the_same_with_a_third_bearing_and_different_sides() -> None:
    piece = closed(load(MODELS / "moth.toml", {"crank.bearings": ["150 mm", "330 mm", "480 mm"],
                                               "right": {"key_angle": "70 deg"}}))  # fmt: skip
    run = Standing(piece)
    off = joints(piece, run) - moving(piece, CRANK)
    assert off.force == pytest.approx(np.zeros((24, 3)), abs=1e-9)
    assert off.moment[:, [0, 2]] == pytest.approx(np.zeros((24, 2)), abs=1e-9)
    assert bearing_joints(piece.mechanism.sides[0])[1:] == ("left bearing 3", "left radial bearing")


def test_wind_on_the_panels_goes_through_the_joints() -> None:
    piece = closed(load(MODELS / "moth.toml"))
    wind = Wind(20.0, 1.1, 0.15, 0.4)
    pushes = {s.side.name: static_pushes(s, CRANK, wind) for s in piece.sides}
    found = joints(piece, Standing(piece, pushes)) - joints(piece, Standing(piece))
    blown = base(on_piece(piece, CRANK, wind), len(CRANK))
    assert found.force == pytest.approx(blown.force, abs=1e-9)
    assert found.moment[:, [0, 2]] == pytest.approx(blown.moment[:, [0, 2]], abs=1e-9)


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_moving_the_joints_carry_weight_less_the_rate_of_momentum(name: str) -> None:
    sculpture = load(MODELS / f"{name}.toml")
    piece = closed(sculpture)
    m = piece.mechanism
    run = calculated(sculpture, Turn(60 * np.pi / 30))
    got = joints(piece, run).force
    want = np.zeros_like(got)
    for side in piece.sides:
        at = f"angles/{names.crankshaft(side.side.name)}"
        speed = run[f"{at}/speed"]
        parts = moving_parts(side, run[f"{at}/angle"])
        rate = momentum_rate(parts, speed, np.gradient(speed, run.time))
        want -= rate * np.array([1.0, side.side.sign, 1.0])
    # A handle's own centre of mass goes round too; a disc's stays.
    wheel = next(p for p in pieces(piece, np.zeros(1)) if p.name == "wheel")
    grip = np.array([0.0, 0.0, m.wheel.height]) - wheel.at[0]
    turned = run["angles/wheel/angle"] if "angles/wheel/angle" in run.channels else np.zeros(len(run.time))
    arm = -grip[2] * np.stack([np.sin(turned), 0 * turned, np.cos(turned)], -1)
    want += wheel.mass * (60 * np.pi / 30) ** 2 * arm
    want[:, 2] -= m.gravity * sum(p.mass for p in pieces(piece, np.zeros(1)) if p.moves)
    off = np.abs(got - want).max(axis=1)
    swing = float(np.ptp(want[:, 2]))
    assert swing > 50
    # The speeds' differences over a step are what this misses by, the most where slack is taken up.
    assert np.median(off) < 1e-4 * swing
    assert np.quantile(off, 0.95) < 2e-3 * swing


def test_a_push_on_the_rim_by_hand() -> None:
    m = closed(load(MODELS / "manta.toml")).mechanism
    acts, words = push(m, 100.0)
    w = base((acts,), len(words))
    top = words.index("0 deg from the top, forward")
    h, r, y = m.wheel.height, m.wheel.radius, m.wheel.out
    assert w.force[top] == pytest.approx([100, 0, 0])
    assert w.moment[top] == pytest.approx([0, 100 * (h + r), -100 * y])
    quarter = words.index("90 deg from the top, forward")
    assert w.force[quarter] == pytest.approx([0, 0, -100], abs=1e-12)
    assert w.moment[quarter] == pytest.approx([-100 * y, 100 * r, 0], abs=1e-9)


def test_wind_on_a_post_by_hand() -> None:
    m = closed(load(MODELS / "manta.toml")).mechanism
    assert m.post is not None
    top = m.crank_height + m.post.above
    w = base(on_post(m, Wind(10.0, np.pi / 2)), 1)
    want = AIR / 2 * 100 * 1.2 * m.post.outside * top
    assert w.force[0] == pytest.approx([0, want, 0], abs=1e-9)
    assert w.moment[0] == pytest.approx([-want * top / 2, 0, 0], abs=1e-9)


def by_name(basis: Basis, start: str) -> BaseLoad:
    return next(r for r in base_loads(basis.loads) if r.case.startswith(start))


def test_people_hang_on_the_tip() -> None:
    basis = demo("moth")
    row = by_name(basis, "hanging-locked")
    weight = 200 * basis.mechanism.gravity
    assert row.force == pytest.approx((0, 0, -weight))
    # Left wing: its weight tips the piece to the left.
    assert row.moment[0] < 0
    out = -row.moment[0] / weight
    panel = basis.mechanism.sides[0].panels[-1]
    reach = max(y for _, y in panel.plate.outline.exterior)
    assert out <= panel.hinge_out + reach
    assert out > panel.hinge_out


def test_rows_of_the_demo() -> None:
    basis = demo()
    rows = base_loads(basis.loads)
    dead = rows[0]
    assert dead.kind == "dead"
    assert -dead.force[2] == pytest.approx(Dead(basis.linkage).mass * 9.81, rel=1e-9)
    assert {r.kind for r in rows} == {"dead", "wind", "operating", "accident", "lifting"}
    wind = by_name(basis, "gust-locked, worst overturning")
    assert "PROJECT'S OWN WIND" in wind.how
    assert wind.overturning > 1000
    assert wind.sway is not None
    # Its level force at the top, and all of its moment as a couple there, bracket the sway.
    stiff = 200e9 * np.pi / 64 * (0.2191**4 - 0.2065**4)
    assert wind.overturning * 9 / (3 * stiff) * 0.5 < wind.sway < wind.overturning * 9 / (2 * stiff)
    hardest = by_name(basis, "hardest push")
    assert np.linalg.norm(hardest.force) == pytest.approx(250)
    pulls = {b.case: b for b in bolt_loads(basis.mechanism, rows)}
    assert pulls[wind.case].tension > pulls[hardest.case].tension > pulls[dead.case].tension
    assert "z up" in AXES


def described(basis: Basis, **changes: object) -> Loads:
    """Give the runs of a basis with another description of what carries the piece, which moves nothing."""
    piece = closed(changed(load(MODELS / "moth.toml"), changes))
    return Loads(piece, basis.loads.campaign, basis.loads.envelope)


def test_a_design_pressure_stands_for_the_projects_own_wind() -> None:
    own = demo("moth")
    speed = next(g.case.figures["wind"] for g in own.loads.campaign.groups if g.case.kind == "gust-locked")
    half = described(own, site={"pressure": f"{AIR / 2 * (speed / 2) ** 2} Pa"})
    was, now = (next(iter(situations(x))) for x in (own.loads, half))
    assert (was.kind, now.kind) == ("wind", "wind")
    assert now.live.force == pytest.approx(was.live.force / 4, rel=1e-6, abs=1e-9)
    assert "PROJECT'S OWN WIND" in was.how
    assert "design wind pressure" in now.how


def test_a_turn_in_use_carries_the_weight_and_the_hand() -> None:
    piece = closed(load(MODELS / "manta.toml", {"use.speed": "0.01 rpm"}))
    m, n = piece.mechanism, 360
    found = post.in_use(piece)
    dead = base(weighed(pieces(piece, np.linspace(0, 2 * np.pi, n, endpoint=False)), m.gravity), n)
    off = found - dead
    # What is left is the push along the rim, so its moment about the wheel's axis is that of the hand's torque.
    assert np.abs(off.force[:, 1]).max() < 1e-9
    size = np.hypot(off.force[:, 0], off.force[:, 2])
    assert size.min() > 0
    assert size.max() * m.wheel.radius < 15
    about = off.moment[:, 1] - m.wheel.height * off.force[:, 0]
    assert np.abs(about).max() < size.max() * m.wheel.radius


def test_the_hand_pushes_where_the_wheel_is() -> None:
    # A single stage that leans puts the wheel 1.26 m forward of the post.
    stage = {"teeth": [13, 38], "pitch": "12.7 mm", "centres": "2450 mm"}
    piece = closed(load(MODELS / "manta.toml", {"stage": [stage], "use.speed": "0.01 rpm"}))
    m, turn = piece.mechanism, np.linspace(0, 2 * np.pi, 360, endpoint=False)
    off = post.in_use(piece) - base(weighed(pieces(piece, turn), m.gravity), 360)
    forward = shaft_places(m)[0][0][0]
    assert forward == pytest.approx(np.sqrt(2.45**2 - 2.1**2))
    about = off.moment[:, 1] - m.wheel.height * off.force[:, 0] + forward * off.force[:, 2]
    size = np.hypot(off.force[:, 0], off.force[:, 2])
    assert np.abs(about).max() < size.max() * m.wheel.radius


def test_lines_and_tables_of_the_demo() -> None:
    basis = demo()
    found = {x.family: x for x in lines(basis)}
    assert set(found) == {"bearing arm", "body plate", "post"}
    arm = found["bearing arm"]
    assert arm.count == 2
    assert arm.described is not None
    assert arm.described.holds
    asked = [c.what for c in arm.described.checks]
    assert sum("lean of the" in w for w in asked) == 2
    assert any("weld's toe" in w for w in asked)
    assert any("upper bound" in n for n in arm.notes)
    for line in found.values():
        assert line.described is not None
        assert all(c.demand > 0 and c.source and c.case for c in line.described.checks)
        assert all(np.isfinite(f.value) for f in line.findings)
    titles = [t.title for t in tables(basis)]
    assert titles[:3] == ["Dead weight", "Loads on the base", "Bolts of the base plate"]
    assert "earthquake" in {row[0] for row in tables(basis)[-1].rows}


def test_a_weaker_arm_is_beyond_its_limit() -> None:
    basis = demo()
    (arm, _) = tuple(arms.held(basis.mechanism))
    thin = changed(load(MODELS / "manta.toml"), {"arm.outside": "25 mm", "arm.wall": "2 mm"})
    (weak, _) = tuple(arms.held(closed(thin).mechanism))
    force = [np.array([[0.0, 0, -300.0]]) for _ in arm.joints]
    assert weak.beam.stress(force)[0] > 20 * arm.beam.stress(force)[0]


def test_what_is_not_described_is_named() -> None:
    m = closed(load(MODELS / "moth.toml")).mechanism
    said = lacking(m)
    assert "post or stand: not described" in said
    assert any(s.startswith("arms") for s in said)
    assert any("foundation" in s for s in said)
    assert lines(demo("moth")) == ()


def test_a_counterweight_beside_the_arm_counts_with_its_size() -> None:
    # A ball of 4 kg of steel has a radius of 50 mm: at 215 mm it strikes the arm, which leaves 255.6 mm free.
    basis = demo()
    for radius, holds in (("150 mm", True), ("215 mm", False)):
        given = changed(load(MODELS / "manta.toml"), {"crank.counterweight.1.radius": radius})
        again = Basis(Loads(closed(given), basis.loads.campaign, basis.loads.envelope), basis.shafts)
        (arm,) = arms.lines(again)
        assert arm.described is not None
        (clear,) = (c for c in arm.described.checks if "sweep" in c.what)
        assert clear.holds is holds
    assert clear.demand == pytest.approx(0.215 + (3 * 4.0 / (4 * np.pi * 7850)) ** (1 / 3))


def test_a_push_that_lifts_is_told() -> None:
    row = next(
        r for r in base_loads(demo("moth").loads) if r.case == "hardest push on the wheel, worst uplift"
    )
    assert row.force == pytest.approx((0, 0, 250), abs=1e-9)


def test_people_who_hang_still_and_a_wind_that_is_not_the_sites_are_told() -> None:
    basis = demo("moth")
    with_arm = described(basis, arm={"outside": "60 mm", "up": "-200 mm"}, site={"pressure": "1500 Pa"})
    (arm,) = arms.lines(Basis(with_arm, basis.shafts))
    assert arm.described is not None
    (stress,) = (c for c in arm.described.checks if c.what.startswith("stress at the post"))
    assert stress.case == "hanging-locked"
    assert "swinging" in stress.note
    (own,) = (n for n in arm.notes if "design pressure" in n)
    assert "981 Pa" in own  # 40 m/s
    assert "1500 Pa" in own
    plain = described(basis, arm={"outside": "60 mm", "up": "-200 mm"})
    assert not any("design pressure" in n for x in arms.lines(Basis(plain, basis.shafts)) for n in x.notes)


def test_a_stand_for_people_on_either_wing() -> None:
    basis = demo("moth")
    found: dict[str, dict[str, tipping.Tips]] = {}
    for width in ("3 m", "500 mm"):
        again = described(basis, stand={"width": width, "length": "1 m", "mass": "40 kg"})
        stand = again.linkage.mechanism.structure.stand
        assert stand is not None
        found[width] = {t.edge.words: t for t in tipping.tips(again, stand)}
    narrow, wide = found["500 mm"], found["3 m"]
    assert {narrow[e].case for e in ("left", "right")} == {"hanging-locked"}
    assert narrow["left"].overturning > narrow["left"].restoring
    # Each side's wing carries people as well: the piece is as good as symmetrical.
    assert narrow["right"].overturning == pytest.approx(narrow["left"].overturning, rel=1e-6)
    assert narrow["right"].restoring == pytest.approx(narrow["left"].restoring, rel=0.05)
    assert wide["left"].overturning < wide["left"].restoring


def test_a_body_plate_is_a_strip_from_the_post_on() -> None:
    m = closed(load(MODELS / "manta.toml")).mechanism
    plate = m.structure.body
    assert plate is not None
    assert body.clamped(m, plate) == pytest.approx((0.15, 0.24))
    # One that hangs above the post's top, and one that ends below it, stand on nothing.
    for change in ({"body.up": "160 mm"}, {"body.up": "-500 mm"}):
        off = closed(changed(load(MODELS / "manta.toml"), change)).mechanism
        assert off.structure.body is not None
        assert body.clamped(off, off.structure.body) is None
    waist = {"unit": "mm", "points": [[-150, 0], [150, 0], [60, 200], [150, 540], [-150, 540], [-60, 200]]}
    shaped = changed(load(MODELS / "moth.toml"), {
        "post": {"outside": "100 mm", "wall": "4 mm"},
        "body": {"outline": waist, "thickness": "10 mm", "up": "50 mm"},
    })  # fmt: skip
    narrow = closed(shaped).mechanism
    assert narrow.structure.body is not None
    # The post ends 100 mm up the plate, half way down from 300 to 120 mm.
    assert body.clamped(narrow, narrow.structure.body) == pytest.approx((0.15, 0.21), rel=1e-4)


def test_a_body_plate_on_nothing_is_not_judged() -> None:
    basis = demo("moth")
    again = described(basis, body={"width": "200 mm", "height": "400 mm", "thickness": "8 mm"})
    (line,) = body.lines(Basis(again, basis.shafts))
    assert line.described is None
    assert line.findings == ()
    assert any("not judged" in n for n in line.notes)


def test_every_situation_of_the_demo_is_whole() -> None:
    basis = demo("moth")
    every: list[Situation] = list(situations(basis.loads))
    assert {s.kind for s in every} >= {"wind", "people", "operating", "accident"}
    for s in every:
        assert s.live.force.shape == (len(s.crank), 3)
        assert np.all(np.isfinite(s.live.moment))
        assert s.detail == () or len(s.detail) == len(s.crank)
