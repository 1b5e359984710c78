"""Keys: their sections, lengths and stresses, hubs and what slips before."""

from pathlib import Path

import numpy as np
import pytest
from parts_basis import demo
from parts_changed import judged

from analysis.parts.hubs import hubs, slips, torque
from analysis.parts.keys import key_stresses, lengths, lines, tables
from models.loading import load
from models.mechanism import Mechanism
from models.parts.catalogue import catalogue
from models.parts.keys import KEYS, Key, for_shaft
from models.people import people
from models.resolve import mechanism

MODELS = Path(__file__).parents[2] / "models"


def keys(system: str) -> tuple[Key, ...]:
    return tuple(k for k in catalogue(KEYS) if k.system == system)


def settled(**changes: object) -> Mechanism:
    return mechanism(load(MODELS / "manta.toml", {k.replace("__", "."): v for k, v in changes.items()}))


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_sections_follow_each_other_without_a_gap(system: str) -> None:
    rows = keys(system)
    assert [k.above for k in rows[1:]] == pytest.approx([k.upto for k in rows[:-1]])
    for k in rows:
        # The depths of both keyways leave room on top of the key, or none for inch keys.
        assert k.shaft_depth + k.hub_depth >= k.height - 1e-9
        assert 0 < k.side <= k.height / 2 + 1e-9


def test_the_section_of_a_shaft() -> None:
    metric = keys("metric")
    found = [for_shaft(metric, d / 1000) for d in (22, 22.1, 30, 25.4, 38)]
    assert [k.size if k else None for k in found] == ["6 x 6", "8 x 7", "8 x 7", "8 x 7", "10 x 8"]
    assert for_shaft(metric, 0.005) is None
    assert for_shaft(metric, 0.07) is None
    inch = for_shaft(keys("inch"), 1.25 * 0.0254)
    assert inch is not None
    assert inch.width == pytest.approx(0.25 * 0.0254)


def test_lengths_end_with_the_first_that_is_too_long() -> None:
    key = for_shaft(keys("metric"), 0.0254)
    assert key is not None
    found = lengths(key, 0.0254)
    assert [round(x.length * 1000) for x in found] == [18, 20, 22, 25, 28, 32, 36, 40]
    assert found[-1].length > 1.5 * 0.0254 > found[-2].length
    # Round ends carry nothing; a key cut from bar carries all along.
    assert found[0].carries == pytest.approx(0.010)
    inch = for_shaft(keys("inch"), 0.0254)
    assert inch is not None
    assert all(x.carries == x.length for x in lengths(inch, 0.0254))


def test_stresses_of_a_key() -> None:
    shear, side = key_stresses(100.0, 0.025, 0.008, 0.003, 0.02)
    assert (shear, side) == (pytest.approx(8000 / 160e-6), pytest.approx(8000 / 60e-6))
    assert key_stresses(100.0, 0.025, 0.008, 0.003, 0.04) == pytest.approx((shear / 2, side / 2))


def test_hubs_turn_as_their_stages_make_them() -> None:
    m = settled()
    found = {h.name: h for h in hubs(m)}
    assert len(found) == 1 + 2 * 2 + 2 * 2
    assert found["stage 1 driver hub"].turns == 1.0
    assert found["stage 1 driven hub"].turns == found["stage 2 driver hub"].turns == pytest.approx(38 / 13)
    assert found["left coupling, crankshaft"].turns == pytest.approx(m.reduction)


def test_what_slips_before_a_hub() -> None:
    m = settled(wheel__slip="40 N m", stage__2__slips={"driven": "250 N m"})
    found = {h.name: slips(m, h) for h in hubs(m)}
    assert found["wheel hub"] == (40.0, "wheel hub")
    assert found["stage 1 driven hub"] == (pytest.approx(40 * 38 / 13), "wheel hub")
    # 40 N m at the wheel would be 312 N m here: the driven hub slips before.
    assert found["left coupling, crankshaft"] == (250.0, "stage 2 driven hub")
    limited = settled(limiter={"at": "stage 1", "torque": "60 N m"})
    by_name = {h.name: slips(limited, h) for h in hubs(limited)}
    assert by_name["wheel hub"] is None
    assert by_name["stage 2 driven hub"] == (pytest.approx(60 * 40 / 15), "torque limiter")


def test_torques_of_the_demo_go_with_the_teeth() -> None:
    basis = demo()
    m = basis.mechanism
    run = next(g for g in basis.loads.campaign.groups if g.name == "gust-locked").runs[0]
    by = {h.name: t for h in hubs(m) if (t := torque(run, m, h)) is not None}
    assert len(by) == len(hubs(m))
    assert by["stage 2 driver hub"] == pytest.approx(by["stage 2 driven hub"] * 15 / 40)
    assert by["wheel hub"] == pytest.approx(by["stage 1 driver hub"])
    # Standing still the last driven hub carries both couplings, and each shaft passes on what it gets.
    both = by["left coupling, crankshaft"] + by["right coupling, crankshaft"]
    assert float(np.max(np.abs(by["stage 2 driven hub"] - both))) < 0.02 * float(np.max(np.abs(both)))


def test_keys_of_the_demo() -> None:
    found = lines(demo())
    by = {(x.where, x.system): x for x in found}
    crank = by["coupling, crankshaft", "inch"]
    assert crank.count == 2
    # Blocked, each coupling carries the adult's push at the rim times the reduction: 41.8 N m x 7.795.
    blocked = [c for s in (crank.chosen, crank.nearest) if s for c in s.checks if "blocked" in c.what]
    assert blocked
    pressure = next(c for c in blocked if c.what.startswith("pressure"))
    m = demo().mechanism
    push = people()["adult"].push * m.wheel.radius * m.reduction
    key = for_shaft(keys("inch"), 0.0254)
    assert key is not None
    assert crank.chosen is not None
    length = next(x.length for x in lengths(key, 0.0254) if x.size == crank.chosen.size)
    assert pressure.demand == pytest.approx(2 * push / 0.0254 / (key.side * length), rel=0.02)
    # A quarter less of it would be too short.
    assert crank.governs is not None
    assert "blocked" in crank.governs.what
    metric = by["coupling, crankshaft", "metric"]
    assert metric.chosen is None
    assert any("two keys" in n for n in metric.notes)
    assert by["wheel hub", "metric"].count == 1


def test_a_slipping_hub_bounds_the_key() -> None:
    free, slipping = demo(), judged("manta", {"wheel.slip": "15 N m"})
    for basis, expected in ((free, "nothing"), (slipping, "wheel hub, ")):
        row = next(r for r in tables(basis)[0].rows if r[0] == "coupling, crankshaft")
        assert row[5].startswith(expected)
    held = next(x for x in lines(slipping) if (x.where, x.system) == ("coupling, crankshaft", "metric"))
    assert held.chosen is not None


def test_a_hub_that_shall_slip_has_no_key() -> None:
    """A key in it would hold what bounds the torque of everything after it."""
    basis = judged("manta", {"wheel.slip": "15 N m"})
    assert "wheel hub" not in {x.where for x in lines(basis)}
    assert {x.where for x in lines(basis)} == {x.where for x in lines(demo())} - {"wheel hub"}
    (table,) = tables(basis)
    row = next(r for r in table.rows if r[0] == "wheel hub")
    assert row[-2:] == ("NONE: it shall slip, a key would hold it",) * 2


def test_a_crankshaft_without_a_keyseat_has_no_key() -> None:
    basis = judged("manta", {"crank.keyseat.kind": "none"})
    wheres = {x.where for x in lines(basis)}
    assert "coupling, crankshaft" not in wheres
    assert "coupling, centre shaft" in wheres
    row = next(r for r in tables(basis)[0].rows if r[0] == "coupling, crankshaft")
    assert row[6:] == ("none: keyseat described as none",) * 2
