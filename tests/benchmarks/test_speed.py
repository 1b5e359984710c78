"""How fast: simulated time over processor time, and cold starts of the commands.

Run by name, alone on the machine: python -m pytest tests/benchmarks. Nothing here fails for being slow; the
figures that were measured are in README.md beside this file.
"""

import subprocess
import sys
import time
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from analysis.of_run import of_run
from analysis.release_map import release_maps
from models.loading import changed, load
from models.resolve import mechanism
from sim.builders import linkage
from sim.engines.base import Stepping
from sim.engines.exudyn import ExudynEngine
from sim.reduced.method import Reduced, Run
from sim.reduced.system import system
from sim.scenarios import LetGo
from sim.shaft.loading import standing_still
from sim.simulate import record
from sim.store import open_run

MODELS = Path(str(files("models")))
LET_GO = LetGo(60 * np.pi / 30, np.radians(300))


STEPS = {"4 ms": 4e-3, "1 ms": 1e-3}


@pytest.mark.parametrize(
    ("name", "step"),
    [("manta", "accepted"), ("manta", "4 ms"), ("manta", "1 ms"), ("moth", "accepted"), ("moth", "1 ms")],
)
def test_real_time(benchmark: BenchmarkFixture, name: str, step: str) -> None:
    """Simulate ten seconds after letting go; `extra_info` says how many times faster than real time.

    The demo with all it has: slack chains, couplings that wind up, friction by each joint's own load.
    """
    closed = linkage(mechanism(load(MODELS / f"{name}.toml")))
    built = LET_GO.scene(closed)
    if name == "manta":
        assert len(built.strands) == len(built.twists) == 2
        assert any(drag.rubs for drag in built.drags)
    size = LET_GO.step(closed) if step == "accepted" else STEPS[step]
    engine = ExudynEngine()

    def run() -> float:
        start = time.process_time()
        end = float(engine.simulate(built, Stepping(size, 10.0)).time[-1])
        return end / (time.process_time() - start)

    ratios: list[float] = []
    benchmark.pedantic(lambda: ratios.append(run()), rounds=3)
    benchmark.extra_info |= {"step [s]": size, "times real time": round(float(np.median(ratios)), 1)}
    print(f"\n{name}, step {size:g} s: {np.median(ratios):.1f} times real time")


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_shafts_that_bend(benchmark: BenchmarkFixture, name: str) -> None:
    """The same for ten seconds with both crankshafts bending, eight elements a span, at 1 ms.

    The moth's own step is shorter: at 1 ms it says what a step costs, not what its kick is.
    """
    closed = linkage(mechanism(changed(load(MODELS / f"{name}.toml"), {"crank.flexible": True})))
    assert all(s.side.crank.elements == 8 for s in closed.sides)
    built = LET_GO.scene(closed)
    assert len(built.flexibles) == 2
    engine, ratios = ExudynEngine(), []

    def run() -> float:
        start = time.process_time()
        end = float(engine.simulate(built, Stepping(1e-3, 10.0, "newmark")).time[-1])
        return end / (time.process_time() - start)

    benchmark.pedantic(lambda: ratios.append(run()), rounds=3)
    benchmark.extra_info |= {"times real time": round(float(np.median(ratios)), 2)}
    print(f"\n{name}, crankshafts bending, 1 ms: {np.median(ratios):.2f} times real time")


def test_static_whip(benchmark: BenchmarkFixture) -> None:
    """Bend one side's crankshaft over a turn of 360 angles, statics included; everything else of it is known."""
    closed = linkage(mechanism(load(MODELS / "manta.toml")))
    shape = benchmark(lambda: standing_still(closed.sides[0], closed.mechanism).shape())
    assert len(shape.angle) == 360


def test_cold_check(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    """Start Python, check the demo, write the drawing."""
    words = "from analysis.commands import main; main()"
    command = [sys.executable, "-c", words, "check", str(MODELS / "manta.toml")]
    benchmark.pedantic(
        lambda: subprocess.run(command, cwd=tmp_path, check=True, capture_output=True), rounds=5
    )


def test_open_a_run(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    """Open a recorded let go of the demo and find everything in it."""
    path = record(load(MODELS / "manta.toml"), LET_GO, runs=tmp_path, check=False)
    assert benchmark(lambda: of_run(open_run(path)))


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_by_angles_alone(benchmark: BenchmarkFixture, name: str) -> None:
    """Let go for 20 s by the reduced model: steps with peaks, a whole trace, and the engine at the same step."""
    closed = linkage(mechanism(load(MODELS / f"{name}.toml")))
    built, stepping = LET_GO.scene(closed), Stepping(LET_GO.step(closed), 20.0)
    built = replace(built, rest=None)
    made, reduced = system(built, closed), Reduced(closed)
    Run(made, built, stepping, recorded=False).follow(None)  # compiled
    began = time.process_time()
    ExudynEngine().simulate(built, stepping)
    engine = time.process_time() - began
    began = time.process_time()
    reduced.simulate(built, stepping)
    whole = time.process_time() - began
    benchmark.pedantic(lambda: Run(made, built, stepping, recorded=False).follow(None), rounds=20)
    alone = benchmark.stats.stats.min
    benchmark.extra_info |= {"step [s]": stepping.step, "engine over reduced": round(engine / alone)}
    print(f"\n{name}, 20 s at {stepping.step:g} s: {1000 * alone:.1f} ms, {20 / alone:.0f} times real time, "
          f"{engine / alone:.0f} times the engine; {1000 * whole:.0f} ms with every force and pose")  # fmt: skip


def test_a_release_map(benchmark: BenchmarkFixture) -> None:
    """432 lets go of the demo, 24 angles at 18 speeds, until rest, on all cores, with every joint's peak load.

    Each at the step that a whole run of it has.
    """
    speeds = np.linspace(10, 95, 18) * np.pi / 30
    manta = [("wheel", load(MODELS / "manta.toml"))]
    benchmark.pedantic(lambda: release_maps(manta, speeds.tolist(), 24), rounds=3)
    print(f"\n432 lets go: {benchmark.stats.stats.min:.1f} s, the best of three")
