"""Random sculptures that close."""

from importlib.resources import files
from pathlib import Path

import numpy as np
from hypothesis import assume
from hypothesis import strategies as st

from models.loading import DescriptionError, load
from models.resolve import mechanism
from sim.builders import Linkage, linkage

MODELS = Path(str(files("models")))


RANGES = {
    "panel.inner.hinge.up": (500, 800, "mm"),
    "panel.inner.hinge.out": (60, 140, "mm"),
    "panel.inner.throw.radius": (40, 110, "mm"),
    "panel.inner.yoke_pin.below": (0, 80, "mm"),
    "panel.inner.yoke_pin.forward": (-60, 60, "mm"),
    "panel.inner.rod": (520, 720, "mm"),
    "panel.outer.throw.radius": (60, 200, "mm"),
    "panel.outer.throw.angle": (-180, 180, "deg"),
    "panel.outer.rod": (520, 760, "mm"),
    "panel.outer.yoke_pin.forward": (-60, 60, "mm"),
    "panel.inner.thickness": (2, 8, "mm"),
    "wheel.diameter": (300, 1000, "mm"),
}
CHANGES = st.fixed_dictionaries(
    {
        name: st.integers(low, high).map(lambda n, unit=unit: f"{n} {unit}")
        for name, (low, high, unit) in RANGES.items()
    }
)

CHAINS: list[dict[str, object]] = [
    {"kind": "direct"},
    {"tight": "50 N"},
    {"centres": "1200 mm", "sideways": "30 mm"},
    {"links": 200, "slack": "3 mm"},
    {"tensioner": {"force": "60 N", "rate": "2 N/mm", "travel": "15 mm"}},
]
COUPLINGS: list[dict[str, object]] = [
    {"kind": "clamp", "mass": "0.6 kg"},
    {"kind": "elastic", "mass": "0.6 kg", "stiffness": "400 N m/rad", "backlash": "0.5 deg"},
]
CENTRE = {"out": "590 mm", "on": "arm", "stiffness": "2 kN/mm"}
CHOICES: dict[str, list[object]] = {
    "stage.1": [{"teeth": [13, 38], **chain} for chain in CHAINS],
    "crank.coupling": [*COUPLINGS],
    "crank.bearings": [["250 mm", CENTRE, "930 mm"]],
    "limiter": [{"at": "stage 2", "torque": "60 N m"}],
}
DRIVES = st.fixed_dictionaries(
    {}, optional={name: st.sampled_from(choices) for name, choices in CHOICES.items()}
)


@st.composite
def closed_sculptures(draw: st.DrawFn) -> Linkage:
    """Draw a variation of the demo whose loops close with room to spare."""
    found = _closed({**draw(CHANGES), **draw(DRIVES)})
    assume(found is not None)
    assert found is not None
    return found


def _closed(changes: dict[str, object]) -> Linkage | None:
    try:
        found = linkage(mechanism(load(MODELS / "manta.toml", changes)))
    except DescriptionError:
        return None
    crank = np.linspace(0, 2 * np.pi, 180)
    wide = all(c.transmission.min() > np.radians(15) for s in found.sides for c in s.course(crank))
    return found if wide else None


def drawn(seed: int) -> tuple[Linkage, float, float]:
    """Draw a sculpture, release angle, rad, and wheel speed, rad/s, that are the same for the same seed."""
    generator = np.random.default_rng(seed)
    while True:
        changes: dict[str, object] = {
            name: f"{generator.integers(low, high, endpoint=True)} {unit}"
            for name, (low, high, unit) in RANGES.items()
        }
        for name, choices in CHOICES.items():
            if generator.random() < 0.5:
                changes[name] = choices[generator.integers(len(choices))]
        found = _closed(changes)
        if found is not None:
            return found, float(generator.uniform(0, 6.2)), float(generator.uniform(1, 6))
