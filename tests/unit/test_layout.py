"""Where chains run: tangents, the side that pulls, and the slack that is taken from what is given."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.drive import Coupling, DriveShaft, Stage, Tensioner, Wheel
from models.materials import Material
from models.mechanism import Cheek, Crankshaft, Mechanism, PostTube, Rubbing, Side, Station
from sim.chain import ChainFault, chain_fit, loop_length, span
from sim.layout import chain_run, excess_of, fit_of, shaft_places, strands
from sim.sprocket import pitch_radius, travel_radius

PITCH = 0.0127
SHAFT = DriveShaft(bearings=(-0.1, 0.1), diameter=0.025)
CLAMP = Coupling("clamp", 0.0, 0.065, None, 0.0, 0.0, None, 5.0, 0.0, 0.0, None)


def chain(driver: int, driven: int, centres: float | None = None, **other) -> Stage:
    """Give a chain of half-inch pitch in the plane of the post's axis, with what a test changes."""
    stage = Stage(
        kind="chain", driver=driver, driven=driven, pitch=PITCH, width=0.0072, centres=centres, links=None,
        slack=None, sideways=None, tight=0.0, tensioner=None, rigidity=1.1e6, damping=5.0, weight=0.62,
        efficiency=0.98, chordal=False, out=0.0, shaft=SHAFT, slips=(None, None),
    )  # fmt: skip
    return replace(stage, **other)


def side(name: str, sign: int, coupling: Coupling = CLAMP) -> Side:
    """Give a side without panels, whose crankshaft begins 190 mm from the post's axis."""
    steel = Material("steel", 7850.0, 200e9, 250e6, "invented")
    crank = Crankshaft(
        shaft=0.025, pin=0.012, material=steel, stations=(Station(0.25, "post", None), Station(0.9, "arm", None)),
        ends=(0.19, 0.95), cheek=Cheek(0.05, 0.01, 0.04, None), weights=(), coupling=coupling, runout=0.0,
    )  # fmt: skip
    return Side(name, sign, 0.0, (), crank)


def mechanism(
    stages: tuple[Stage, ...],
    below: float = 0.6,
    post: PostTube | None = None,
    sides: tuple[Side, ...] = (side("left", 1), side("right", -1)),
    **wheel,
) -> Mechanism:
    """Give a mechanism that is little more than its drive; the wheel's axis lies `below` the crank's, m."""
    turned = Wheel(
        kind="disc", radius=0.3, thickness=0.012, bar=0.0, density=7850.0, hub_mass=0.0, hub_diameter=0.1,
        arm_mass=0.0, grip_mass=0.0, height=3.0 - below, out=-0.4, shaft=SHAFT, slip=None,
    )  # fmt: skip
    return Mechanism(
        name="drive", gravity=9.81, crank_height=3.0, sides=sides, wheel=replace(turned, **wheel), stages=stages,
        limiter=None, post=post, lifts=(), friction=Rubbing(0.1, 0.1, 0.1, 0.1, 0.0, 1.0, 0.5, 2.0),
        swivel_limit=0.3, keyways=None, defaults=(),
    )  # fmt: skip


def turning(at: np.ndarray, force: np.ndarray) -> float:
    """Give the torque of a force about +y, right hand."""
    return float(np.cross(at, force)[1])


places = st.tuples(st.floats(-2, 2), st.floats(-2, 2))
teeth = st.integers(9, 60)


@given(places, places, teeth, teeth)
def test_strand_a_holds_the_driver_back_and_drives_the_driven(driver, driven, a: int, b: int):
    radii = pitch_radius(float(a), PITCH), pitch_radius(float(b), PITCH)
    if math.dist(driver, driven) < 1.01 * abs(radii[0] - radii[1]) + 1e-3:
        return
    directions, ends = strands(driver, driven, radii)
    axes = np.array([(driver[0], 0, driver[1]), (driven[0], 0, driven[1])])
    arms = ends - axes
    # The pull of a unit tension works at the pitch radius; 1e-9 is rounding at a metre over millimetres.
    assert turning(arms[0, 0], directions[0]) == pytest.approx(-radii[0], rel=1e-9)
    assert turning(arms[0, 1], -directions[0]) == pytest.approx(+radii[1], rel=1e-9)
    assert turning(arms[1, 0], directions[1]) == pytest.approx(+radii[0], rel=1e-9)
    assert turning(arms[1, 1], -directions[1]) == pytest.approx(-radii[1], rel=1e-9)
    # Both lie on the circles, straight along their directions, as far as the chain's own geometry says.
    for strand in (0, 1):
        assert np.linalg.norm(arms[strand], axis=1) == pytest.approx(radii, rel=1e-9)
        free = ends[strand, 1] - ends[strand, 0]
        far = float(span(a, b, PITCH, math.dist(driver, driven)))
        assert free == pytest.approx(far * directions[strand], abs=1e-9)
    # Outer tangents do not cross the line of centres: each keeps to one side of it.
    along = axes[1] - axes[0]
    on = np.cross(along, arms)[..., 1]
    assert np.all(on[0] * on[0, 0] > 0)
    assert np.all(on[1] * on[0, 0] < 0)


@pytest.mark.parametrize(
    ("driven", "forward", "up"),
    # The driver's top goes forward and pulls chain over from behind, so the strand that runs in is taut:
    # the lower one of a sprocket ahead, the front one of a sprocket above (common practice, no source).
    [((1, 0), 0, -1), ((-1, 0), 0, 1), ((0, 1), 1, 0), ((0, -1), -1, 0)],
)
def test_the_strand_that_runs_onto_the_driver_is_taut(driven, forward: int, up: int):
    _, ends = strands((0.0, 0.0), driven, (0.04, 0.04))
    assert ends[0, 0] == pytest.approx((0.04 * forward, 0, 0.04 * up), abs=1e-15)
    # A point of the driver there moves away from the driven as the wheel turns forward: it draws chain in.
    velocity = np.cross((0, 1, 0), ends[0, 0])
    assert velocity @ np.array([driven[0], 0, driven[1]]) < 0


def test_a_chain_between_alike_sprockets_is_a_rectangle():
    made = mechanism((chain(20, 20, 0.6, out=0.03),))
    run = chain_run(made, 1)
    radius = PITCH / 2 / math.sin(math.pi / 20)  # computed
    # Straight up from the wheel, the taut strand in front; 1e-12 is rounding.
    assert run.directions == pytest.approx(np.array([[0, 0, 1], [0, 0, 1]]), abs=1e-12)
    assert run.ends[0] == pytest.approx(np.array([[radius, 0.03, -0.6], [radius, 0.03, 0]]), abs=1e-12)
    assert run.ends[1] == pytest.approx(np.array([[-radius, 0.03, -0.6], [-radius, 0.03, 0]]), abs=1e-12)
    assert run.span == pytest.approx(0.6)
    assert run.stiffness == pytest.approx(1.1e6 / 0.6)
    assert run.weight == pytest.approx(0.62 * 0.6)
    assert run.travel == pytest.approx((20 * PITCH / (2 * math.pi),) * 2)


def test_a_stage_pulls_at_both_its_shafts_where_they_lie():
    made = mechanism((chain(13, 38, 2.45), chain(15, 40, 0.4064)), below=2.1)
    (wheel, between, crank), note = shaft_places(made)
    assert note is None
    for k, (a, b) in enumerate(((wheel, between), (between, crank)), 1):
        run, stage = chain_run(made, k), made.stages[k - 1]
        for at, teeth_there, sign in ((a, stage.driver, -1), (b, stage.driven, 1)):
            end = run.ends[0, 0 if sign < 0 else 1]
            arm = end - np.array([at[0], 0, at[1]])
            assert turning(arm, -sign * run.directions[0]) == pytest.approx(
                sign * pitch_radius(float(teeth_there), PITCH)
            )
        assert run.fit is not None
        # The places close the triangle, so the strand between them is the chain's own free length.
        assert np.linalg.norm(run.ends[1, 1] - run.ends[1, 0]) == pytest.approx(run.fit.span, abs=1e-12)


def test_centres_alone_take_the_smallest_even_number_of_links():
    stage = chain(15, 45, 0.44)
    fit = fit_of(stage)
    assert fit == chain_fit(15, 45, PITCH, centres=0.44)
    assert fit is not None
    assert excess_of(stage) == fit.excess > 0
    needed = loop_length(15, 45, PITCH, 0.44)
    assert excess_of(stage) == pytest.approx(fit.links * PITCH - needed, abs=1e-12)
    assert fit.links % 2 == 0
    assert (fit.links - 2) * PITCH < needed


def test_slack_given_is_kept():
    assert excess_of(chain(15, 45, 0.44, slack=0.001)) == 0.001
    assert excess_of(chain(15, 45, links=100, slack=0.001)) == pytest.approx(0.001, abs=1e-12)
    # Alone it fixes no fit, but is slack all the same.
    assert fit_of(chain(15, 45, slack=0.001)) is None
    assert excess_of(chain(15, 45, slack=0.001)) == 0.001


@pytest.mark.parametrize("given_by", [{"centres": 0.44}, {"links": 100}])
def test_sideways_is_slack_said_otherwise(given_by):
    stage = chain(15, 45, sideways=0.008, **given_by)
    fit = fit_of(stage)
    assert fit is not None
    # A parabola of rise f on a chord s is longer by 8 f^2 / 3 s (memory).
    assert excess_of(stage) == pytest.approx(8 * 0.008**2 / (3 * fit.span), rel=1e-12)
    if stage.links:
        assert fit.excess == pytest.approx(excess_of(stage), abs=1e-12)
        assert loop_length(15, 45, PITCH, fit.centres) + fit.excess == pytest.approx(100 * PITCH, abs=1e-12)


def test_links_with_centres_decide():
    stage = chain(15, 45, 0.44, links=102)
    assert excess_of(stage) == pytest.approx(102 * PITCH - loop_length(15, 45, PITCH, 0.44), abs=1e-12)


def test_what_is_tight_or_has_an_idler_has_no_slack():
    idler = Tensioner(50.0, 5e3, 0.02, math.radians(30))
    assert excess_of(chain(15, 45, 0.44, tight=100.0)) == 0
    assert excess_of(chain(15, 45, 0.44, tensioner=idler)) == 0
    assert excess_of(chain(15, 45, kind="direct")) == 0
    # Set tight, links alone say where the shafts are: 100 links of 15:45, 440.3180 mm (computed).
    fit = fit_of(chain(15, 45, links=100, tight=100.0))
    assert fit is not None
    assert fit.centres == pytest.approx(0.4403180, abs=5e-8)
    # How much of its links an idler takes up nobody says.
    assert fit_of(chain(15, 45, links=100, tensioner=idler)) is None


def test_what_is_not_fixed_runs_between_the_places_all_the_same():
    run = chain_run(mechanism((chain(20, 20, sideways=0.01),)), 1)
    assert run.fit is None
    assert run.span == pytest.approx(0.6)  # the height from wheel to crank
    assert run.excess == pytest.approx(8 * 0.01**2 / (3 * 0.6))
    assert chain_run(mechanism((chain(20, 20),)), 1).excess == 0


def test_sideways_places_the_shafts():
    stage = chain(20, 20, links=100, sideways=0.01)
    fit = fit_of(stage)
    assert fit is not None
    (wheel, crank), note = shaft_places(mechanism((stage,), below=0.3))
    assert note is None
    assert math.dist(wheel, crank) == pytest.approx(fit.centres, abs=1e-12)


def test_faults_are_said():
    with pytest.raises(ValueError, match="stage 1 is direct"):
        chain_run(mechanism((chain(20, 40, kind="direct"),)), 1)
    with pytest.raises(ChainFault, match="less than the loop needs"):
        chain_run(mechanism((chain(15, 45, 0.6, links=60),)), 1)
    with pytest.raises(ChainFault, match=r"one sprocket lies inside the other; write centres"):
        chain_run(mechanism((chain(15, 45),), below=0.05), 1)
    with pytest.raises(ChainFault):
        fit_of(chain(15, 45, links=100, sideways=0.4))


def test_travel_is_not_the_pitch_radius():
    run = chain_run(mechanism((chain(13, 38, 0.6),)), 1)
    assert run.travel == (travel_radius(13, PITCH), travel_radius(38, PITCH))
    assert run.travel[0] < pitch_radius(13.0, PITCH)
