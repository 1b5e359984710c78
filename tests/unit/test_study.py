"""The study's own parts: envelope, ranges over friction, spread of the impact, safety, a limiter's window."""

from dataclasses import replace

import numpy as np
import pytest
from examples import MANTA

from analysis import limiter, safety
from analysis.bearing_loads import LARGEST
from analysis.envelope import envelope, loads
from analysis.study import Study, study
from models.loading import changed, load
from models.loading import loads as described
from models.resolve import mechanism
from sim.campaign import Campaign, Group

pytestmark = pytest.mark.slow

SMALL = """
name = "Small moth"
sides = 1
[crank]
height = "600 mm"
[crank.coupling]
kind = "elastic"
stiffness = "400 N m/rad"
rated = "40 N m"
[wheel]
kind = "disc"
diameter = "500 mm"
thickness = "8 mm"
height = "300 mm"
[[stage]]
teeth = [15, 30]
centres = "400 mm"
[[panel]]
name = "wing"
outline = { unit = "mm", points = [[-150, 0], [150, 0], [180, 350], [-60, 400]] }
thickness = "2 mm"
hinge = { out = "40 mm", up = "250 mm" }
yoke_pin = { out = "120 mm", below = "20 mm" }
throw = { radius = "45 mm", angle = "7 deg", out = "150 mm" }
rod = "230 mm"
[[case]]
name = "breeze"
kind = "gust"
wind = "8 m/s"
directions = 1
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Study:
    only = ["stopped", "blocked", "breeze"]
    return study(described(SMALL), runs=tmp_path_factory.mktemp("runs"), only=only, angles=2)


def test_only_what_was_asked_for_is_run(made: Study) -> None:
    assert [g.name for g in made.campaign.groups] == ["slow-turn", "let-go", "stopped", "blocked", "breeze"]
    assert len(made.gone) == 2
    assert {r.status for r in made.campaign.runs} == {"finished"}


def test_the_envelope_is_the_worst_of_every_run(made: Study) -> None:
    over = {(f.where, f.what): f.value for f in made.envelope.loads}
    seen = 0
    for run in made.campaign.runs:
        for f in loads(run):
            assert over[f.where, f.what] >= f.value
            seen += over[f.where, f.what] == f.value
    assert seen >= len(over)
    blocked = next(
        f for f in made.envelope.loads if f.where == "left wing rod end at crank" and f.what == LARGEST
    )
    assert "blocked" in blocked.case  # pushing against a blocked panel governs the rod
    assert "forward" in blocked.note
    assert blocked.crank is not None


def test_runs_that_findings_rest_on_are_checked_with_finer_steps(made: Study) -> None:
    moving = [r for r in made.campaign.runs if r.case not in ("blocked",)]
    governing = set(made.envelope.governing()) | {made.turn.label, made.worst_let_go.label}
    for run in moving:
        assert bool(run.peaks) == (run.label in governing), run.label


def test_friction_makes_a_range(made: Study) -> None:
    by = {r.nominal.what: r for r in made.ranges}
    peak = by["largest hand force"]
    assert peak.low is not None
    assert peak.high is not None
    assert peak.low.value < peak.nominal.value < peak.high.value
    rest = by["time to rest"]
    assert rest.low is not None
    assert rest.high is not None
    assert rest.low.value > rest.nominal.value > rest.high.value
    assert " to " in rest.shown


def test_the_impact_is_never_a_single_figure(made: Study) -> None:
    (impact,) = made.impact
    assert impact.chain == "stage 1 chain"
    assert [(what, factor) for what, factor, _ in impact.variants] == [
        ("rigidity", 0.5), ("rigidity", 2.0), ("damping", 0.5), ("damping", 2.0),
    ]  # fmt: skip
    assert impact.least < impact.most
    assert impact.least <= impact.nominal <= impact.most


def test_a_breeze_moves_the_wheel_and_is_told(made: Study) -> None:
    found = {f.what: f for f in made.safety}
    assert found["turns of the wheel in a gust"].value >= 0
    assert found["largest force of the hand that stops the wheel"].value > 0
    assert found["gusts in which the wheel runs away"].limit is not None


def test_a_wheel_that_goes_round_and_on_runs_away(made: Study) -> None:
    run = made.campaign.of("gust")[0]
    n = len(run.time)
    turning = {
        **run.channels,
        "angles/wheel/angle": replace(run.channels["angles/wheel/angle"], values=np.linspace(0, 60.0, n)),
        "angles/wheel/speed": replace(run.channels["angles/wheel/speed"], values=np.full(n, 6.0)),
    }
    group = next(g for g in made.campaign.groups if g.case.kind == "gust")
    away = replace(group, runs=(replace(run, channels=turning),))
    found = safety.of_campaign(Campaign((away,), (), (), ()), made.linkage.mechanism)
    assert next(f for f in found if f.what == "gusts in which the wheel runs away").beyond
    calm = safety.of_campaign(
        Campaign((Group(group.name, group.case, ()),), (), (), ()), made.linkage.mechanism
    )
    assert not next(f for f in calm if f.what == "gusts in which the wheel runs away").beyond


def test_capacities_at_a_limiter_by_hand() -> None:
    text = {
        "limiter.at": "stage 1",
        "limiter.torque": "50 N m",
        "wheel.slip": "30 N m",
        "crank.coupling.rated": "200 N m",
    }
    m = mechanism(changed(load(MANTA), text))
    first, second = 38 / 13, 40 / 15
    known = limiter.capacities(m)
    assert known["wheel hub"] == pytest.approx(30 * first, rel=1e-12)
    assert known["left coupling"] == pytest.approx(200 / second, rel=1e-12)
    # 13.9 kN of half-inch chain (ASME B29.1 table, read) on 13 teeth, N p / 2 pi.
    assert known["stage 1 chain"] == pytest.approx(13.9e3 * 13 * 0.0127 / (2 * np.pi) * first, rel=1e-12)
    (upper,) = limiter.of_runs([], m)
    assert upper.value == pytest.approx(200 / second)
    assert not upper.beyond
    (low,) = limiter.of_runs([], mechanism(changed(load(MANTA), {**text, "limiter.torque": "70 N m"})))
    assert low.beyond


def test_envelope_of_nothing_is_empty() -> None:
    assert envelope([]).loads == ()
