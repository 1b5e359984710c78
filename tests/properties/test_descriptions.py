"""Whatever a description holds, it is read or refused with words; what is read, moves or is refused with words."""

import datetime
import tomllib
import warnings
from collections.abc import Iterator
from copy import deepcopy
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from models.loading import DescriptionError, from_document, loads
from models.resolve import mechanism
from models.sculpture import Sculpture, Source
from sim.builders import linkage
from sim.engines.base import EngineError, Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.identity import canonical
from sim.layout import chain_faults
from sim.scenarios import Crank, LetGo, Scenario, Turn

MODELS = Path(str(files("models")))
TEXTS = {name: (MODELS / f"{name}.toml").read_text("utf-8") for name in ("manta", "moth", "starter")}
DOCUMENTS = {name: tomllib.loads(text) for name, text in TEXTS.items()}
QUICK = settings(deadline=None, max_examples=150, suppress_health_check=[HealthCheck.too_slow])
# One engine run of a few steps takes some 20 ms; this many keep the file below half a minute.
MOVED = settings(deadline=None, max_examples=120, suppress_health_check=list(HealthCheck))

UNITS = (
    "m",
    "mm",
    "in",
    "ft",
    "kg",
    "g",
    "lb",
    "deg",
    "rad",
    "turn",
    "N m",
    "m/s2",
    "",
    "furlong",
    "mm mm",
    "²",
    '"',
)
NUMBERS = st.one_of(
    st.floats().map(repr),
    st.integers().map(str),
    st.sampled_from(
        ["0", "-0", "1e-300", "1e300", "1e999999", "3 1/8", "1/0", "1,5", "nan", "inf", "∞", "0x10", "１２"]
    ),
)
QUANTITIES = st.builds(lambda n, u: f"{n} {u}", NUMBERS, st.sampled_from(UNITS))
LEAVES = st.one_of(
    QUANTITIES,
    st.text(max_size=20),
    st.floats(),
    st.integers(),
    st.booleans(),
    st.none(),
    st.dates(),
    st.just(datetime.datetime(2020, 2, 2)),
    st.sampled_from(["disc", "handle", "along", "across", "304 stainless", "inner", "wing", "x" * 500]),
)
KEYS = st.one_of(
    st.text(max_size=8),
    st.sampled_from(
        [
            "name",
            "outline",
            "panel",
            "mass",
            "diametre",
            "rod",
            "file",
            "points",
            "holes",
            "unit",
            "left",
            "a.b",
        ]
    ),
)
RUBBISH = st.recursive(
    LEAVES,
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(KEYS, inner, max_size=4)),
    max_leaves=8,
)


def places(value: Any, at: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Give the path of every value in a document, its tables and lists included."""
    if at:
        yield at
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in inside:
        yield from places(item, (*at, key))


def parent(document: Any, place: tuple[Any, ...]) -> Any:
    for key in place[:-1]:
        document = document[key]
    return document


@st.composite
def mutated(draw: st.DrawFn) -> dict[str, Any]:
    document = deepcopy(DOCUMENTS[draw(st.sampled_from(sorted(DOCUMENTS)))])
    for _ in range(draw(st.integers(1, 4))):
        known = list(places(document))
        if not known:
            break
        place = draw(st.sampled_from(known))
        inside = parent(document, place)
        match draw(st.sampled_from(["put", "delete", "add", "swap", "repeat"])):
            case "put":
                inside[place[-1]] = draw(RUBBISH)
            case "delete":
                del inside[place[-1]]
            case "add":
                if isinstance(inside, dict):
                    inside[draw(KEYS)] = draw(RUBBISH)
                else:
                    inside.append(draw(RUBBISH))
            case "swap":
                other = draw(st.sampled_from(known))
                inside[place[-1]] = deepcopy(parent(document, other)[other[-1]])
            case _:
                if isinstance(inside, list):
                    inside.append(deepcopy(inside[place[-1]]))
    return document


def read(document: dict[str, Any]) -> Sculpture:
    return from_document(document, Source(label="x.toml", folder=MODELS, text="", document=document))


def spoken(error: DescriptionError) -> None:
    """Say that a refusal is made of whole lines that name the file."""
    assert error.lines
    for line in error.lines:
        assert line.isprintable()
        assert line.startswith(("x.toml: ", "and "))
        assert len(line) < 2000


@QUICK
@given(mutated())
def test_a_document_is_read_or_refused_with_words(document: dict[str, Any]) -> None:
    try:
        assert isinstance(read(document), Sculpture)
    except DescriptionError as error:
        spoken(error)


@QUICK
@given(st.sampled_from(sorted(TEXTS)), st.data())
def test_a_text_is_read_or_refused_with_words(name: str, data: st.DataObject) -> None:
    text = TEXTS[name]
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(text)))
        length = data.draw(st.sampled_from([0, 0, 1, 2, 5, 40, 400]))
        put = data.draw(
            st.one_of(
                st.text(max_size=12),
                st.sampled_from(["[", "]]", "{", '"', "'", "=", "\n", "nan", "[[panel]]\n", '"""']),
            )
        )
        text = text[:start] + put + text[start + length :]
    try:
        assert isinstance(loads(text, "x.toml", MODELS), Sculpture)
    except DescriptionError as error:
        spoken(error)


LENGTHS = st.sampled_from(["0.1 mm", "1 mm", "20 mm", "150 mm", "2 m", "100 m"])
ANY_LENGTHS = st.one_of(LENGTHS, st.sampled_from(["0 mm", "-1 mm", "-100 m"]))
MASSES = st.sampled_from(["0.1 g", "30 g", "5 kg", "2000 kg", "100000 kg"])
ANY_MASSES = st.one_of(MASSES, st.just("0 kg"))
ANGLES = st.sampled_from(["0 deg", "-170 deg", "1000 rad", "-1000 rad", "1e-300 rad"])
TEETH = st.lists(st.sampled_from([6, 7, 17, 60, 400]), min_size=2, max_size=2)
CHAINS = st.sampled_from(
    [
        {},
        {"kind": "direct"},
        {"tight": "50 N"},
        {"tight": "1e5 N"},
        {"slack": "3 mm"},
        {"slack": "1 m"},
        {"centres": "1 m", "sideways": "30 mm"},
        {"tensioner": {"force": "60 N", "rate": "2 N/mm", "travel": "15 mm"}},
        {"chordal": True},
        {"rigidity": "1 N"},
    ]
)
STAGES = st.builds(
    lambda ends, chain: {**ends, **chain}, st.fixed_dictionaries({"teeth": TEETH, "pitch": LENGTHS}), CHAINS
)
RATES = st.sampled_from([0.0, 0.1, 2.0])
WEIGHTS = st.fixed_dictionaries({"mass": ANY_MASSES, "radius": LENGTHS, "angle": ANGLES, "out": ANY_LENGTHS})
LUMPS = st.fixed_dictionaries(
    {"mass": ANY_MASSES, "forward": ANY_LENGTHS, "out": ANY_LENGTHS, "above": ANY_LENGTHS}
)
OUTLINES = st.sampled_from(
    [
        {"unit": "mm", "points": [[0, 0], [1, 0], [0, 1]]},
        {"unit": "mm", "points": [[0, 0], [1e5, 0], [0, 1]]},
        {"unit": "m", "points": [[0, 0], [100, 0], [100, 100], [0, 100]]},
        {"unit": "mm", "points": [[-1e5, -1e5], [-99999, -1e5], [-1e5, -99999]]},
    ]
)
# What may be set to the ends of its range without any rod losing its reach.
EXTREMES: dict[str, st.SearchStrategy[Any]] = {
    "sides": st.sampled_from([1, 2]),
    "crank.height": LENGTHS,
    "crank.shaft": LENGTHS,
    "crank.pin": LENGTHS,
    "crank.bearings": st.lists(ANY_LENGTHS, min_size=2, max_size=2),
    "crank.web.width": LENGTHS,
    "crank.web.thickness": LENGTHS,
    "crank.web.gap": LENGTHS,
    "crank.web.outline": OUTLINES,
    "crank.counterweight": st.lists(WEIGHTS, max_size=2),
    "crank.coupling.mass": ANY_MASSES,
    "crank.coupling.diameter": LENGTHS,
    "wheel.height": LENGTHS,
    "wheel.hub.mass": ANY_MASSES,
    "wheel.hub.diameter": LENGTHS,
    "rods.diameter": LENGTHS,
    "rod_ends.mass": ANY_MASSES,
    "rod_ends.ball": LENGTHS,
    "hinges.pin": LENGTHS,
    "friction.bush": RATES,
    "friction.rod_end": RATES,
    "friction.hinge": RATES,
    "friction.wheel_drag": st.sampled_from(["0 N m", "1e-300 N m", "100000 N m"]),
    "site.gravity": st.sampled_from(["0.1 m/s2", "100 m/s2"]),
    "left.key_angle": ANGLES,
    "right.key_angle": ANGLES,
    "keyways": st.fixed_dictionaries(
        {"left": ANGLES, "right": ANGLES}, optional={"centre": st.lists(ANGLES, min_size=2, max_size=2)}
    ),
    "stage": st.lists(STAGES, max_size=3),
    "crank.coupling.kind": st.sampled_from(["clamp", "elastic", "double-cardan"]),
    "crank.coupling.length": LENGTHS,
    "crank.coupling.angular": st.sampled_from(["0 deg", "1e-300 rad", "90 deg"]),
    "crank.coupling.stiffness": st.sampled_from(["0.01 N m/rad", "900 N m/rad", "1e7 N m/rad"]),
    "crank.coupling.backlash": st.sampled_from(["0 deg", "1e-3 deg", "30 deg"]),
    "limiter": st.fixed_dictionaries(
        {
            "at": st.sampled_from(["wheel", "stage 1", "stage 2"]),
            "torque": st.sampled_from(["0.01 N m", "20 N m", "1e6 N m"]),
        }
    ),
    "friction.static": st.sampled_from([1.0, 1.2, 3.0]),
    "friction.bearing": RATES,
    "panel.1.mass": MASSES,
    "panel.1.thickness": LENGTHS,
    "panel.1.lump": st.lists(LUMPS, max_size=2),
    "panel.1.outline": OUTLINES,
    "panel.1.throw.radius": LENGTHS,
    "panel.1.throw.out": LENGTHS,
    "panel.1.throw.angle": ANGLES,
    "panel.1.rod": LENGTHS,
    "panel.1.yoke_pin.axis": st.sampled_from(["along", "across"]),
    "panel.1.seen.panel": ANGLES,
}
WHEELS = {
    "disc": {"wheel.diameter": LENGTHS, "wheel.thickness": LENGTHS, "wheel.rim.bar": LENGTHS},
    "handle": {"wheel.radius": LENGTHS, "wheel.grip.mass": ANY_MASSES},
}
SCENARIOS: tuple[Scenario, ...] = (
    Turn(1.0),
    Turn(-100.0),
    Crank("child"),
    Crank("adult", -3.0),
    LetGo(100.0, -1000.0),
    LetGo(0.0, 1.0),
)


@st.composite
def extreme(draw: st.DrawFn) -> Sculpture:
    """Draw a demo with some of its values at the ends of what the schema lets through."""
    document = deepcopy(DOCUMENTS[draw(st.sampled_from(sorted(DOCUMENTS)))])
    known = EXTREMES | WHEELS[document["wheel"]["kind"]]
    names = draw(st.lists(st.sampled_from(sorted(known)), min_size=1, max_size=8, unique=True))
    source = Source(label="x.toml", folder=MODELS, text="", document=document)
    try:
        return from_document(document, source, {name: draw(known[name]) for name in names})
    except DescriptionError as error:
        spoken(error)
        assume(False)
        raise


def reasoned(error: EngineError) -> None:
    assert "could not go on at" in str(error)


def numbers(trace: Trace) -> Iterator[np.ndarray]:
    for pose in trace.poses.values():
        yield from (pose.position, pose.quaternion, pose.velocity, pose.angular_velocity, pose.acceleration)
    for load in trace.joints.values():
        yield from (load.force, load.moment)
    for spin in trace.spins.values():
        yield from (spin.angle, spin.speed, spin.acceleration)
    yield from trace.torques.values()


def moved(sculpture: Sculpture, scenario: Scenario) -> Trace:
    closed = linkage(mechanism(sculpture), "x.toml")
    canonical(closed.mechanism)
    faults = chain_faults(closed.mechanism)  # as whoever runs a scenario asks first
    if faults:
        raise DescriptionError([f"x.toml: {fault}" for fault in faults])
    step = scenario.step(closed)
    assert 0 < step <= 0.02
    assert 0 < scenario.end(closed) < np.inf
    return ExudynEngine().simulate(scenario.scene(closed), Stepping(step, 5 * step))


@MOVED
@given(extreme(), st.sampled_from(SCENARIOS))
def test_a_sculpture_moves_or_is_refused_with_words(sculpture: Sculpture, scenario: Scenario) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            trace = moved(sculpture, scenario)
        except DescriptionError as error:
            spoken(error)
            return
        except EngineError as error:
            reasoned(error)
            return
    assert len(trace.time) >= 2
    assert all(np.isfinite(values).all() for values in numbers(trace))
