"""The drive line in torsion: against the engine, closed forms worked out here, and itself."""

from dataclasses import replace

import numpy as np
import pytest
from examples import MANTA, MOTH

from models.loading import load, loads
from models.resolve import mechanism
from sim import names
from sim.arrays import Array
from sim.builders import Linkage, linkage, scene
from sim.closed_form import moving_parts, reduced_inertia
from sim.coasting import coasting
from sim.engines.base import Stepping
from sim.engines.exudyn import ExudynEngine
from sim.layout import chain_run
from sim.linkage import SideLinkage
from sim.mass import crank_mass
from sim.scene import Rotor, Scene
from sim.transmission import Strands, Twist
from sim.vibration.drive_line import chain_mass, drive_line, drive_modes, shaft_end, throw
from sim.vibration.rotors import Disc, Fixed, Line, Link, Together, modes
from sim.vibration.side import crank_stiffness, half_throw, own_inertia, throw_inertia

ENGINE = ExudynEngine()
TURN = np.linspace(0, 2 * np.pi, 24, endpoint=False)


def made(**changes: object) -> Linkage:
    return linkage(mechanism(load(MANTA, {k.replace("__", "."): v for k, v in changes.items()})))


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return made()


def rings(time: Array, signal: Array) -> float:
    """Give the angular frequency of a ringing from its upward passages of its mean."""
    off = signal - np.mean(signal)
    up = np.flatnonzero((off[:-1] < 0) & (off[1:] >= 0))
    at = time[up] - off[up] * (time[up + 1] - time[up]) / (off[up + 1] - off[up])
    return float(2 * np.pi * (len(at) - 1) / (at[-1] - at[0]))


# Rotors


def test_two_rotors_let_go_ring_at_the_frequency_found() -> None:
    """.3 and .5 kg m2 on 900 N m/rad, wound up by 10 mrad: 69.28 rad/s in the engine as in the eigenvalue."""
    built = Scene(
        rotors=(Rotor("a", 0.3), Rotor("b", 0.5)), twists=(Twist("t", "a", "b", 900.0, 0.0, start=0.01),)
    )
    trace = ENGINE.simulate(built, Stepping(2e-4, 1.0, relative=1e-10, absolute=1e-12))
    found = modes(Line((Disc("a", 0.3), Disc("b", 0.5)), (Link("t", "a", "b", 900.0),))).elastic[0]
    # The trapezoidal rule lags by (w h)^2 / 12 of a period: 1.6e-5.
    assert rings(trace.time, trace.torques["t"]) == pytest.approx(found, rel=5e-5)


def test_a_tight_chain_rings_with_both_strands() -> None:
    """Radii .03 and .08 m: the ratio refers what is behind, and both strands pull while neither falls slack."""
    k, near, far = 4e5, 0.03, 0.08
    chain = Strands("c", "a", "b", near, far, k, -2 * 200.0 / k, 0.0, start=1e-4)
    built = Scene(rotors=(Rotor("a", 0.02), Rotor("b", 0.05)), strands=(chain,))
    trace = ENGINE.simulate(built, Stepping(5e-5, 0.3, relative=1e-10, absolute=1e-12))
    pull = trace.tensions["c"][0] - trace.tensions["c"][1]
    line = Line((Disc("a", 0.02), Disc("b", 0.05)), (Link("c", "a", "b", 2 * k, (near, far)),))
    assert rings(trace.time, pull) == pytest.approx(modes(line).elastic[0], rel=5e-5)
    by_hand = np.sqrt(2 * k * (near**2 / 0.02 + far**2 / 0.05))
    assert modes(line).elastic[0] == pytest.approx(by_hand, rel=1e-12)


def test_branches_alike_swing_together_and_against_each_other() -> None:
    """A hub of 2 kg m2 with two of .4 on 300 N m/rad each: sqrt(k / I), and sqrt(k (I0 + 2 I) / I I0)."""
    discs = (Disc("hub", 2.0), Disc("left", 0.4), Disc("right", 0.4))
    found = modes(Line(discs, (Link("l", "hub", "left", 300.0), Link("r", "hub", "right", 300.0))))
    assert found.rigid == 1
    np.testing.assert_allclose(found.elastic, np.sqrt([300 / 0.4, 300 * 2.8 / 0.8]), rtol=1e-12)
    np.testing.assert_allclose(found.shape(0, ("hub", "left", "right")), [0, 1, -1], atol=1e-12)
    hub, left, right = found.shape(1, ("hub", "left", "right"))
    assert left == pytest.approx(right, rel=1e-9)
    assert 2.0 * hub + 0.8 * left == pytest.approx(0, abs=1e-12)  # no momentum


def test_a_rigid_ratio_is_the_limit_of_a_stiff_one() -> None:
    discs = (Disc("a", 0.7), Disc("b", 0.02), Disc("c", 0.05), Disc("d", 1.3))
    shafts_ = (Link("ab", "a", "b", 400.0), Link("cd", "c", "d", 5000.0))
    rigid = modes(Line(discs, shafts_, (Fixed("b", "c", 2.5),)))
    off = []
    for stiffness in (1e6, 1e8):
        soft = modes(Line(discs, (*shafts_, Link("bc", "b", "c", stiffness, (1.0, 2.5)))))
        off.append(np.max(np.abs(soft.elastic[:2] / rigid.elastic - 1)))
    assert off[1] < 1e-4
    assert off[0] / off[1] == pytest.approx(100, rel=0.05)  # it falls as the stiffness rises
    assert len(rigid.frequencies) == 3
    b, c = rigid.shape(0, ("b", "c"))
    assert b == pytest.approx(2.5 * c, rel=1e-12)


def test_held_to_the_ground_and_shared_inertia() -> None:
    """Two rotors of the same mass matrix as one pair of coordinates: f' M f with M not diagonal."""
    shared = np.array([[0.5, 0.2], [0.2, 0.3]])
    line = Line(
        (Disc("a", 0.0), Disc("b", 0.0)), (Link("g", "a", "", 100.0), Link("ab", "a", "b", 50.0)),
        together=(Together(("a", "b"), shared),),
    )  # fmt: skip
    stiffness = np.array([[150.0, -50.0], [-50.0, 50.0]])
    expected = np.sort(np.linalg.eigvals(np.linalg.solve(shared, stiffness)).real)
    np.testing.assert_allclose(modes(line).frequencies, np.sqrt(expected), rtol=1e-12)
    assert modes(line).rigid == 0


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (lambda: Line((Disc("a", 1.0), Disc("a", 2.0))), "named twice: a"),
        (lambda: Line((Disc("a", 1.0),), (Link("s", "a", "z", 1.0),)), "no such rotor: z"),
        (lambda: Line((Disc("a", 1.0), Disc("b", 1.0)), (Link("s", "a", "b", 0.0),)), "above zero: s"),
        (
            lambda: modes(Line((Disc("a", 1.0), Disc("b", 0.0)), (Link("s", "a", "b", 1.0),))),
            "without inertia",
        ),
        (
            lambda: modes(Line((Disc("a", 1.0), Disc("b", 1.0)), (), (Fixed("a", "b"), Fixed("b", "a")))),
            "joined rigidly already",
        ),
    ],
)
def test_lines_that_cannot_be(line, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        line()


# A side


def test_the_throws_inertia_adds_up_to_the_sides(manta: Linkage) -> None:
    for side in (*manta.sides, linkage(mechanism(loads(MOTH))).sides[0]):
        wings = throw_inertia(side, TURN)
        whole = reduced_inertia(moving_parts(side, TURN))
        own = own_inertia(side.side).sum()
        # The crankshaft's own about its axis, worked out from its mass properties.
        piece = crank_mass(side.side)
        about = piece.inertia[1, 1] + piece.mass * (piece.com[0] ** 2 + piece.com[2] ** 2)
        assert own == pytest.approx(about, rel=1e-12)
        np.testing.assert_allclose(wings.sum(axis=(1, 2)) + own, whole, rtol=1e-6)
        np.testing.assert_allclose(wings, wings.transpose(0, 2, 1), rtol=1e-9, atol=1e-12)
        assert np.linalg.eigvalsh(wings).min() > -1e-9


def test_only_the_outer_panel_follows_the_outer_throw(manta: Linkage) -> None:
    """With the inner throw held the inner panel stands: the outer throw moves the outer panel and its rod alone."""
    side = manta.sides[0]
    light = replace(side.side.panels[1].plate, thickness=1e-6)
    rod = replace(side.side.panels[1].rod, density=1e-3, end_mass=0.0)
    outer = replace(side.side.panels[1], plate=light, rod=rod)
    bare = SideLinkage(replace(side.side, panels=(side.side.panels[0], outer)), side.folds)
    wings, usual = throw_inertia(bare, TURN), throw_inertia(side, TURN)
    assert np.abs(wings[:, 1, 1]).max() < 2e-3 * np.abs(usual[:, 1, 1]).max()
    assert wings[:, 0, 0].max() > 0.1 * usual[:, 0, 0].max()


def test_a_throw_gives_by_web_and_pin(manta: Linkage) -> None:
    """80 mm of 50 by 10 mm web in bending and 30 mm of 12 mm pin in torsion, 193 GPa, by hand."""
    crank = manta.sides[0].side.crank
    e = crank.material.modulus
    web = 0.08 / (e * 0.01 * 0.05**3 / 12)
    pin = 0.03 / (e / 2.6 * np.pi * 0.012**4 / 32)
    assert half_throw(crank, 0.08) == pytest.approx(web + pin, rel=1e-12)
    inner, outer = crank_stiffness(manta.sides[0].side)
    bar = (0.35 - 0.19 - 0.03) / (e / 2.6 * np.pi * 0.0254**4 / 32)
    assert inner == pytest.approx(1 / (bar + web + pin), rel=1e-9)
    assert outer < inner  # a longer way, and two halves of a throw


# The drive line


def test_the_whole_line_turns_as_one_with_all_its_inertia(manta: Linkage) -> None:
    """Every rotor at its ratio: no spring is wound, and the inertia is that of the piece, with bars and chains."""
    m = manta.mechanism
    built = drive_line(manta, "one")
    turns = np.array([built.turns[d.name] for d in built.line.discs])
    mass, stiffness = built.line.matrices()
    np.testing.assert_allclose(stiffness @ turns, 0, atol=1e-6)
    wings = sum(throw_inertia(s, TURN).sum(axis=(1, 2)).mean() for s in manta.sides)
    left = m.reduction
    bars = chains = 0.0
    ends = [m.sides[0].crank.ends[0], -m.sides[0].crank.ends[0]]
    for k, shaft in enumerate((m.wheel.shaft, *(s.shaft for s in m.stages))):
        on = ([m.wheel.out] if k == 0 else [m.stages[k - 1].out]) + (ends if k == 2 else [m.stages[k].out])
        length = max(*on, *shaft.bearings) - min(*on, *shaft.bearings)
        bars += left**2 * m.sides[0].crank.material.density * np.pi * shaft.diameter**4 / 32 * length
        for number, teeth in ((k, "driven"), (k + 1, "driver")):
            if 1 <= number <= 2:
                stage = m.stages[number - 1]
                count = getattr(stage, teeth)
                chains += left**2 * chain_mass(m, number, count) * (count * stage.pitch / 2 / np.pi) ** 2
        if k < 2:
            left *= m.stages[k].driver / m.stages[k].driven
    assert chains > 0.1  # more than both sides' wings' a third: it counts
    expected = float(coasting(manta).inertia.mean()) + bars + chains
    # Means over 24 and 1440 angles.
    assert turns @ mass @ turns + wings == pytest.approx(expected, rel=1e-5)


def test_the_demo_swings_on_its_couplings(manta: Linkage) -> None:
    found = drive_modes(manta)
    assert found.modes.rigid == 1
    path = found.built.paths[0]
    assert path[0] == names.WHEEL
    assert path[-1] == throw("left", "outer")
    assert path[5:7] == (shaft_end("left"), names.coupling("left"))
    together, against = (
        [found.referred(k, p)[-1] for p in found.built.paths] for k in (0, 1)
    )  # both sides, outermost
    assert together[0] * together[1] > 0 > against[0] * against[1]
    assert abs(found.referred(1, path)[0]) < 1e-3  # the wheel stands while the sides swing against each other
    assert np.all(found.least <= found.modes.elastic * (1 + 1e-9))
    assert np.all(found.greatest >= found.modes.elastic * (1 - 1e-9))


def test_a_stiffer_coupling_is_faster_and_a_clamp_is_its_limit() -> None:
    coupling = {"kind": "elastic", "mass": "0.6 kg", "diameter": "65 mm"}
    soft, stiff = (
        drive_modes(made(crank__coupling={**coupling, "stiffness": f"{k} N m/rad"})).modes.elastic
        for k in (900, 90000000)
    )
    clamp = drive_modes(made(crank__coupling={"kind": "clamp", "mass": "0.6 kg", "diameter": "65 mm"}))
    assert soft[0] < 0.8 * stiff[0]
    np.testing.assert_allclose(clamp.modes.elastic[:6], stiff[:6], rtol=1e-4)


def test_a_tight_chain_has_a_range_and_a_loose_one_none() -> None:
    stages = [{"teeth": [13, 38], "pitch": "12.7 mm", "centres": "2450 mm", "tight": "50 N"},
              {"teeth": [15, 40], "pitch": "12.7 mm", "centres": "406.4 mm"}]  # fmt: skip
    tight, loose = made(stage=stages), made()
    one, both = (drive_line(tight, taut).line for taut in ("one", "both"))
    k = chain_run(tight.mechanism, 1).stiffness
    assert [next(x.stiffness for x in line.links if x.name == names.stage(1)) for line in (one, both)] == [
        k,
        2 * k,
    ]
    assert drive_line(loose, "one").line.links == drive_line(loose, "both").line.links
    assert drive_modes(tight).greatest[0] > drive_modes(loose).greatest[0]


def test_a_direct_stage_and_a_limiter() -> None:
    direct = made(stage=[{"kind": "direct", "teeth": [13, 38]}, {"kind": "direct", "teeth": [15, 40]}])
    found = drive_modes(direct)
    near, far = found.modes.shape(0, ("stage 1 driving sprocket", "stage 1 driven sprocket"))
    assert near == pytest.approx(far * 38 / 13, rel=1e-9)
    assert found.modes.rigid == 1
    for place in ("wheel", "stage 1", "stage 2"):
        limited = made(limiter={"at": place, "torque": "60 N m"})
        held = drive_modes(limited)
        assert held.modes.rigid == 1
        assert names.LIMITER in {x.name for x in held.built.line.links}
        # It holds nearly rigidly: nothing falls, and little.
        assert held.modes.elastic[0] == pytest.approx(drive_modes(made()).modes.elastic[0], rel=0.05)


def test_a_handle_on_the_crankshaft_and_one_side() -> None:
    found = drive_modes(linkage(mechanism(loads(MOTH))))
    assert found.built.paths == ((names.WHEEL, names.coupling("left"), throw("left", "wing")),)
    assert found.modes.rigid == 1


@pytest.mark.parametrize("crank", [0.6, 2.2])
def test_the_engine_rings_as_the_wings_inertia_says(crank: float) -> None:
    """A moth on a soft coupling, weightless: its crank and wing ring against the handle at that pose's frequency."""
    text = MOTH.replace("[wheel]", '[crank.coupling]\nkind = "elastic"\nstiffness = "20 N m/rad"\n[wheel]')
    closed = linkage(mechanism(loads(text)))
    side = closed.sides[0]
    quiet = replace(closed, mechanism=replace(closed.mechanism, gravity=1e-9))
    # Wound up by 2 mrad, it swings about where both would rest; the pose moves by no more than that.
    built = scene(quiet, crank, 0.0, friction=False)
    twist = replace(built.twists[0], start=2e-3, damping=0.0)
    trace = ENGINE.simulate(replace(built, twists=(twist,)), Stepping(1e-4, 0.5))
    heard = rings(trace.time, trace.torques[names.coupling("left")])
    line = drive_line(closed, "one").line
    shared = Together((throw("left", "wing"),), throw_inertia(side, np.array([crank]))[0])
    found = modes(replace(line, together=(shared,))).elastic[0]
    # Bars and pins that twist, some 5 kN m/rad beside 20 N m/rad, are rigid in the engine.
    assert found == pytest.approx(heard, rel=0.01)
    assert abs(found / modes(line).elastic[0] - 1) > 0.2  # without its wing it would ring elsewhere
