"""What must hold of any built-up crankshaft that bends: balance, reciprocity, turning, superposition, touch."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from sculptures import MODELS

from models.loading import DescriptionError, load
from models.mechanism import Off, Side
from models.resolve import mechanism
from sim.arrays import Array
from sim.linkage import pin_place
from sim.mass import Y, crank_mass
from sim.shaft.bending import SOFT, Bent, bent, standing, supports
from sim.shaft.crank import bearing, crank_frame, throw
from sim.shaft.frame import held

FEW = settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
TURN = np.linspace(0, 2 * np.pi, 9)
GRAVITY = 9.81

RANGES = {
    "crank.shaft": (15, 50, "mm"),
    "crank.pin": (8, 40, "mm"),
    "crank.web.width": (20, 90, "mm"),
    "crank.web.thickness": (4, 25, "mm"),
    "crank.web.gap": (15, 80, "mm"),
    "panel.inner.throw.radius": (20, 250, "mm"),
    "panel.inner.throw.angle": (-180, 180, "deg"),
    "panel.inner.throw.out": (330, 480, "mm"),
    "panel.outer.throw.radius": (20, 250, "mm"),
    "panel.outer.throw.angle": (-180, 180, "deg"),
    "panel.outer.throw.out": (700, 860, "mm"),
}
BEARINGS = (
    ["200 mm", "970 mm"],
    ["970 mm", "200 mm"],
    ["200 mm", "600 mm"],
    ["600 mm", "970 mm"],
    ["970 mm", "590 mm", "200 mm"],
    ["590 mm", "200 mm", "970 mm"],
    ["150 mm", "560 mm", "620 mm", "1100 mm"],
)
OFFS = st.floats(-1e-3, 1e-3)
CLEARANCES = st.sampled_from([0.0, 5e-5, 2e-4, 1e-3])


@lru_cache(maxsize=256)
def made(changes: tuple[tuple[str, object], ...]) -> Side | None:
    given = {name: list(value) if isinstance(value, tuple) else value for name, value in changes}
    try:
        return mechanism(load(MODELS / "manta.toml", given)).sides[0]
    except DescriptionError:
        return None


@st.composite
def shafts(draw: st.DrawFn) -> Side:
    """Draw a crankshaft with rigid bearings in line; two to four of them, also inside its throws."""
    changes: dict[str, object] = {
        name: f"{draw(st.integers(low, high))} {unit}" for name, (low, high, unit) in RANGES.items()
    }
    changes["crank.bearings"] = tuple(draw(st.sampled_from(BEARINGS)))
    changes["crank.elements"] = draw(st.integers(2, 12))
    side = made(tuple(changes.items()))
    assume(side is not None)
    assert side is not None
    return replace(side, key_angle=draw(st.floats(-1, 1)))


@st.composite
def as_built(draw: st.DrawFn, clearances: st.SearchStrategy[float] = CLEARANCES) -> Side:
    """Draw one bowed, with throws off, on bearings off line that give and are loose."""
    side = draw(shafts())
    stations = tuple(
        replace(
            s,
            forward=draw(OFFS),
            up=draw(OFFS),
            stiffness=draw(st.sampled_from([None, 1e6, 1e8])),
            clearance=draw(clearances),
        )
        for s in side.crank.stations
    )
    panels = tuple(
        replace(p, off=Off(draw(OFFS), draw(st.floats(-3e-3, 3e-3)), draw(st.floats(-3, 3))))
        for p in side.panels
    )
    crank = replace(
        side.crank, stations=stations, runout=draw(st.floats(0, 2e-3)), runout_angle=draw(st.floats(-3, 3))
    )
    return replace(side, panels=panels, crank=crank)


SEEDS = st.integers(0, 2**32 - 1)


def pushes(side: Side, seed: int) -> dict[str, Array]:
    """Give random loads on the pins, up to some 500 N."""
    generator = np.random.default_rng(seed)
    return {p.name: 250 * generator.normal(size=(len(TURN), 3)) for p in side.panels}


def straightened(side: Side) -> Side:
    """Give the same crankshaft without bow, on rigid bearings in line."""
    stations = tuple(
        replace(s, forward=0.0, up=0.0, stiffness=None, clearance=0.0) for s in side.crank.stations
    )
    panels = tuple(replace(p, off=Off()) for p in side.panels)
    return replace(side, panels=panels, crank=replace(side.crank, stations=stations, runout=0.0))


def inertia_about(side: Side, crank: Array) -> tuple[Array, Array]:
    """Give centre (n, 3) and inertia about the origin times the axis (n, 3), standing."""
    piece = crank_mass(side)
    about = piece.inertia + piece.mass * (piece.com @ piece.com * np.eye(3) - np.outer(piece.com, piece.com))
    angle = crank + side.key_angle
    return standing(np.tile(piece.com, (len(crank), 1)), angle), standing(
        np.tile(about @ Y, (len(crank), 1)), angle
    )


@given(shafts(), SEEDS)
@FEW
def test_reciprocity(side: Side, seed: int) -> None:
    """Maxwell's: what a load here moves there, the same load there moves here; and loads do work."""
    on = held(crank_frame(side).frame, supports(side))
    # Newtons and newton metres: as much of each as moves by alike.
    size = np.sqrt(np.abs(on.by_load.diagonal()))
    size[size < 1e-12 * size.max()] = 1.0
    scaled = on.by_load / np.outer(size, size)
    assert np.abs(scaled - scaled.T).max() < 1e-6
    load = np.random.default_rng(seed).normal(size=len(size)) / size
    assert load @ on.by_load @ load > 0
    # What supports carry of a load is what their settling moves there.
    assert np.abs(on.carried + on.by_settling.T).max() < 1e-6 * np.abs(on.carried).max()
    assert np.linalg.eigvalsh((on.forced + on.forced.T) / 2).min() > -1e-6 * np.abs(on.forced).max() - 1e-3


@given(as_built(), SEEDS, st.floats(-12, 12), st.floats(-40, 40))
@FEW
def test_bearings_and_coupling_carry_loads_weight_and_inertia(
    side: Side, seed: int, speed: float, rate: float
) -> None:
    given = pushes(side, seed)
    found = bent(side, given, TURN, speed, rate, GRAVITY)
    piece = crank_mass(side)
    centre, spun = inertia_about(side, TURN)
    down = np.tile([0.0, 0.0, -GRAVITY * piece.mass], (len(TURN), 1))
    outward = centre * np.array([1.0, 0.0, 1.0])
    momentum = piece.mass * (rate * np.cross(Y, centre) - speed**2 * outward)
    moment = rate * spun + speed**2 * np.cross(Y, spun)
    force = down - momentum
    about = np.cross(centre, down) - moment
    for p in side.panels:
        at = pin_place(p.throw_radius, p.throw_out, TURN + p.throw_angle + side.key_angle)
        force += given[p.name]
        about += np.cross(at, given[p.name])
    for k, s in enumerate(side.crank.stations, 1):
        force -= found.bearing_force(k)
        about -= np.cross(np.array([0.0, s.out, 0.0]), found.bearing_force(k))
    about[:, 1] += found.torque
    size = max(np.abs(found.bearing_force(k)).max() for k in range(1, len(side.crank.stations) + 1))
    # Rounding of bearings that force each other by their misalignment, stiffness times metres.
    assert np.abs(force).max() < 1e-7 * (1 + size)
    assert np.abs(about).max() < 1e-7 * (1 + size)


@given(as_built(), SEEDS)
@FEW
def test_every_node_is_in_balance(side: Side, seed: int) -> None:
    """What members carry at their ends, loads and supports: nothing is left at any node."""
    given = pushes(side, seed)
    found = bent(side, given, TURN, gravity=0.0)
    frame = found.crank.frame
    left = np.zeros((len(TURN), len(frame.nodes), 6))
    for k, m in enumerate(frame.members):
        both = np.kron(np.eye(2), m.axes)
        left[:, m.a] += found.end_loads[:, k, 0] @ both.T
        left[:, m.b] -= found.end_loads[:, k, 1] @ both.T
    for p in side.panels:
        left[:, found.crank.node(throw(p.name)), :3] += standing(given[p.name], -found.angle)
    for s in found.held.supports:
        left[:, s.node] += found.reactions[:, found.held.rows(s.name)] @ s.directions
    size = np.abs(found.end_loads).max()
    assert np.abs(left).max() < 1e-6 * (1 + size)


@given(as_built(), SEEDS, st.floats(-6, 6))
@FEW
def test_turning_crank_and_loads_turns_everything(side: Side, seed: int, by: float) -> None:
    """Bearings are alike in all directions: those off line turn too, of key angle or crank angle."""
    given = pushes(side, seed)
    turned = {name: standing(force, np.full(len(TURN), by)) for name, force in given.items()}
    places = [standing(np.array([[s.forward, 0.0, s.up]]), np.array([by]))[0] for s in side.crank.stations]
    stations = tuple(
        replace(s, forward=float(at[0]), up=float(at[2]))
        for s, at in zip(side.crank.stations, places, strict=True)
    )
    moved = replace(side, crank=replace(side.crank, stations=stations), key_angle=side.key_angle + by)
    here, there = bent(side, given, TURN, gravity=0.0), bent(moved, turned, TURN, gravity=0.0)
    scale = np.abs(here.moved).max()
    np.testing.assert_allclose(here.moved, there.moved, atol=1e-8 * scale)
    again = bent(replace(side, crank=replace(side.crank, stations=stations)), turned, TURN + by, gravity=0.0)
    np.testing.assert_allclose(here.moved, again.moved, atol=1e-8 * scale)
    for k in range(1, len(stations) + 1):
        np.testing.assert_allclose(
            np.linalg.norm(here.bearing_force(k), axis=1),
            np.linalg.norm(again.bearing_force(k), axis=1),
            atol=1e-6 * (1 + np.abs(here.reactions).max()),
        )


def parts(found: Bent) -> Array:
    """Give displacements and reactions in a row."""
    return np.hstack([found.moved, 1e-8 * found.reactions])


@given(as_built(st.just(0.0)), SEEDS, SEEDS)
@FEW
def test_loads_add_up_without_clearance(side: Side, one: int, other: int) -> None:
    first, second = pushes(side, one), pushes(side, other)
    both = {name: first[name] - 2 * second[name] for name in first}
    none = {name: np.zeros((len(TURN), 3)) for name in first}
    rest = parts(bent(side, none, TURN))
    alone = [parts(bent(side, x, TURN)) - rest for x in (first, second)]
    whole = parts(bent(side, both, TURN)) - rest
    np.testing.assert_allclose(whole, alone[0] - 2 * alone[1], atol=1e-7 * np.abs(whole).max())


@given(as_built(), SEEDS)
@FEW
def test_a_stiffer_support_comes_near_a_rigid_one(side: Side, seed: int) -> None:
    given = pushes(side, seed)

    def resting(stiffness: float | None) -> Array:
        stations = tuple(replace(s, stiffness=stiffness, clearance=0.0) for s in side.crank.stations)
        return bent(replace(side, crank=replace(side.crank, stations=stations)), given, TURN).moved

    rigid = resting(None)
    wrong = [np.abs(resting(k) - rigid).max() for k in (1e10, 1e11, 1e14)]
    assert wrong[2] < 1e-5 * np.abs(rigid).max()
    # Short spans are stiff themselves; so the error only nears being in proportion.
    assert 5 < wrong[0] / wrong[1] < 10.5


@given(as_built(), SEEDS)
@FEW
def test_no_shaft_leaves_its_bush(side: Side, seed: int) -> None:
    """Within its clearance, but for the bush's give; where it pushes, it lies at the bush and pushes there."""
    found = bent(side, pushes(side, seed), TURN, gravity=GRAVITY)
    for k, s in enumerate(side.crank.stations, 1):
        force = found.bearing_force(k)[:, [0, 2]]
        size = np.linalg.norm(force, axis=1, keepdims=True)
        give = found.held.supports[k - 1].give
        moved = found.deflection(found.crank.node(bearing(k)))[:, [0, 2]] - np.array([s.forward, s.up])
        free = moved - give * force
        assert np.linalg.norm(free, axis=1).max() < s.clearance / 2 + 1e-9
        hard = size[:, 0] > 20 * SOFT
        # SOFT^2 / 2 r^2 of the clearance is left at twenty times the softness, an eight-hundredth.
        np.testing.assert_allclose(free[hard], (s.clearance / 2 * force / size)[hard],
                                   atol=s.clearance / 1500 + 1e-9)  # fmt: skip


@given(as_built(st.just(0.0)))
@FEW
def test_on_two_bearings_nothing_is_forced(side: Side) -> None:
    """Bow, throws off and bearings off line: a shaft on two bearings moves, and is not loaded."""
    first = side.crank.stations[0]
    far = max(side.crank.stations, key=lambda s: abs(s.out - first.out))
    alone = replace(side, crank=replace(side.crank, stations=(first, far)))
    found = bent(alone, {}, TURN, gravity=0.0)
    assert np.abs(found.end_loads).max() < 1e-4
    assert np.abs(found.reactions).max() < 1e-4
    # A straight one in line does not even move.
    still = bent(straightened(alone), {}, TURN, gravity=0.0)
    assert np.abs(still.moved).max() == 0
