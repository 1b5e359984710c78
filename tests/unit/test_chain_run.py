"""Whether a chain comes out within its slack: what holds, what fails, and with what it would hold."""

import math
from dataclasses import replace

import pytest

from analysis.chain_fit import SLACK, tooth_height
from analysis.parts.chain_run import checks
from analysis.parts.choice import Check
from analysis.parts.run_slack import free, lasting, measure, needed, of_stage, push_range, taken, wear_limit
from models.drive import DriveShaft, Stage, Tensioner
from sim.chain import excess_from_sideways
from sim.chain_slack import Slack, even_links
from sim.sprocket import travel_radius

STAGE = Stage(
    kind="chain", driver=13, driven=38, pitch=0.0127, width=0.0072, centres=None, links=None, slack=None, sideways=None,
    tight=0.0, tensioner=None, rigidity=955e3, damping=5.0, weight=0.62, efficiency=0.98, chordal=False, out=0.0,
    shaft=DriveShaft((-0.1, 0.1), 0.025), slips=(None, None), holes=5e-4, adjustment=0.0, overlength=0.019 / 12,
)  # fmt: skip
IDLER = Tensioner(force=30.0, rate=2000.0, travel=0.06, lean=math.radians(30))


def run(stage: Stage = STAGE, far: float = 4.0) -> Slack:
    links = even_links((stage.driver, stage.driven), stage.pitch, far)
    return of_stage(stage, links, None, 200.0, True, 9.81)


def verdicts(stage: Stage = STAGE, far: float = 4.0, lower: int | None = 13) -> dict[str, Check]:
    return {c.what.split(",")[0]: c for c in checks(stage, run(stage, far), lower)}


MOVED = "movement at mid-span of a new chain at full tolerance"
TAKEN = "chain to take up until worn out"
SHORT = "chain short"
DROP = "drop below the lower sprocket"


def test_four_metres_on_fixed_centres_fail() -> None:
    found = verdicts()
    # .158 % of 8.33 m is 13.2 mm, and 1 mm by the holes; 1 % of 4 m to one side leaves 1.1 mm.
    assert run().most == pytest.approx(0.0143, abs=1e-4)
    assert not found[MOVED].holds
    assert not found[TAKEN].holds
    assert not found[DROP].holds
    assert "fixed centres" in found[MOVED].note


def test_the_limit_says_which_way_it_reads_the_guidance() -> None:
    # Makers' 2 % for reversing drives is the whole movement of the slack strand, both ways from straight.
    found = verdicts()[MOVED]
    assert "2 % of span from side to side, half of it to one side" in found.source
    assert found.allowed == pytest.approx(0.01 * run().span)


def test_four_metres_with_a_tensioner_hold() -> None:
    found = verdicts(replace(STAGE, tensioner=IDLER))
    assert set(found) == {MOVED, TAKEN}
    assert all(c.holds for c in found.values())


def test_a_tensioner_of_too_little_travel_does_not_last() -> None:
    short = verdicts(replace(STAGE, tensioner=replace(IDLER, travel=0.0135)))
    assert short[MOVED].holds
    assert not short[TAKEN].holds


@pytest.mark.parametrize("far", [1.0, 2.0, 3.0, 4.0])
def test_what_is_wanted_of_the_shafts_is_enough_and_no_more(far: float) -> None:
    new, worn = needed(run(far=far), STAGE)
    assert verdicts(replace(STAGE, adjustment=new * (1 + 1e-9)), far)[MOVED].holds
    assert not verdicts(replace(STAGE, adjustment=new * 0.99), far)[MOVED].holds
    assert verdicts(replace(STAGE, adjustment=worn * (1 + 1e-9)), far)[TAKEN].holds
    assert not verdicts(replace(STAGE, adjustment=worn * 0.99), far)[TAKEN].holds


def test_a_chain_of_exact_length_holds_where_it_is_measured() -> None:
    # No tolerance, no holes off, no hung weight: nothing but wear is left.
    exact = replace(STAGE, overlength=0.0, holes=0.0, weight=1e-9)
    found = verdicts(exact)
    assert found[MOVED].holds
    assert found[SHORT].holds
    assert found[DROP].holds


def test_exact_centres_and_holes_that_are_off_make_a_chain_short() -> None:
    assert verdicts()[SHORT].demand == pytest.approx(
        2 * 5e-4, rel=0.15
    )  # the strands' own weight gives .1 mm
    assert not verdicts()[SHORT].holds
    loose = of_stage(STAGE, 656, 4.0, 200.0, True, 9.81)
    assert all(c.holds for c in checks(STAGE, loose, 13) if c.what.startswith(SHORT))


def test_a_level_run_has_no_lower_sprocket() -> None:
    assert DROP not in verdicts(lower=None)


def test_the_drop_counts_against_the_teeth() -> None:
    drop = verdicts()[DROP]
    assert drop.demand == pytest.approx(run().most / 2)
    assert drop.allowed == tooth_height(13, 0.0127)


def test_a_tight_chain_needs_shafts_that_move() -> None:
    tight = replace(STAGE, tight=100.0)
    (fixed,) = checks(tight, run(tight), 13)
    assert not fixed.holds
    (slotted,) = checks(replace(tight, adjustment=0.03), run(tight), 13)
    assert slotted.holds
    # All of the excess is to be taken up, none is left.
    assert needed(run(tight), tight)[0] == pytest.approx(run(tight).most / run(tight).per_centre)


def test_wear_ends_where_two_links_can_come_out() -> None:
    long, short = run(), run(far=0.5)
    kept = excess_from_sideways(SLACK * long.span, long.span)
    assert lasting(long, STAGE) == pytest.approx(2 * 0.0127 + kept)
    assert lasting(short, STAGE) < 2 * 0.0127 + kept


def test_wear_limits() -> None:
    assert wear_limit(STAGE) == 0.015
    assert wear_limit(replace(STAGE, adjustment=0.01)) == 0.03
    assert wear_limit(replace(STAGE, tensioner=IDLER, driven=100)) == pytest.approx(0.02)


def test_an_idler_and_slots_add() -> None:
    both = taken(replace(STAGE, tensioner=IDLER, adjustment=0.01), 2.0)
    assert both.length == pytest.approx(0.06 * 2 * math.sin(math.radians(30)) + 0.02)
    assert taken(STAGE, 2.0).length == 0


def test_lost_motion_of_a_driver() -> None:
    found = run()
    radius = travel_radius(13, 0.0127)
    assert free(STAGE, found) == pytest.approx([0.0, found.most / radius, found.old / radius])
    assert not free(replace(STAGE, tight=100.0), found).any()
    assert not free(replace(STAGE, tensioner=IDLER), found).any()


def test_what_to_measure_grows_with_tolerance() -> None:
    low, plain, high = push_range(STAGE, run())
    assert low <= plain < high
    exact = push_range(
        replace(STAGE, overlength=0.0, holes=0.0), run(replace(STAGE, overlength=0.0, holes=0.0))
    )
    assert exact[0] == exact[1] == exact[2]
    assert plain == pytest.approx(exact[1])


def test_what_to_measure_in_words() -> None:
    words = measure(STAGE, run(), True)
    assert "push mid-strand, hung, with 20 N (4.5 lbf)" in words
    assert "a nominal chain will not go on" in words
    assert "its idler off" in measure(replace(STAGE, tensioner=IDLER), run(), False)
    tight = replace(STAGE, tight=500.0)
    assert "at the tension of 500 N" in measure(tight, run(tight), True)
    assert push_range(tight, run(tight))[1] == pytest.approx(20 * run(tight).span / (4 * 500), rel=0.2)
