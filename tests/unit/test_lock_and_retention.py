"""The lock at the wheel against at the crankshafts, bolts of wheel and housings, and what holds when a part fails."""

from dataclasses import replace

import numpy as np
import pytest
from parts_basis import demo
from parts_changed import judged

from analysis.parts import fasteners, lock, retention
from analysis.parts.basis import Basis
from analysis.parts.lock import PIN, as_usual, holds, pin_load
from models.fixing import Lock
from models.people import people
from sim import names
from sim.campaign import Campaign, Group
from sim.run import Channel
from sim.scenarios.broken import parts


def test_the_torque_at_the_wheel_is_that_of_both_sides_over_the_reduction() -> None:
    basis = demo()
    m = basis.mechanism
    wheel, crank = (holds(basis, as_usual(m, at, 1)) for at in lock.PLACES)
    assert wheel.worst is not None
    assert crank.worst is not None
    run = basis.loads.runs[wheel.worst.label]
    both = sum(run[f"torques/{names.coupling(s.name)}/torque"] for s in m.sides)
    assert wheel.worst.value == pytest.approx(float(np.max(np.abs(both))) / m.reduction)
    assert crank.worst.value == pytest.approx(basis.loads.met["left coupling", "peak torque"].value)
    assert wheel.worst.case == crank.worst.case == "gust-locked"


def test_somebody_who_pushes_the_locked_wheel_is_counted() -> None:
    basis = demo()
    m = basis.mechanism
    push = people()["adult"].push * m.wheel.radius
    wheel, crank = (holds(basis, as_usual(m, at, 1)) for at in lock.PLACES)
    assert (wheel.push, crank.push) == (pytest.approx(push), pytest.approx(push * m.reduction))
    assert wheel.worst is not None
    assert wheel.force == pytest.approx((wheel.worst.value + push) / 0.304)


def test_a_pin_in_double_shear_carries_half_in_each_plane_and_bends_less() -> None:
    single, double = (pin_load(Lock("wheel", 0.3, planes=n), 1000.0) for n in (1, 2))
    assert (single.plane, double.plane) == (1000.0, 500.0)
    assert single.moment == pytest.approx(1000 * 0.007)
    assert double.moment == pytest.approx(1000 / 8 * (0.03 + 0.008))
    assert double.moment < single.moment


def test_without_a_lock_there_is_a_table_of_both_places() -> None:
    basis = demo()
    assert lock.lines(basis) == ()
    (table,) = lock.tables(basis)
    assert [r[0] for r in table.rows[1:]] == ["wheel", "wheel", "crank, each side", "crank, each side"]
    at_wheel, at_crank = table.rows[1], table.rows[3]
    assert "chains, keys and couplings carry" in at_wheel[-1]
    assert "nothing holds the wings behind it" in at_wheel[-1]
    assert "without the drive" in at_crank[-1]
    assert "stage 1 chain, stage 2 chain" in table.note


def test_a_lock_of_the_description_is_judged_where_it_is() -> None:
    thin = {"at": "crank", "radius": "60 mm", "pin": "8 mm"}
    found = lock.lines(_locked(thin))
    assert [(x.family, x.where, x.system, x.count) for x in found] == [
        (PIN, "at the crank", "metric", 2), (PIN, "at the crank", "inch", 2)
    ]  # fmt: skip
    beyond = [f for x in found for f in x.findings if f.beyond]
    assert any(f.what == "bending, locking pin 8 mm (0.315 in)" for f in beyond)
    assert [x.described is not None for x in found] == [True, False]
    thick = lock.lines(_locked({"at": "crank", "radius": "60 mm", "pin": "16 mm"}))
    assert not [f for x in thick for f in x.findings if f.beyond]


def _locked(given: dict[str, str]) -> Basis:
    return judged("manta", {"lock": given})


def test_a_lock_at_the_wheel_holds_no_more_than_what_slips_behind_it() -> None:
    """12.7 N m of the wings at the wheel times 1.5 is 19 N m: a hub that slips at 15 lets go, one at 25 not."""
    for slip, holding in (("15 N m", False), ("25 N m", True)):
        basis = judged("manta", {"wheel.slip": slip, "lock": {"at": "wheel", "pin": "20 mm"}})
        found = [x for x in lock.lines(basis) if x.system == "metric"]
        assert [x.described.holds for x in found if x.described] == [holding]
        assert (found[0].chosen is not None) == holding
        assert f"the wheel hub slips at {slip}" in lock.tables(basis)[0].rows[1][-1]
        at_crank = judged("manta", {"wheel.slip": slip, "lock": {"at": "crank", "pin": "20 mm"}})
        assert all(x.chosen for x in lock.lines(at_crank))
    # 60 N m at the first stage's shaft are 60 x 13 / 38 at the wheel.
    limited = judged("manta", {"limiter": {"at": "stage 1", "torque": "60 N m"}}).mechanism
    assert lock.gives_way(limited) == (pytest.approx(60 * 13 / 38), names.LIMITER)
    assert lock.gives_way(demo().mechanism) is None


def test_bolts_of_wheel_and_housings() -> None:
    basis = demo()
    found = fasteners.lines(basis)
    by = {(x.where, x.system): x for x in found}
    wheel = by["wheel on its hub", "metric"]
    assert wheel.count == 6
    assert wheel.chosen is not None
    blocked = next(c for c in wheel.chosen.checks if "blocked" in c.what)
    weight = 6 * (blocked.demand - people()["adult"].push * 0.38 / 6 / (0.065 / 2))
    # 43 kg of disc, 6 kg of rim bar and 1.5 kg of hub.
    assert 400 < weight < 600
    assert by["locating bearing", "metric"].count == 4
    assert by["centre shaft left bearing", "inch"].count == 2
    assert len(found) == 2 * (1 + 2 + 6)
    assert not [x for x in fasteners.lines(demo("moth")) if x.family == fasteners.WHEEL]


def test_what_is_not_described_is_said() -> None:
    (table,) = fasteners.tables(demo())
    joints = [r[0] for r in table.rows]
    assert "left coupling (elastic)" in joints
    assert "sprocket on stage 2 driven hub" in joints
    # Mirrored sides: what one coupling may carry the other may.
    (moth,) = fasteners.tables(demo("moth"))
    left, right = (next(r for r in moth.rows if r[0].startswith(s)) for s in ("left", "right"))
    assert left[1] == right[1]


def test_every_part_that_can_break_has_its_row() -> None:
    basis = demo()
    (table,) = retention.tables(basis)
    assert len(table.rows) == 1 + len(parts(basis.linkage))
    assert all(r[3].startswith("not known") for r in table.rows[1:])


def test_what_a_part_sets_free_follows_from_the_drive_and_the_panels() -> None:
    m = demo().mechanism
    first, second = (retention.fails(m, names.stage(k)) for k in (1, 2))
    assert "stage 2 chain and the couplings turn with the wings" in first[1]
    assert "nothing but friction" in second[1]
    inner, outer = (retention.fails(m, names.rod("left", p)) for p in ("inner", "outer"))
    assert "outer rides on it" in inner[0]
    assert "the rod of outer" in inner[1]
    assert outer[1] == "its hinge on the inner panel alone"
    assert "washer wider than the ball" in inner[2]
    assert "the other side stays" in retention.fails(m, names.coupling("left"))[1]
    with pytest.raises(ValueError, match="'hat' is no chain, rod or coupling"):
        retention.fails(m, "hat")


def test_which_panels_a_part_concerns() -> None:
    left, right = demo().mechanism.sides
    assert [retention.concerns("left inner rod", left, p) for p in ("inner", "outer")] == [True, True]
    assert [retention.concerns("left outer rod", left, p) for p in ("inner", "outer")] == [False, True]
    assert not retention.concerns("left inner rod", right, "inner")
    assert retention.concerns("right coupling", right, "outer")
    assert not retention.concerns("right coupling", left, "outer")
    assert retention.concerns("stage 1 chain", left, "inner")


def test_a_run_says_how_far_and_fast_it_falls() -> None:
    basis = demo()
    base = basis.loads.campaign.runs[0]
    angle = np.radians([10.0, 20.0, -50.0, -40.0])
    speed = np.array([[0, 0, 0], [0, 1, 2], [0, 0, 3.5], [0, 0, 1]], dtype=float)
    channels = {
        "panels/left outer/angle": Channel(angle, "rad", ""),
        "bodies/left outer panel/velocity": Channel(speed, "m/s", "", "world"),
        "panels/left inner/angle": Channel(angle * 0.1, "rad", ""),
        "energy/kinetic/energy": Channel(np.array([0.0, 5.0, 21.0, 2.0]), "J", ""),
    }
    run = replace(
        base, case="broken", scenario={"part": "left outer rod"}, time=np.arange(4.0), channels=channels
    )
    said = retention.falls(run, basis.mechanism, "left outer rod")
    assert said == (
        "left outer swings through 70 deg, its middle at up to 3.5 m/s (11 ft/s); energy up to 21 J (15 ft lbf)"
    )
    group = Group("broken", replace(basis.loads.campaign.groups[0].case, kind="broken"), (run,))
    held = replace(basis, loads=replace(basis.loads, campaign=Campaign((group,), (), (), ())))
    rows = {r[0]: r for r in retention.tables(held)[0].rows}
    assert rows["left outer rod"][3] == said
    assert rows["left inner rod"][3].startswith("not known")
