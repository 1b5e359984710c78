"""How near a run came to stalling at a top of the potential energy."""

from functools import cache

import numpy as np
import pytest
from examples import MANTA

from models.loading import load
from models.resolve import mechanism
from sim import names
from sim.arrays import Array
from sim.barrier import NEAR, _tops, course, nearest, swing
from sim.builders import Linkage, linkage
from sim.engines.base import Stepping
from sim.recording import energy
from sim.reduced.method import Reduced
from sim.reduced.quick import let_go
from sim.scenarios import LetGo
from sim.whole import potential_energy

RPM = np.pi / 30


@cache
def closed(name: str) -> Linkage:
    return linkage(mechanism(load(MANTA.with_name(f"{name}.toml"))))


def coasting(piece: Linkage, crank: Array, beyond: float) -> Array:
    """Give the wheel's speed at crank angles (n,) without friction, the whole energy so much above the top's, J."""
    over = course(piece, float(np.min(crank)), float(np.max(crank)))
    total = max(over.height) + beyond
    height, inertia = (np.interp(crank, over.crank, of) for of in (over.height, over.inertia))
    return piece.mechanism.reduction * np.sqrt(2 * np.maximum(total - height, 0.0) / inertia)


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_what_passes_the_top_has_to_spare_what_it_has_beyond_it(name: str) -> None:
    piece, crank = closed(name), np.linspace(1.0, 1.0 + 4 * np.pi, 4000)
    assert nearest(piece, crank, coasting(piece, crank, 3.0)) == pytest.approx(3.0, rel=1e-3)
    backwards = crank[::-1]
    assert nearest(piece, backwards, -coasting(piece, backwards, 3.0)) == pytest.approx(3.0, rel=1e-3)


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_what_turns_round_before_the_top_lacks_what_is_wanting(name: str) -> None:
    piece = closed(name)
    up = np.linspace(1.0, 1.0 + 2 * np.pi, 8000)
    speed = coasting(piece, up, -3.0)
    k = int(np.flatnonzero(speed[2000:] == 0)[0]) + 2000
    crank = np.concatenate([up[2000:k], up[2000:k][::-1]])
    swung = np.concatenate([speed[2000:k], -speed[2000:k][::-1]])
    assert nearest(piece, crank[: k - 1000], swung[: k - 1000]) == pytest.approx(-3.0, abs=0.02)
    # Backwards it meets the same top from the other side.
    assert nearest(piece, crank, swung) == pytest.approx(-3.0, abs=0.02)


def test_what_hangs_at_the_bottom_lacks_the_whole_swing() -> None:
    piece = closed("manta")
    crank = np.linspace(0, 2 * np.pi, 3600)
    low = float(crank[np.argmin(potential_energy(piece, crank))])
    assert nearest(piece, np.array([low, low]), np.array([1e-6, 1e-6])) == pytest.approx(
        -swing(piece), rel=1e-4
    )


@pytest.mark.parametrize(("speed", "release"), [(61 * RPM, np.radians(60)), (95 * RPM, 3.1), (27 * RPM, 6.0)])
def test_it_is_the_kinetic_energy_of_all_parts_at_the_top(speed: float, release: float) -> None:
    """Wheel, shafts, cranks and wings on chains and couplings, as a run records them, against the rigid drive."""
    piece, doing = closed("manta"), LetGo(speed, release)
    built = doing.scene(piece)
    trace = Reduced(piece).simulate(built, Stepping(doing.step(piece), doing.end(piece)))
    kinetic, potential = energy(built, trace)
    crank = np.mean([trace.spins[names.crankshaft(s.side.name)].angle for s in piece.sides], axis=0)
    wheel = trace.spins[names.WHEEL].speed
    over = course(piece, float(np.min(crank)), float(np.max(crank)))
    tops = over.crank[list(over.tops)]
    passed = np.flatnonzero(np.diff(np.searchsorted(tops, crank)))
    turned = np.flatnonzero(wheel[:-1] * wheel[1:] < 0)
    # Energies of weight are alike but for what never changes: the wheel's and the shafts' places.
    top = float(np.max(over.height) - np.interp(crank[0], over.crank, over.height) + potential[0])
    met = [*kinetic[passed], *(potential[turned] - top)]
    assert nearest(piece, crank, wheel) == pytest.approx(min(met, key=abs), abs=1e-3 * swing(piece))
    assert let_go(piece, speed, release).nearest == pytest.approx(nearest(piece, crank, wheel), rel=1e-9)


def test_half_the_step_says_the_same_within_a_tenth_of_what_is_named() -> None:
    for name in ("manta", "moth"):
        piece = closed(name)
        for speed, release in ((61 * RPM, np.radians(60)), (44 * RPM, 0.0), (78 * RPM, np.radians(315))):
            step = LetGo(speed, release).step(piece)
            own, fine = (let_go(piece, speed, release, step / k) for k in (1, 2))
            assert own.nearest == pytest.approx(fine.nearest, abs=0.1 * NEAR * swing(piece))


def test_a_top_counts_where_scipy_finds_one_that_stands_out() -> None:
    """The same as `scipy.signal.find_peaks` of so much prominence, but for what the ends cut off."""
    from scipy.signal import find_peaks

    generator = np.random.default_rng(3)
    angle = np.linspace(0, 8 * np.pi, 6000)
    for _ in range(20):
        height = sum(
            generator.uniform(0.1, 1) * np.sin(k * angle + generator.uniform(0, 6)) for k in range(1, 6)
        )
        least = 0.2 * float(np.ptp(height))
        expected = find_peaks(height, prominence=least)[0].tolist()
        inner = [k for k in expected if 1500 < k < 4500]
        assert [k for k in _tops(height, least) if 1500 < k < 4500] == inner
        assert inner


def test_a_handle_before_a_reduction_has_a_top_for_each_of_its_turns() -> None:
    """Its grip's weight moves through the whole turn of the wheel, 7.8 for one of the crank."""
    handle = {"kind": "handle", "radius": "250 mm", "height": "900 mm", "grip": {"mass": "30 kg"}}
    piece = linkage(mechanism(load(MANTA, {"wheel": handle})))
    tops = course(piece, 0.0, 2 * np.pi).tops
    assert len(tops) == pytest.approx(3 * piece.mechanism.reduction, abs=1)
