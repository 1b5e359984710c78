"""How far parts come toward each other as crankshafts bend, against loops closed anew; what comes off clearances."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analysis.allowances import Allowance, Deduction, lowest
from analysis.give import Give, cells, moved_points, of_runs
from models.loading import load
from models.resolve import mechanism
from sim import names
from sim.builders import Linkage, linkage
from sim.clearance import POSES, clearances
from sim.clearance.solids import shaft_name, solids, throw_name
from sim.identity import canonical
from sim.linkage import close
from sim.run import Channel, Run
from sim.shaft.crank import MIDDLE, throw
from sim.shaft.loading import Loading, bowed, standing_still, unloaded
from sim.standing import channels, stand

MODELS = Path(__file__).parents[2] / "models"
CRANK = np.linspace(0, 2 * np.pi, 40, endpoint=False)


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return linkage(mechanism(load(MODELS / "manta.toml")))


def standing_run(closed: Linkage, crank: np.ndarray) -> Run:
    """Give a piece that stands at crank angles, as a run has it."""
    found = channels(closed, stand(closed, crank))
    for side in closed.sides:
        found[f"angles/{names.crankshaft(side.side.name)}/angle"] = Channel(crank, "rad", "crank")
    return Run("0" * 12, "x", "gust-locked", "x", {}, {}, {}, canonical(closed.mechanism), "", "finished", "", False,
               np.arange(len(crank), dtype=float), found, (), ())  # fmt: skip


def test_points_move_as_those_of_a_piece_whose_throws_are_welded_so(manta: Linkage) -> None:
    side = manta.sides[0]
    still = np.zeros(len(CRANK))
    shape = Loading(bowed(side.side, 4e-3, 1.0), CRANK, {}, still, still, 0.0).shape()
    found = moved_points(side, CRANK, shape)
    own = unloaded(bowed(side.side, 4e-3, 1.0))
    panels = []
    for p in side.side.panels:
        at = 6 * own.crank.node(throw(p.name))
        x = p.throw_radius * np.sin(p.throw_angle) + own.moved[0, at]
        z = p.throw_radius * np.cos(p.throw_angle) + own.moved[0, at + 2]
        panels.append(
            replace(p, throw_radius=float(np.hypot(x, z)), throw_angle=float(np.arctan2(x, z)),
                    throw_out=p.throw_out + float(own.moved[0, at + 1]))
        )  # fmt: skip
    moved = close(replace(side.side, panels=tuple(panels)))
    for a, b in zip(side.course(CRANK), moved.course(CRANK), strict=True):
        rod, panel = names.rod("left", a.panel.name), names.panel("left", a.panel.name)
        eyes = np.stack([b.pin.value - a.pin.value, b.yoke.value - a.yoke.value], 1)
        assert found[rod] == pytest.approx(eyes, abs=1e-12)
        far = float(np.array(a.panel.plate.outline.exterior)[:, 1].max())
        edges = [c.hinge.value + far * np.stack([0 * CRANK, np.cos(c.angle.value), np.sin(c.angle.value)], -1)
                 for c in (a, b)]  # fmt: skip
        assert found[panel][:, 1] == pytest.approx(edges[1] - edges[0], abs=1e-12)
    # The 4 kg sit 150 mm off the axis at 740 mm, where the bow rises by 2 mm times sin(pi .49 / .68) and leans.
    weight = found["left counterweight 1"][0, 0]
    rise = 2e-3 * np.sin(np.pi * 0.49 / 0.68)
    assert np.hypot(weight[0], weight[2]) == pytest.approx(rise, rel=1e-6)
    lean = 2e-3 * np.pi / 0.68 * np.cos(np.pi * 0.49 / 0.68) * 0.15 * np.cos(np.radians(140) - 1.0)
    assert weight[1] == pytest.approx(-lean, rel=1e-6)


def test_parts_of_one_side_are_moved_together(manta: Linkage) -> None:
    give = of_runs(manta, [standing_run(manta, np.linspace(0, 2 * np.pi, 360, endpoint=False))])
    parts = {s.name: s for s in solids(manta.mechanism)}
    rod, shaft = parts["left outer rod"], parts[shaft_name("left")]
    own = parts[throw_name("left", "outer")]
    together = give.of(rod, own)
    apart = give.alone[rod.name] + give.alone[own.name]
    # The rod rides on the throw's pin: it comes nearer by half of what both are moved, at most.
    assert np.nanmax(together) < 0.6 * np.nanmax(apart)
    assert np.all(give.of(shaft, rod) == give.of(rod, shaft))
    # What stands still does not move; what is on the other side moves by itself.
    bearing = next(s for s in parts.values() if s.kind == "bearing")
    assert give.of(own, bearing).max() == pytest.approx(np.nanmax(give.alone[own.name]))
    across = give.of(parts["left inner panel"], parts["right inner panel"])
    assert across.max() == pytest.approx(2 * np.nanmax(give.alone["left inner panel"]), rel=1e-6)
    shape = standing_still(manta.sides[0], manta.mechanism).shape()
    middle = np.linalg.norm(shape.deflection(shape.crank.node(MIDDLE)), axis=1).max()
    assert np.nanmax(give.alone[shaft.name]) >= middle


def test_where_no_run_has_been_the_worst_counts(manta: Linkage) -> None:
    crank = np.radians(np.arange(0, 90, 1.0))
    give = of_runs(manta, [standing_run(manta, crank)])
    parts = {s.name: s for s in solids(manta.mechanism)}
    found = give.of(parts["left outer rod"], parts[shaft_name("left")])
    assert found[cells(np.radians(200.0))] == found.max()
    assert found[cells(np.radians(45.0))] < found.max()
    assert np.isnan(give.alone["left outer rod"][cells(np.radians(200.0))])


def test_what_comes_off_a_clearance_is_what_comes_up_where_it_is_small(manta: Linkage) -> None:
    near = clearances(manta.sides, tuple(s for s in solids(manta.mechanism) if s.name in (
        "left outer rod", shaft_name("left"))))  # fmt: skip
    (c,) = near
    nowhere = Give({}, {})
    assert Deduction(manta.sides, Allowance(give=nowhere), {}).left(c) == pytest.approx(
        c.bound - 0.003, abs=1e-15
    )
    both = frozenset({"left outer rod", shaft_name("left")})
    far_off = np.zeros(POSES)
    far_off[cells(c.crank + np.pi)] = 5e-3
    elsewhere = Deduction(manta.sides, Allowance(give=Give({}, {both: far_off})), {})
    assert elsewhere.left(c) == pytest.approx(c.bound - 0.003, abs=1e-15)
    here = Deduction(manta.sides, Allowance(give=Give({}, {both: np.roll(far_off, POSES // 2)})), {})
    assert here.left(c) == pytest.approx(c.bound - 0.003 - 5e-3, abs=1e-15)
    assert Deduction(manta.sides, Allowance(whip=1e-3), {}).left(c) < c.bound - 0.003 - 1e-3


def test_the_lowest_of_each_cell_lies_under_the_course(manta: Linkage) -> None:
    parts = solids(manta.mechanism)
    angles = (np.arange(POSES * 8) + 0.5) * 2 * np.pi / (POSES * 8)
    pairs = [("left outer rod", "left counterweight 1"), ("left outer rod", "left shaft")]
    for names_ in pairs:
        (c,) = clearances(manta.sides, tuple(s for s in parts if s.name in names_))
        found = lowest(c)
        assert np.all(found <= c.course)
        assert np.all(found >= c.bound)
        # Against the course itself, drawn straight between the middles.
        wrapped = np.concatenate([c.course] * 3)
        middles = (np.arange(-POSES, 2 * POSES) + 0.5) * 2 * np.pi / POSES
        fine = np.interp(angles, middles, wrapped)
        lows = np.minimum.reduceat(fine, np.arange(0, len(fine), 8))
        assert np.all(found <= lows + 1e-12)
