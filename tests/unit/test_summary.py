"""The study's one screen and its Markdown twin."""

from dataclasses import replace
from pathlib import Path

import pytest
from examples import MANTA

from analysis import chain_fit, chain_paths, clearances, drive_line, safety
from analysis.files import figure
from analysis.finding import Finding, Limit
from analysis.spreads import Impact, Range
from analysis.study import Study, study
from analysis.summary import CAUTIONS, NOT_JUDGED, figures, markdown, needs, screen
from analysis.summary.layout import SCREEN, section, span
from analysis.summary.loads import direction, sensitive
from analysis.summary.shafts import FIGURES as SHAFTS
from models.cases import Case
from models.loading import load
from models.resolve import mechanism
from sim.campaign import Group
from sim.run import Peak

pytestmark = pytest.mark.slow

ONLY = ["child", "blocked", "gust-locked", "lifted"]
QUICK = {
    # It comes to rest within a second.
    "friction.wheel_drag": "3 N m",
    "case": [{"name": "slow-turn", "speed": "60 rpm"}],
}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Study:
    """Give a study of a moth that is hard to turn, with two release angles and four load cases."""
    moth = load(MANTA.with_name("moth.toml"), QUICK)
    return study(moth, runs=tmp_path_factory.mktemp("runs"), only=ONLY, angles=2)


@pytest.fixture(scope="module")
def chained(made: Study) -> Study:
    """Give the same study with the demo's chains."""
    m = mechanism(load(MANTA))
    impact = Impact(
        "stage 1 chain", 100.0, (100.0, 110.0, 112.0), (("rigidity", 0.5, 80.0), ("rigidity", 2.0, 150.0))
    )
    return replace(
        made,
        chains=tuple(chain_fit.of_mechanism(m)),
        paths=tuple(chain_paths.of_mechanism(m)),
        impact=(impact, Impact("stage 2 chain", 0.0, (0.0, 0.0, 0.0), ())),
    )


def told(study: Study) -> dict[str, str]:
    """Give the sections of the screen, each as one text with single spaces."""
    found: dict[str, list[str]] = {}
    title = ""
    for line in screen(study, Path("there"))[2 : -len(CAUTIONS)]:
        title = line[:13].strip() or title
        found.setdefault(title, []).append(line[13:])
    return {t: " ".join(" ".join(lines).split()) for t, lines in found.items()}


TITLES = ["MOTION", "CLEARANCES", "AT THE WHEEL", "LET GO", "SAFETY", "LOADS", "DRIVE", "SHAFTS", "PARTS", "MASS",
          "STEPS", "DEFAULTS", "LEFT OUT", "NOT JUDGED", "NEEDS CHANGE"]  # fmt: skip


def test_the_screen_is_one_screen_in_the_order_of_importance(made: Study) -> None:
    lines = screen(made, Path("there"))
    assert lines[0] == "Wall moth"
    assert lines[1].startswith("Compare first: there/drawing.png - is this your piece?")
    assert list(told(made)) == TITLES
    assert lines[-2:] == list(CAUTIONS)
    assert len(lines) <= 75
    # The table of loads alone may run a little over.
    assert [line for line in lines if len(line) > SCREEN + 4] == []


def test_what_rests_on_friction_is_a_range(made: Study) -> None:
    by = {r.nominal.what: r for r in made.ranges if r.nominal.case == made.turn.label}
    force = by["largest hand force"]
    assert force.low is not None
    assert force.high is not None
    wheel = told(made)["AT THE WHEEL"]
    assert f"hand, slow turn {span((force.low.value, force.high.value), 'force')} at" in wheel
    assert "rests on assumed strengths" in wheel
    assert "child of 5 or 6 STUCK after" in wheel
    assert "worst of 2 angles" in told(made)["LET GO"]
    assert " to " in told(made)["LET GO"].split("peak rim speed")[1].split(";")[0]


def test_a_limit_is_judged_by_the_worst_of_a_range(made: Study) -> None:
    def with_peak(low: float, high: float) -> Study:
        ranges = [_stretched(r, low, high) if ", against " in r.nominal.what or r.nominal.what.startswith("peak rim or")
                  else r for r in made.ranges]  # fmt: skip
        return replace(made, ranges=tuple(ranges))

    assert "13 ft/s: ok, 5 m/s: ok" in told(with_peak(3.8, 1.0))["LET GO"]
    over = with_peak(4.5, 1.0)
    assert "13 ft/s: BEYOND, 5 m/s: ok" in told(over)["LET GO"]
    assert any("with low friction only" in line and "13 ft/s" in line for line in needs(over))


def _stretched(r: Range, low: float, high: float) -> Range:
    assert r.low is not None
    assert r.high is not None
    if r.nominal.case.startswith("turned"):
        return r
    return Range(
        replace(r.low, value=low), replace(r.nominal, value=(low + high) / 2), replace(r.high, value=high)
    )


def test_loads_name_case_direction_and_what_comes_up_in_use(made: Study) -> None:
    loads = made.loads
    assert loads.mirrored
    key = ("left wing rod end at crank", "largest force")
    over = next(f for f in made.envelope.loads if (f.where, f.what) == key)
    assert "blocked" in over.case  # an upper bound, which has a column of its own
    worst = loads.met[key]
    every = [f.value for name, own in made.envelope.by_case.items() for f in own
             if (f.where, f.what) == key and name != "blocked"]  # fmt: skip
    assert worst.value == max(every)
    assert loads.bound[key].value == over.value > worst.value
    assert loads.used[key].value <= worst.value
    run = next(r for r in made.campaign.runs if r.label == worst.case)
    vector = run.extreme("joints/left wing rod end at crank/force", "largest").vector
    assert direction(loads, worst) == ", ".join(f"{v:.0f}" for v in vector).replace("-0,", "0,")
    row = next(line for line in screen(made, Path("x")) if "rod end" in line and loads.case(worst) in line)
    assert f"{over.value / 1000:.3g} kN" in row


def test_the_whole_summary_has_every_joint_and_every_case(made: Study) -> None:
    text = markdown(made)
    parts = {part.splitlines()[0]: part for part in text.split("\n## ")}
    every = parts["Every load: what moves on what is nearer the ground"]
    for joint in {f.where for f in made.envelope.loads}:
        assert f"| {joint} |" in every
    assert "| joint | what | size | direction: forward, left, up | load case | time | crank angle |" in every
    worst = parts["The worst of each load case"]
    for name in made.envelope.by_case:
        assert f"\n| {name} |" in worst
    assert "lifted: the description names no lift point; write [[lift]]" in parts["Load cases left out"]
    for line in (*clearances.NOT_JUDGED, *safety.NOT_COVERED):
        assert line in NOT_JUDGED
        assert f"- {line}" in parts["Not judged"]
    for name in figures(made):
        assert f"({name}.png)" in text
    rows = [line for line in parts["Let go at every angle"].splitlines() if line.startswith("| ")]
    assert len(rows) == 2 + len(made.gone)
    table = [line.count(" | ") for line in every.splitlines() if line.startswith("| ")]
    assert len(set(table)) == 1


def test_what_is_judged_now_is_no_longer_listed_as_not_judged() -> None:
    said = " ".join(NOT_JUDGED)
    for judged in (
        "pretension",
        "coupling wind-up",
        "finger traps",
        "hands that grab",
        "people who hang on",
        "least value",
        "fatigue",
    ):
        assert judged not in said
    for left in (
        "loads along the shaft that stiffen it",
        "chordal action",
        "third bearing",
        "buckling",
        "upper bound",
        "corrosion",
    ):
        assert left in said


def test_chains_are_told_with_their_spread(chained: Study) -> None:
    drive, chains = told(chained)["DRIVE"], told(chained)["CHAINS"]
    assert "stage 1 chain slack taken up with 80 to 150 N over step, stiffness, damping" in drive
    assert "stage 2 chain no strand is taken up slack in the worst let go" in drive
    assert "lost motion" in drive
    # 412 links at 2450 mm (read from the demo's description and its own check).
    assert "stage 1 chain 412 links at 2450.0 mm; excess 7.5 mm, at most 0.653 mm: BEYOND" in chains
    assert "CROSSES THE POST'S WALL on its front" in chains
    assert "rigidity times 0.5" in markdown(chained)


def test_collisions_come_first_and_gaps_by_their_sizes(made: Study) -> None:
    assert "least, less allowances" in told(made)["CLEARANCES"]
    hit = [
        replace(f, value=-0.004) if f.what.startswith("least clearance") else f for f in made.clearances[:1]
    ]
    worse = told(replace(made, clearances=(*hit, *made.clearances[1:])))["CLEARANCES"]
    assert worse.startswith("COLLIDES")
    assert "-4 mm" in worse
    assert "gaps that close within reach" in worse
    assert "nothing comes nearer than 100 mm" in told(replace(made, clearances=()))["CLEARANCES"]


def test_steps_say_what_was_checked_and_what_moves(made: Study) -> None:
    assert "checked" in told(made)["STEPS"]
    group = made.campaign.groups[0]
    run = group.runs[0]

    def with_peaks(*peaks: Peak) -> Study:
        groups = (replace(group, runs=(replace(run, peaks=peaks),)), *made.campaign.groups[1:])
        return replace(made, campaign=replace(made.campaign, groups=groups))

    moved = with_peaks(Peak("torques/hand/torque", "max", (5.0, 5.2, 5.3)))
    assert "over 1 %: hand torque 5.7 % (slow-turn)" in told(moved)["STEPS"]
    rounding = with_peaks(Peak("torques/hand/torque", "max", (5e-17, 6e-17, 7e-17)))
    assert rounding.restless
    assert sensitive(rounding) == [pair for pair in sensitive(made) if pair[0].label != run.label]


def test_cases_left_out_for_one_reason_share_a_line(made: Study) -> None:
    gone = tuple(Group(n, Case(n, "hang", "s"), (), "too high") for n in ("one", "two"))
    more = replace(made, campaign=replace(made.campaign, groups=(*made.campaign.groups, *gone)))
    assert "one, two: too high" in told(more)["LEFT OUT"]
    assert "lifted: the description names no lift point" in told(more)["LEFT OUT"]


def test_failed_runs_are_named(made: Study) -> None:
    group = next(g for g in made.campaign.groups if g.name == "gust-locked")
    bad = replace(group, runs=tuple(replace(r, status="failed", reason="it broke") for r in group.runs))
    groups = tuple(bad if g is group else g for g in made.campaign.groups)
    failed = replace(made, campaign=replace(made.campaign, groups=groups))
    assert f"FAILED {group.runs[0].label}: it broke" in told(failed)["STEPS"]


def test_every_figure_of_a_study_is_drawn(made: Study) -> None:
    assert figures(made) == {"panel-angles", "wheel-torque", "let-go", "loads", *SHAFTS}
    for name in figures(made):
        assert figure(made, name).axes


def test_what_needs_change_is_told_once_on_the_screen_and_whole_in_the_summary(made: Study) -> None:
    limit = Limit(1.0, "most", "somebody's rule")
    two = [
        Finding("peak torque", 2.0, "torque", f"{s} coupling", made.turn.label, limit=limit)
        for s in ("left", "right")
    ]
    changed_ = replace(made, drive=(*made.drive, *two))
    brief = [line for line in needs(changed_, brief=True) if "peak torque" in line]
    assert brief == ["left coupling: peak torque 2 N m, wanted at most 1 N m (slow-turn)"]
    assert len([line for line in needs(changed_) if "peak torque" in line and "somebody's rule" in line]) == 2
    calm = replace(made, motion=(), clearances=(), hand=(), start=(), reach=(), let_go=(), safety=(), drive=(), whip=(),
                   strength=(), shafts=None, schedule=None, chains=(), paths=(), masses=(),
                   ranges=(),
                   envelope=replace(made.envelope, loads=()))  # fmt: skip
    assert needs(calm) == ["nothing found beyond its limit, among what is judged"]


def test_ranges_in_words() -> None:
    assert span((30.0, 20.0), "force") == "20 to 30 N (4.5 to 6.7 lbf)"
    assert span((20.0, 20.0), "force") == "20 N (4.5 lbf)"
    assert span((0.5, 0.7, 0.6), "angle") == "28.6 to 40.1 deg"
    assert span((5000.0, 20000.0), "force") == "5000 N (1124 lbf) to 20 kN (4496 lbf)"  # units differ


def test_a_section_keeps_its_columns() -> None:
    lines = section("TITLE", [("label", "words " * 40), ("a label that is far too long for it", "x")])
    assert lines[0].startswith("TITLE        label")
    assert all(len(line) <= SCREEN for line in lines)
    at = lines[0].index("words")
    assert lines[1].index("words") == at
    assert lines[-1].index("x") == at
    assert lines[-2].strip() == "a label that is far too long for it"


def test_torque_limits_and_hubs_have_their_rows(made: Study) -> None:
    hub = Finding(
        drive_line.THROUGH, 12.0, "torque", "wheel hub", made.turn.label, limit=Limit(10.0, "most", "slip")
    )
    window = Finding("largest torque of ordinary use", 8.0, "torque", "torque limiter", "all load cases")
    loads = replace(made.envelope, loads=(*made.envelope.loads, hub))
    drive = told(replace(made, envelope=loads, drive=(*made.drive, window)))["DRIVE"]
    assert "wheel hub largest torque through it 12 N m" in drive
    assert "torque limiter largest torque of ordinary use 8 N m" in drive
