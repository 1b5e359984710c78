"""Chains that run free and chains that do not, and what their slack does at the wheel and below."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from examples import MANTA
from test_layout import CLAMP, PITCH, chain, mechanism, side

from analysis import chain_fit, chain_paths
from models.drive import Tensioner
from models.loading import load
from models.mechanism import PostTube
from models.resolve import mechanism as settled
from sim.chain import centres_for_links
from sim.chain import chain_fit as fit
from sim.layout import chain_run, shaft_places
from sim.sprocket import travel_radius

WIDTH = 1.3 * PITCH  # 16.5 mm; 16.6 mm over the pins of No. 40 (memory)
PLATE = 0.475 * PITCH  # half a link plate's height (memory)
RADIUS = PITCH / 2 / math.sin(math.pi / 20)  # pitch radius of 20 teeth (computed)


def value(found, what, where=""):
    (only,) = [f for f in found if f.what == what and where in f.where]
    return only.value


def faults(found):
    return [f"{f.where} {f.what} {f.note}" for f in found if f.beyond]


def upright(post=None, **stage):
    """Give two 20-tooth sprockets right above each other; no slack unless it is given."""
    slack = {} if "sideways" in stage else {"slack": 0.0}
    return mechanism((chain(20, 20, 0.6, **(slack | stage)),), post=post)


def tube(bore: float, above: float = 0.2) -> PostTube:
    return PostTube(outside=bore + 0.012, wall=0.006, above=above)


@pytest.mark.parametrize("aside", [0.0, 0.002])
def test_inside_the_post_a_chain_keeps_clear_of_the_bore(aside: float):
    found = chain_paths.of_mechanism(upright(tube(0.1), sideways=aside))
    assert faults(found) == []
    # Half the bore's chord at the chain's edge, less the strand's plates and its movement at mid-span; the bow
    # is widest there, and where it does not move the sprocket with its chain on is as wide.
    half = math.sqrt(0.05**2 - (WIDTH / 2) ** 2)
    # 1e-9: the circles' corners lie on the axes, so nothing is lost to their straight sides.
    assert value(found, "clearance to the post's bore") == pytest.approx(
        half - RADIUS - PLATE - aside, abs=1e-9
    )


def test_a_strand_that_sways_into_the_wall_is_a_fault():
    (fault,) = faults(chain_paths.of_mechanism(upright(tube(0.1), sideways=0.004)))
    assert "crosses the post's wall" in fault
    assert "on its front and rear" in fault
    low, high = (float(x) for x in re.findall(r"(\d+) mm (?:and|above ground)", fault)[:2])
    # It touches where 4 f t (1 - t) is the clearance without movement, about mid-span 2.7 m above ground.
    clear = math.sqrt(0.05**2 - (WIDTH / 2) ** 2) - RADIUS - PLATE
    t = (1 - math.sqrt(1 - clear / 0.004)) / 2
    # 1 mm is what is printed; the bow of 32 pieces strays by f / 32^2 = 4e-6 m, over a slope of .015 another.
    assert (low, high) == pytest.approx((2400 + 600 * t, 3000 - 600 * t), abs=1.5)


def test_out_of_the_middle_the_bore_is_narrower():
    found = chain_paths.of_mechanism(upright(tube(0.12), out=0.02))
    half = math.sqrt(0.06**2 - (0.02 + WIDTH / 2) ** 2)
    assert value(found, "clearance to the post's bore") == pytest.approx(half - RADIUS - PLATE, abs=1e-9)
    assert len(faults(chain_paths.of_mechanism(upright(tube(0.12), out=0.035)))) == 1


@pytest.mark.parametrize("out", [0.0, 0.03])
def test_a_chain_that_leaves_the_post_crosses_its_wall(out: float):
    # The wheel 0.8 m in front: the strands slope down by 3 in 4.
    made = mechanism((chain(20, 20, 1.0, slack=0.0, out=out),), post=tube(0.1))
    assert shaft_places(made)[0][0] == pytest.approx((0.8, -0.6))
    (fault,) = faults(chain_paths.of_mechanism(made))
    assert ("on its front, between" in fault) == (out == 0)  # out there its sprocket meets the rear wall too
    low, high = (float(x) for x in re.findall(r"(\d+) mm (?:and|above ground)", fault)[:2])
    # Square to the strand the chain reaches RADIUS + PLATE: along the wall 5/4 of it. The lower edge leaves at
    # the outside, the upper at the bore, the wider and the narrower chord of the chain's width (computed).
    outer = math.sqrt(0.056**2 - max(0.0, out - WIDTH / 2) ** 2)
    inner = math.sqrt(0.05**2 - (out + WIDTH / 2) ** 2)
    reach = 1.25 * (RADIUS + PLATE)
    assert low == pytest.approx(3000 + 1000 * (-0.75 * outer - reach), abs=0.6)
    # At the wall the upper edge is still the sprocket's round, which stands lower than the tangent would.
    assert high == pytest.approx(3000 + 1000 * _upper(inner, reach), abs=0.6)


def _upper(x: float, reach: float) -> float:
    """Give the height of the upper edge at x: the round until the tangent point, then the strand."""
    r = RADIUS + PLATE
    return math.sqrt(r**2 - x**2) if x < 0.6 * r else reach - 0.75 * x


def test_beside_and_above_the_post():
    beside = chain_paths.of_mechanism(upright(tube(0.1), out=-0.1))
    assert faults(beside) == []
    assert value(beside, "clearance beside the post") == pytest.approx(0.1 - WIDTH / 2 - 0.056)
    over = chain_paths.of_mechanism(upright(tube(0.1, above=-0.8)))
    assert faults(over) == []
    assert value(over, "clearance to the post's outside") == pytest.approx(0.8 - 0.6 - RADIUS - PLATE)


def _two(first: float, second: float, **other):
    """Give two stages whose middle shaft lies forward; what is given of the second changes it."""
    lower = chain(20, 20, 2.45, slack=0.0, out=first)
    upper = chain(20, 20, 0.4064, slack=0.0, out=second)
    return mechanism((lower, replace(upper, **other)), below=2.1)


def test_two_chains_on_one_shaft_need_a_width_between_their_planes():
    assert faults(chain_paths.of_mechanism(_two(0.0, WIDTH + 1e-6))) == []
    (fault,) = faults(chain_paths.of_mechanism(_two(0.0, -WIDTH + 1e-6)))
    assert "stage 1 chain runs into the stage 2 chain: their planes lie 17 mm apart" in fault
    assert "write stage.1.out and stage.2.out at least 17 mm apart" in fault


def _past_the_crank(out: float, **wheel):
    """Give a first chain that runs from 2 m below the crank to a shaft above it, over the crank's axis."""
    lower, upper = chain(13, 40, 2.29, slack=0.0, out=out), chain(15, 40, 0.3, slack=0.0, out=0.05)
    return mechanism((lower, upper), below=2.0, **wheel)


def test_a_chain_across_the_centre_shaft_runs_into_it():
    assert shaft_places(_past_the_crank(0.0))[0][1][1] > 0.2
    found = faults(chain_paths.of_mechanism(_past_the_crank(0.0)))
    assert len(found) == 1
    assert "stage 1 chain runs into the centre shaft, which lies from -190 mm to 190 mm along y" in found[0]
    assert f"write stage.1.out at least {1000 * (0.19 + WIDTH / 2):.0f} mm" in found[0]


def test_beyond_the_centre_shaft_it_runs_into_the_crankshaft():
    (found,) = faults(chain_paths.of_mechanism(_past_the_crank(0.3)))
    assert "stage 1 chain runs into the left crankshaft, which lies from 190 mm to 950 mm" in found
    # A one-sided piece has none there: its centre shaft ends at its bearing, 100 mm out.
    alone = _past_the_crank(-0.3, sides=(side("left", 1),))
    assert faults(chain_paths.of_mechanism(alone)) == []


def test_clearance_to_a_shaft_is_that_of_a_line_to_a_point():
    made = _two(0.0, 0.05)
    run, (_, _, crank) = chain_run(made, 1), shaft_places(made)[0]
    start, along = run.ends[1, 0], run.directions[1]
    to = np.array([crank[0], 0, crank[1]]) - start
    apart = float(np.linalg.norm(to - (to @ along) * along))
    assert 0 < to @ along < run.span
    # Nearer than the other chain, whose plane is 50 mm off.
    found = chain_paths.of_mechanism(_two(0.0, 0.3))
    assert value(found, "least clearance to what it passes", "stage 1") == pytest.approx(
        apart - PLATE - 0.0125, abs=1e-5
    )  # 1e-5: a shaft of 256 sides is thinner by 1 - cos(pi / 256) = 7.5e-5 of its radius, 1e-6 m
    near = next(f for f in found if f.what.startswith("least") and f.where == "stage 1 chain")
    assert near.note.startswith("to the centre shaft")


def test_the_wheel_must_not_turn_in_a_chains_plane():
    (found,) = faults(chain_paths.of_mechanism(mechanism((chain(20, 20, 0.6),), out=0.01)))
    assert "stage 1 chain runs into the wheel, which lies from 4 mm to 16 mm" in found
    clear = chain_paths.of_mechanism(mechanism((chain(20, 20, 0.6),), out=0.03))
    assert faults(clear) == []
    # Wheel of 12 mm; 24 mm less half a chain.
    assert value(clear, "least clearance to what it passes") == pytest.approx(0.024 - WIDTH / 2)


def test_a_coupling_is_as_long_as_it_is_thick():
    heavy = tuple(side(n, s, replace(CLAMP, mass=0.6)) for n, s in (("left", 1), ("right", -1)))
    # It begins 190 - 32.5 = 157.5 mm out, so the chain's plane may be at most 149.2 mm out.
    (found,) = faults(chain_paths.of_mechanism(mechanism((chain(20, 20, 0.6, out=-0.15),), sides=heavy)))
    assert "stage 1 chain runs into the right coupling" in found
    assert faults(chain_paths.of_mechanism(mechanism((chain(20, 20, 0.6, out=-0.149),), sides=heavy))) == []


def test_a_throw_sweeps_its_circle():
    demo = settled(load(MANTA))
    inner = demo.sides[0].panels[0].throw_out
    made = mechanism((chain(20, 20, 0.6, out=inner),), sides=demo.sides)
    assert any(
        "runs into the inner throw of the left crankshaft" in f
        for f in faults(chain_paths.of_mechanism(made))
    )


def test_a_shaft_reaches_to_what_it_carries():
    # The wheel's shaft passes through the second chain's plane only where the wheel sits beyond it. The middle
    # shaft lies below the wheel's, so that the second chain comes down past that.
    lower, upper = chain(20, 20, 0.1, out=0.0, slack=0.0), chain(20, 20, 0.7, out=0.2, slack=0.0)
    near = mechanism((lower, upper), below=0.61, out=-0.3)
    far = mechanism((lower, upper), below=0.61, out=0.3)
    assert shaft_places(near)[0][1][1] < -0.65
    assert not any("wheel's shaft" in f for f in faults(chain_paths.of_mechanism(near)))
    assert any(
        "stage 2 chain runs into the wheel's shaft" in f for f in faults(chain_paths.of_mechanism(far))
    )


def test_shafts_without_a_place_have_no_paths():
    (open_,) = chain_paths.of_mechanism(mechanism((chain(20, 20, 0.3),) * 3))
    assert not open_.beyond
    assert "do not place them" in open_.note
    (wrong,) = chain_paths.of_mechanism(mechanism((chain(20, 20, 0.5),)))
    assert wrong.beyond
    assert "do not reach" in wrong.line()
    (short,) = chain_paths.of_mechanism(mechanism((chain(20, 20, 0.1),) * 3))
    assert short.beyond
    assert chain_paths.of_mechanism(mechanism((chain(20, 40, 0.6, kind="direct"),))) == []
    assert chain_paths.of_mechanism(mechanism((), below=0.0)) == []


def test_lost_motion_takes_up_one_stage_after_the_other():
    elastic = (replace(CLAMP, kind="elastic", stiffness=1e3, backlash=0.02), CLAMP)
    sides = tuple(side(n, s, c) for (n, s), c in zip((("left", 1), ("right", -1)), elastic, strict=True))
    stages = (chain(13, 38, 2.45, slack=0.004), chain(15, 40, 0.4064, slack=0.001))
    made = mechanism(stages, below=2.1, sides=sides)
    # Hold the crank: the centre shaft is free by the backlash, the middle one by that over the second ratio
    # and its own chain, the wheel by that again and the first chain.
    middle = 0.02 * 40 / 15 + 0.001 / travel_radius(15, PITCH)
    wheel = middle * 38 / 13 + 0.004 / travel_radius(13, PITCH)
    found = chain_fit.of_mechanism(made)
    assert value(found, "lost motion on reversing") == pytest.approx(wheel, rel=1e-12)
    assert value(found, "lost motion on reversing, along its circle") == pytest.approx(0.3 * wheel, rel=1e-12)


def test_what_is_tight_or_direct_loses_no_motion():
    stages = (chain(13, 38, 2.45, tight=80.0), chain(15, 40, 0.4064, slack=0.001))
    found = chain_fit.lost_motion(mechanism(stages, below=2.1))
    free = 0.001 / travel_radius(15, PITCH) * 38 / 13
    assert found[0].value == pytest.approx(free, rel=1e-12)
    assert "stage 1 chain none, it is tight" in found[0].note
    direct = (chain(13, 38, 2.45, kind="direct"), stages[1])
    assert chain_fit.lost_motion(mechanism(direct, below=2.1))[0].value == pytest.approx(free, rel=1e-12)
    assert chain_fit.lost_motion(mechanism(direct[:1], below=2.1)) == []
    unknown = chain_fit.lost_motion(mechanism((chain(20, 20),)))
    assert "nothing fixes its slack" in unknown[0].note
    bad = chain_fit.lost_motion(mechanism((chain(20, 20, 0.6, links=60),)))
    assert "does not fit and is not counted" in bad[0].note


def test_what_hangs_below_the_lower_sprocket():
    found = chain_fit.of_mechanism(upright(slack=0.004))
    assert value(found, "drop of the chain below the lower sprocket, 20 teeth") == pytest.approx(0.002)
    assert value(found, "least wrap still between the teeth of the lower sprocket") == pytest.approx(math.pi)
    # Tips of 20 teeth stand p/2 (.6 - tan 4.5 deg) = 3.31 mm above the pitch circle (computed).
    height = PITCH / 2 * (0.6 - math.tan(math.pi / 40))
    assert chain_fit.tooth_height(20, PITCH) == pytest.approx(height, rel=1e-12)
    assert not any(f.beyond for f in found if "drop" in f.what)
    # Twice the teeth's height: the rollers are out of them over 60 deg either side of the bottom.
    deep = chain_fit.of_mechanism(upright(slack=4 * height))
    assert any(f.beyond for f in deep if "drop" in f.what)
    assert value(deep, "least wrap still between the teeth of the lower sprocket") == pytest.approx(
        math.pi - 2 * math.radians(60)
    )


def test_the_lower_sprocket_may_be_the_driven_one():
    made = mechanism((chain(15, 45, 0.6, slack=0.004),), below=-0.6)
    assert (
        value(chain_fit.of_mechanism(made), "drop of the chain below the lower sprocket, 45 teeth") == 0.002
    )


@pytest.mark.parametrize("other", [{"tight": 90.0}, {"tensioner": Tensioner(50.0, 5e3, 0.02, 0.5)}])
def test_a_chain_that_is_held_does_not_hang(other):
    held = mechanism((chain(20, 20, 0.6, **other),))
    assert not any("drop" in f.what for f in chain_fit.of_mechanism(held))


def test_a_level_chain_does_not_hang_below_its_sprocket():
    # 0.6 m below and 0.7 m in front: nearer to level than to upright.
    level = mechanism((chain(20, 20, math.hypot(0.6, 0.7), slack=0.004),))
    assert not any("drop" in f.what for f in chain_fit.of_mechanism(level))


def test_a_tight_chain_is_told_by_its_tension_and_its_shafts_movement():
    found = chain_fit.of_stages((chain(15, 45, 0.44, tight=120.0),), None)
    assert value(found, "tension of both strands at rest") == 120
    apart = value(found, "movement of the shafts apart that takes up what the links leave over")
    links = int(value(found, "links"))
    assert 0.44 + apart == pytest.approx(centres_for_links(15, 45, PITCH, links), abs=1e-12)
    assert not any(f.beyond or f.what == "excess length from the choice of links" for f in found)


def test_an_idler_pulls_twice_the_sine_of_its_lean():
    found = chain_fit.of_stages(
        (chain(15, 45, 0.44, tensioner=Tensioner(50.0, 5e3, 0.02, math.radians(30))),), None
    )
    # 2 sin 30 deg = 1: 50 N of tension, and 20 mm of chain for 20 mm of travel.
    assert value(found, "tension of both strands at rest") == pytest.approx(50)
    assert value(found, "chain length that the tensioner gives back before its stop") == pytest.approx(0.02)
    assert not any(f.beyond for f in found)


def test_a_direct_stage_has_no_chain():
    (found,) = chain_fit.of_stages((chain(15, 45, kind="direct"),), PostTube(0.2, 0.006, 0.1))
    assert found.value == 3
    assert found.what.startswith("no chain")


def test_slack_that_the_links_do_not_leave_is_told():
    found = chain_fit.of_stages((chain(15, 45, 0.44, slack=0.001),), None)
    centres = value(found, "centre distance at which these links leave the slack given")
    links = int(value(found, "links"))
    assert fit(15, 45, PITCH, centres=centres, links=links).excess == pytest.approx(0.001, abs=1e-12)
    agreeing = chain_fit.of_stages((chain(15, 45, links=100, slack=0.001),), None)
    assert not any("slack given" in f.what for f in agreeing)
    sideways = chain_fit.of_stages((chain(15, 45, links=100, sideways=0.004),), None)
    # 4 mm is less than 1 % of the 436 mm span: 4.4 mm.
    assert not any(f.beyond for f in sideways)


def test_every_finding_says_where_it_comes_from():
    made = _two(0.0, 0.05)
    for f in (*chain_fit.of_mechanism(made), *chain_paths.of_mechanism(made)):
        assert f.where
        assert f.case
        assert f.source
        assert np.isfinite(f.value)
