"""What kinds of couplings make of a bent crankshaft's inner end."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis import coupling_verdicts
from analysis.coupling_verdicts import BEARING, FORCE, MOMENT, SHARE, centre_end, joinings, met
from models.loading import changed, load
from models.mechanism import Station
from models.resolve import mechanism
from sim import names
from sim.arrays import Array
from sim.builders import Linkage, linkage
from sim.shaft.bending import bent
from sim.shaft.crank import INNER, bearing
from sim.shaft.ends import inner_end
from sim.statics import statics

MODELS = Path(__file__).parents[2] / "models"
TURN = np.linspace(0, 2 * np.pi, 48, endpoint=False)


def closed(name: str, **changes: Any) -> Linkage:
    written = {k.replace("__", "."): v for k, v in changes.items()}
    return linkage(mechanism(changed(load(MODELS / f"{name}.toml"), written)))


def turns(angle: Array) -> Array:
    c, s = np.cos(angle), np.sin(angle)
    pair = np.stack([np.stack([c, s], -1), np.stack([-s, c], -1)], -2)
    return (
        np.kron(np.eye(2)[None], pair) if pair.ndim == 2 else np.array([np.kron(np.eye(2), p) for p in pair])
    )


def test_a_clamp_makes_both_shafts_one_beam_over_all_bearings() -> None:
    made = closed("manta", crank__material="A36 steel", crank__coupling__mass="0 kg")
    m, linked = made.mechanism, made.sides[0]
    side = linked.side
    still = statics(linked, TURN, m.gravity, m.friction)
    pins = {p.name: still.forces[names.crank_eye("left", p.name)] for p in side.panels}
    # Apart: the crankshaft alone, and what closes the gap to a straight centre shaft.
    alone = bent(side, pins, TURN, gravity=0.0)
    node = alone.crank.node(INNER)
    turn = alone.turn(node)
    off = np.column_stack([alone.deflection(node)[:, [0, 2]], -turn[:, 2], turn[:, 0]])
    spin = turns(alone.angle)
    own = spin @ inner_end(side).flexibility @ np.swapaxes(spin, 1, 2)
    clamp = met(own, np.kron(centre_end(m, side), np.eye(2)), -off)
    # As one: the bar goes on over the centre shaft's bearings.
    shaft = m.stages[-1].shaft
    more = tuple(Station(out, "post", None) for out in sorted(shaft.bearings, reverse=True))
    stations = (*side.crank.stations, *more)
    joined = replace(
        side, crank=replace(side.crank, stations=stations, ends=(min(shaft.bearings), side.crank.ends[1]))
    )
    # The main bearings are the first and the one farthest off: both sides of the centre shaft count as further ones.
    whole = bent(joined, pins, TURN, gravity=0.0)
    back = np.einsum("nji,nj->ni", spin, clamp)
    for number in (1, 2):
        by_clamp = np.array([inner_end(side).on_bearings(f)[name(side, number)] for f in back])
        standing = np.einsum("nij,nj->ni", spin[:, :2, :2], by_clamp)
        apart = alone.bearing_force(number)[:, [0, 2]] + standing
        assert apart == pytest.approx(whole.bearing_force(number)[:, [0, 2]], abs=0.02 * 150)
    assert np.abs(clamp[:, :2]).max() > 50
    assert whole.crank.node(bearing(4)) == 0


def name(side: Any, number: int) -> str:
    from sim.shaft.crank import bearing_joints

    return bearing_joints(side)[number - 1]


def test_two_cranks_that_mirror_each_other_meet_without_a_force() -> None:
    left, right = joinings(closed("moth"))
    for made in (left, right):
        clamp = next(v for v in made.kinds if v.kind == "clamp")
        assert clamp.force == pytest.approx(0, abs=1e-6)
        assert clamp.moment is not None
        assert clamp.moment > 5
    # Each end is turned back to the axis by a moment alone.
    end = inner_end(left.side)
    steepest = left.off.angular
    softest = np.linalg.eigvalsh(end.flexibility[2:, 2:])
    assert steepest / softest[-1] * 0.99 <= clamp.moment <= steepest / softest[0] * 1.01


def test_bows_of_unknown_direction_are_taken_at_their_worst_on_either_side() -> None:
    left, _ = joinings(closed("moth"), 2e-3)
    known, _ = joinings(closed("moth"), 2e-3, 0.0)
    assert len(left.clamps) == 24 * 24
    worst, mirrored = (next(v for v in made.kinds if v.kind == "clamp") for made in (left, known))
    # Alike on both sides they meet without a force; each by itself they do not.
    assert mirrored.force == pytest.approx(0, abs=1e-6)
    assert worst.force is not None
    assert worst.force > 1000
    for a, b in zip(left.kinds, known.kinds, strict=True):
        if a.share is not None and b.share is not None:
            assert a.share >= b.share * 0.999


def test_a_single_crankshaft_without_a_stage_is_clamped_to_nothing() -> None:
    (only,) = joinings(closed("moth", sides=1))
    assert not any(v.kind == "clamp" for v in only.kinds)


def test_the_spider_of_the_demo_does_not_stand_what_the_bent_shaft_asks_of_it() -> None:
    found = coupling_verdicts.of_linkage(closed("manta"))
    own = [f for f in found if f.what == SHARE]
    assert [f.where for f in own] == ["left coupling", "right coupling"]
    assert all(f.beyond for f in own)
    kinds = {f.what for f in found}
    assert {FORCE, MOMENT, BEARING} <= kinds
    assert any("double cardan" in k for k in kinds)


def test_more_runout_is_more_misalignment_for_every_kind() -> None:
    made = closed("manta")
    straight, bowed = joinings(made)[0], joinings(made, 2e-3)[0]
    assert bowed.off.angular > straight.off.angular
    assert bowed.by_load == straight.by_load
    for a, b in zip(straight.kinds, bowed.kinds, strict=True):
        if a.share is not None and b.share is not None:
            assert b.share > a.share
    end, plain = bowed.bowed.end, straight.bowed.end
    assert end.angular > plain.angular == 0


def test_a_clamp_has_no_limit_and_others_have_their_kind_s() -> None:
    spider = closed("manta").mechanism.sides[0]
    angular, parallel = coupling_verdicts.allowances(spider)
    assert angular is not None
    assert angular.value == pytest.approx(np.radians(1))
    assert parallel is not None
    assert parallel.value == pytest.approx(4e-4)
    assert coupling_verdicts.allowances(closed("moth").mechanism.sides[0]) == (None, None)
