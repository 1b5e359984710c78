"""Numbers of this program's own, so that a change that moves results is seen.

They are no evidence: that is in tests/published and tests/properties. After a change that is meant to move them:
python -m pytest tests/regression --remake-numbers, and say so in CHANGELOG.md.
"""

import json
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from analysis import chain_fit, handle, masses, motion
from analysis.bearing_loads import envelope
from models.loading import load
from models.resolve import mechanism
from sim.builders import linkage
from sim.scenarios import Crank, LetGo, Scenario, Turn
from sim.simulate import simulate

NUMBERS = Path(__file__).with_name("numbers.json")
MODELS = Path(str(files("models")))
RPM = np.pi / 30
CASES: dict[str, tuple[str, Scenario]] = {
    "manta turn": ("manta", Turn(40 * RPM)),
    "manta adult": ("manta", Crank("adult")),
    # Near its lowest point, so that it soon rests: what rattles for long differs in the last digits.
    "manta let go": ("manta", LetGo(0.5, 9.95)),
    "stand turn": ("manta_stand", Turn(60 * RPM)),
    "moth let go": ("moth", LetGo(60 * RPM, np.radians(300))),
}


def found(case: str, folder: Path) -> dict[str, float]:
    """Give the findings of a case by their place and words."""
    name, scenario = CASES[case]
    run = simulate(load(MODELS / f"{name}.toml"), scenario, runs=folder, check=False)
    every = [*handle.findings(run), *envelope([run])]
    return {f"{f.where}: {f.what}": f.value for f in every}


def geometry(name: str) -> dict[str, float]:
    """Give the findings that need no run."""
    closed = linkage(mechanism(load(MODELS / f"{name}.toml")))
    m = closed.mechanism
    every = [*motion.of_linkage(closed), *masses.of_linkage(closed), *chain_fit.of_stages(m.stages, m.post)]
    return {f"{f.where}: {f.what}": f.value for f in every}


@pytest.mark.parametrize("case", [*CASES, "manta geometry", "manta_stand geometry", "moth geometry"])
def test_numbers(case: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    got = geometry(case.split()[0]) if case.endswith("geometry") else found(case, tmp_path)
    written = json.loads(NUMBERS.read_text()) if NUMBERS.exists() else {}
    if request.config.getoption("--remake-numbers"):
        written = {k: v for k, v in written.items() if k in CASES or k.endswith("geometry")}
        written[case] = {k: float(f"{v:.6g}") for k, v in got.items()}
        NUMBERS.write_text(json.dumps(written, indent=1, sort_keys=True) + "\n")
        return
    # Six digits are kept; processors differ in the last bits, and a let go magnifies them a little.
    assert got == pytest.approx(written[case], rel=1e-4, abs=1e-6)
