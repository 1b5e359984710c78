"""What the findings on clearances and squeezing say; the distances themselves are tested with sim.clearance."""

from dataclasses import replace

import numpy as np
import pytest
from examples import MANTA, MOTH

from analysis.allowances import Allowance, Deduction, gains, standard
from analysis.clearances import NEAR, of_linkage
from analysis.finding import Finding
from analysis.squeezing import PRESSED, REACH, Gap, closes_on, of_gaps, of_hinges, wedge_place, wedges
from models.loading import load, loads
from models.resolve import mechanism
from sim.builders import Linkage, linkage
from sim.clearance import clearances, travels
from sim.clearance.solids import solids
from sim.linkage import close


def _closed(changes: dict[str, object] | None = None) -> Linkage:
    return linkage(mechanism(load(MANTA, changes or {})))


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return _closed()


@pytest.fixture(scope="module")
def found(manta: Linkage) -> list[Finding]:
    return of_linkage(manta)


def _one(found: list[Finding], what: str) -> Finding:
    (only,) = [f for f in found if f.what == what]
    return only


def test_a_counterweight_beside_the_throw_is_hit_by_the_leaning_rod() -> None:
    """The outer rod leans inwards as far as a counterweight 70 mm inside its throw (computed)."""
    weight = {"mass": "4 kg", "radius": "150 mm", "angle": "140 deg", "out": "760 mm"}
    hit = _one(
        of_linkage(_closed({"crank.counterweight": [weight]})), "least clearance, rod and counterweight"
    )
    assert hit.beyond
    assert hit.where == "left outer rod and left counterweight 1"
    assert "overlap as drawn" in hit.note
    assert "steel ball" in hit.note
    assert hit.crank_degrees == pytest.approx(221, abs=3)


def test_nothing_of_the_demo_collides(found: list[Finding]) -> None:
    assert not [f.where for f in found if f.what.startswith("least clearance") and f.beyond]


def test_a_counterweight_farther_in_is_clear_of_the_rod() -> None:
    weight = {"mass": "4 kg", "radius": "150 mm", "angle": "140 deg", "out": "700 mm"}
    moved = of_linkage(_closed({"crank.counterweight": [weight]}))
    near = [f for f in moved if f.what == "least clearance, rod and counterweight"]
    # 60 mm farther in than where it just touches; the rod is round, so no less than 50 of them are gained.
    assert not near or near[0].value > 0.05


def test_clearances_come_worst_first_one_for_each_kind_of_pair(found: list[Finding]) -> None:
    least = [f for f in found if f.what.startswith("least clearance")]
    assert 4 < len(least) < 16
    assert [f.value for f in least] == sorted(f.value for f in least)
    assert len({f.what for f in least}) == len(least)
    assert all(f.value < NEAR and f.limit is not None and f.limit.value == 0 for f in least)
    assert all(np.isfinite(f.value) for f in found)
    assert len(found) < 30


def test_the_tolerance_is_taken_off(manta: Linkage, found: list[Finding]) -> None:
    none = {f.what: f.value for f in of_linkage(manta, Allowance(tolerance=0.0))}
    for f in (f for f in found if f.what.startswith("least clearance")):
        assert none[f.what] - f.value == pytest.approx(0.003, abs=1e-12)


def test_whip_moves_panels_by_their_gain(manta: Linkage) -> None:
    """Gains against a crank pin that is really moved: by closing the loops with the throw a little longer."""
    side = manta.sides[0].side
    by = 1e-6
    crank = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    at_rest = manta.sides[0].course(crank)
    for way in (-by, by):
        panels = tuple(replace(p, throw_radius=p.throw_radius + way) for p in side.panels)
        moved = close(replace(side, panels=panels)).course(crank)
        for a, b, (yoke, far) in zip(at_rest, moved, gains(manta.sides[0]), strict=True):
            went = np.linalg.norm(b.yoke.value - a.yoke.value, axis=1).max() / by
            assert went <= yoke * (1 + 1e-4)  # the gains are of first order
            reach = np.abs(np.array(a.panel.plate.outline.exterior)[:, 1]).max()
            tip = [c.hinge.value + reach * np.stack([0 * crank, np.cos(c.angle.value), np.sin(c.angle.value)], -1)
                   for c in (a, b)]  # fmt: skip
            assert np.linalg.norm(tip[1] - tip[0], axis=1).max() / by <= far * (1 + 1e-4)


def test_whip_and_slack_are_taken_off_where_they_act(manta: Linkage) -> None:
    parts = solids(manta.mechanism)
    speeds = {t.part.name: t.fastest for t in travels(manta.sides, parts)}
    allowance = Allowance(whip=0.001, slack=0.02, tolerance=0.0)
    deduction = Deduction(manta.sides, allowance, speeds)
    near = {(c.pair.first.name, c.pair.second.name): c.pair for c in clearances(manta.sides, parts)}
    throw = deduction.of(near["left outer throw", "left bearing at 930 mm"])
    assert throw == pytest.approx(0.001)  # the crankshaft moves, its bearing does not
    inner = near["left inner panel", "right inner panel"]
    far = gains(manta.sides[0])[0][1]
    # Both panels by their gains, and one by what it moves in .02 rad.
    assert deduction.of(inner) == pytest.approx(0.002 * far + 0.02 * speeds["left inner panel"])
    one_side = near["left outer rod", "left counterweight 1"]
    assert deduction.of(one_side) == pytest.approx(0.001 * (1 + max(1.0, gains(manta.sides[0])[1][0])))


def test_the_couplings_backlash_is_slack_between_the_sides() -> None:
    coupling = {"kind": "elastic", "mass": "0.6 kg", "diameter": "65 mm", "stiffness": "900 N m/rad"}
    loose = _closed({"crank.coupling": {**coupling, "backlash": "2 deg"}})
    # Each of two couplings floats by 1 deg either way.
    assert standard(loose.mechanism).slack == pytest.approx(np.radians(2))
    assert standard(_closed().mechanism).slack == 0


def test_room_for_the_rod_ends(found: list[Finding]) -> None:
    # 50 mm between the webs, a ball of 22.2 mm is taken for .75 times as wide.
    assert _one(found, "room along the pin for a rod end between its webs").value == pytest.approx(0.03335)


def test_heights(manta: Linkage, found: list[Finding]) -> None:
    low = _one(found, "lowest point above ground of all that moves but the wheel")
    # The outer throw's web, 200 + 25 mm below the axis, with a corner 25 mm beside: hypot(225, 25).
    assert low.value == pytest.approx(3.0 - np.hypot(0.225, 0.025), abs=1e-5)
    assert "2030 mm" in low.note
    high = _one(found, "highest point above ground of all that moves")
    outer = manta.sides[0].course(np.linspace(0, 2 * np.pi, 720))[1]
    tip = outer.hinge.value[:, 2] + 0.76 * np.sin(outer.angle.value) + 0.0015 * np.cos(outer.angle.value)
    assert high.value == pytest.approx(3.0 + tip.max(), abs=1e-5)


# Gaps that close. The sizes are those of ISO 13854 (read).


@pytest.mark.parametrize(
    ("least", "largest", "names"),
    [
        (0.03, 0.11, ["hand"]),
        (0.02, 0.13, ["foot", "arm", "hand", "finger"]),
        (0.13, 0.17, []),
        (0.17, 0.55, ["body", "head", "leg"]),
        (0.0, 0.02, []),
        (0.025, 0.1, ["hand"]),  # just as wide as the size is wide enough
    ],
)
def test_what_a_gap_closes_on(least: float, largest: float, names: list[str]) -> None:
    assert [name for name, _ in closes_on(least, largest)] == names


def _gap(label: str, least: float, largest: float, height: float) -> Gap:
    return Gap(label, f"{label} at {height:g}", least, largest, 0.0, height)


def test_only_gaps_in_reach_are_held_against_the_sizes() -> None:
    above = of_gaps([_gap("a", 0.02, 0.6, 2.9), _gap("b", 0.02, 0.2, 3.0)])
    (only,) = above
    assert only.value == 2.9
    assert not only.beyond
    within = of_gaps([_gap("a", 0.02, 0.6, 2.0), _gap("a", 0.01, 0.11, 1.0), _gap("b", 0.02, 0.2, 3.0)])
    height, worst = within
    assert height.beyond
    assert height.value == 1.0
    assert height.limit is not None
    assert height.limit.value == REACH
    assert worst.beyond
    assert worst.value == 0.02
    assert worst.limit is not None
    assert worst.limit.value == 0.5
    assert "2 such pairs, the narrowest a at 1" in worst.note


def test_a_gap_too_narrow_for_grown_ups_still_squeezes_children() -> None:
    _, found = of_gaps([_gap("a", 0.004, 0.02, 1.0)])
    assert found.limit is not None
    assert found.limit.value == 0.018
    assert "children" in found.limit.source
    assert of_gaps([_gap("a", 0.0100, 0.0105, 1.0)]) == []  # hardly moves
    assert of_gaps([_gap("a", 0.001, 0.006, 1.0)]) == []  # no finger gets in


def test_the_demo_is_out_of_reach_and_lowered_is_not(found: list[Finding]) -> None:
    what = "lowest place above ground at which a gap closes on a part of the body"
    assert not _one(found, what).beyond
    assert not [f for f in found if f.what.startswith("gap that closes")]
    low = of_linkage(_closed({"crank.height": "1600 mm"}))
    assert _one(low, what).beyond
    assert _one(low, what).value < 1.6
    closing = [f for f in low if f.what.startswith("gap that closes")]
    assert closing
    assert all(f.beyond for f in closing)
    sizes = [f.limit.value for f in closing if f.limit]
    assert sizes == sorted(sizes, reverse=True)


def test_one_sided_sculptures_have_clearances_too() -> None:
    found = of_linkage(linkage(mechanism(loads(MOTH))))
    assert any("wing rod and left wing throw" in f.where for f in found)
    assert not [f for f in found if "right" in f.where]


# Hinges.


@pytest.mark.parametrize("opening", [20.0, 90.0, 150.0, 180.0])
def test_a_wedge_is_as_wide_as_its_faces_are_apart(opening: float) -> None:
    """Two faces, each half a thickness inside its plate's middle, at the place found: by coordinates."""
    angle, thickness = np.radians(opening), 0.004
    s = wedge_place(0.025, angle, thickness)
    first = np.array([s, thickness / 2])
    second = s * np.array([np.cos(angle), np.sin(angle)]) + thickness / 2 * np.array(
        [np.sin(angle), -np.cos(angle)]
    )
    assert np.linalg.norm(second - first) == pytest.approx(0.025)


def test_the_demos_hinge(manta: Linkage, found: list[Finding]) -> None:
    inner, outer = manta.sides[0].course(np.linspace(0, 2 * np.pi, 1440, endpoint=False))
    above, below = wedges(inner, outer)
    fold = outer.angle.value - inner.angle.value
    assert below.least == pytest.approx(np.pi + fold.min(), abs=1e-5)
    assert above.least == pytest.approx(np.pi - fold.max(), abs=1e-5)
    assert above.largest == below.largest == pytest.approx(np.pi)  # it passes through flat
    assert below.start == pytest.approx(0.0125)
    assert below.end == pytest.approx(wedge_place(0.025, below.least, 0.0035))
    assert below.pressed == pytest.approx(
        2 * 0.0125 * np.sin(below.least / 2) - 0.0035 * np.cos(below.least / 2)
    )
    hinge = _one(found, "length beside the hinge on which a finger is squeezed")
    assert hinge.value == pytest.approx(below.length)
    assert hinge.limit is None  # at 3.5 m
    lowered = of_hinges(manta.sides[:1], replace(manta.mechanism, crank_height=1.0))
    assert lowered[0].limit is not None
    assert lowered[0].limit.value == PRESSED
    assert lowered[0].beyond


def test_a_wedge_ends_where_the_plates_end(manta: Linkage) -> None:
    courses = manta.sides[0].course(np.linspace(0, 2 * np.pi, 1440, endpoint=False))
    inner, outer = courses
    folded = replace(outer, angle=replace(outer.angle, value=inner.angle.value - np.radians(178.5)
                                          + np.radians(2) * np.sin(np.arange(1440) / 1440 * 2 * np.pi)))  # fmt: skip
    _, below = wedges(inner, folded)
    assert below.least == pytest.approx(1e-3)  # shut
    assert below.end == 0.5  # the inner panel's depth; the outer one's is 760 mm
    assert below.pressed == 0
