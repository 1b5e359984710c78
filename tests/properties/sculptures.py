"""Random sculptures that close."""

from importlib.resources import files
from pathlib import Path

from hypothesis import assume
from hypothesis import strategies as st

from models.loading import DescriptionError, load
from models.resolve import mechanism
from sim.builders import Linkage, linkage

MODELS = Path(str(files("models")))


def _mm(low: int, high: int) -> st.SearchStrategy[str]:
    return st.integers(low, high).map(lambda n: f"{n} mm")


CHANGES = st.fixed_dictionaries(
    {
        "panel.inner.hinge.up": _mm(500, 800),
        "panel.inner.hinge.out": _mm(60, 140),
        "panel.inner.throw.radius": _mm(40, 110),
        "panel.inner.yoke_pin.below": _mm(0, 80),
        "panel.inner.yoke_pin.forward": _mm(-60, 60),
        "panel.inner.rod": _mm(520, 720),
        "panel.outer.throw.radius": _mm(60, 200),
        "panel.outer.throw.angle": st.integers(-180, 180).map(lambda n: f"{n} deg"),
        "panel.outer.rod": _mm(520, 760),
        "panel.outer.yoke_pin.forward": _mm(-60, 60),
        "panel.inner.thickness": _mm(2, 8),
        "wheel.diameter": _mm(300, 1000),
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
DRIVES = st.fixed_dictionaries(
    {},
    optional={
        "stage.1": st.sampled_from([{"teeth": [13, 38], **chain} for chain in CHAINS]),
        "crank.coupling": st.sampled_from(COUPLINGS),
        "crank.bearings": st.just(["250 mm", CENTRE, "930 mm"]),
        "limiter": st.just({"at": "stage 2", "torque": "60 N m"}),
    },
)


@st.composite
def closed_sculptures(draw: st.DrawFn) -> Linkage:
    """Draw a variation of the demo whose loops close with room to spare."""
    changes: dict[str, object] = {**draw(CHANGES), **draw(DRIVES)}
    try:
        found = linkage(mechanism(load(MODELS / "manta.toml", changes)))
    except DescriptionError:
        assume(False)
        raise
    import numpy as np

    crank = np.linspace(0, 2 * np.pi, 180)
    assume(all(c.transmission.min() > np.radians(15) for s in found.sides for c in s.course(crank)))
    return found
