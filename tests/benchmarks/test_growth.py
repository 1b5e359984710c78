"""What cost grows with: runs of a map, panels of a side. In proportion, or nearly.

Run by name: python -m pytest tests/benchmarks/test_growth.py -s. Processor time of one process, the best of several.
"""

import time
from collections.abc import Callable
from dataclasses import replace
from importlib.resources import files

import numpy as np

from models.loading import load, loads
from models.resolve import mechanism
from sim.builders import Linkage, linkage
from sim.engines.base import Stepping
from sim.reduced.method import Reduced, Run
from sim.reduced.quick import let_go
from sim.reduced.system import system
from sim.scenarios import LetGo

MANTA = files("models").joinpath("manta.toml")
RPM = np.pi / 30
FURTHER = """
[[panel]]
name = "tip"
outline = { unit = "mm", points = [[-60, 0], [120, 0], [40, 400]] }
thickness = "2 mm"
hinge = { out = "620 mm" }
yoke_pin = { out = "150 mm", below = "40 mm" }
throw = { radius = "320 mm", angle = "-60 deg", out = "1360 mm" }
rod = "640 mm"

[[panel]]
name = "end"
outline = { unit = "mm", points = [[-40, 0], [60, 0], [20, 260]] }
thickness = "2 mm"
hinge = { out = "380 mm" }
yoke_pin = { out = "215 mm", below = "40 mm" }
throw = { radius = "335 mm", angle = "-69 deg", out = "1705 mm" }
rod = "720 mm"
"""


def with_panels(count: int) -> Linkage:
    """Give the demo with so many panels a side, one hinged to the other."""
    text = MANTA.read_text("utf-8").replace('["250 mm", "930 mm"]', '["250 mm", "1900 mm"]') + FURTHER
    return linkage(mechanism(loads("[[panel]]".join(text.split("[[panel]]")[: count + 1]))))


def best(run: Callable[[], object], rounds: int = 15) -> float:
    """Give processor seconds, the best of several rounds."""
    found: list[float] = []
    for _ in range(rounds):
        began = time.process_time()
        run()
        found.append(time.process_time() - began)
    return min(found)


def power(count: list[int], cost: list[float]) -> float:
    """Give the power of the count with which cost grows, by least squares of the logarithms."""
    return float(np.polyfit(np.log(count), np.log(cost), 1)[0])


def test_runs() -> None:
    """Maps of 3 speeds by 9 angles, 6 by 18, and 18 by 24."""
    closed = linkage(mechanism(load(str(MANTA))))
    let_go(closed, 1.0, 1.0)  # compiled, tables made
    counts, costs = [], []
    for speeds, angles in ((3, 9), (6, 18), (18, 24)):
        releases = [(float(s) * RPM, float(a)) for s in np.linspace(10, 95, speeds)
                    for a in np.linspace(0, 2 * np.pi, angles, endpoint=False)]  # fmt: skip
        costs.append(best(lambda: [let_go(closed, s, a) for s, a in releases], 2))  # noqa: B023
        counts.append(len(releases))
        print(f"\n| {counts[-1]} | {costs[-1]:.2f} | {1000 * costs[-1] / counts[-1]:.1f} |")
    print(f"power {power(counts, costs):.2f}")


def test_panels() -> None:
    """Let go for 20 s at 2 ms: the steps with peaks, and with everything recovered."""
    counts, steps, whole = [1, 2, 3, 4], [], []
    for count in counts:
        closed = with_panels(count)
        built = replace(LetGo(60 * RPM, np.radians(300)).scene(closed), rest=None)
        made, stepping, reduced = system(built, closed), Stepping(2e-3, 20.0), Reduced(closed)
        Run(made, built, stepping, recorded=False).follow(None)
        steps.append(best(lambda: Run(made, built, stepping, recorded=False).follow(None)))  # noqa: B023
        whole.append(best(lambda: reduced.simulate(built, stepping)))  # noqa: B023
        print(
            f"\n| {count} | {1000 * steps[-1]:.1f} | {1e6 * steps[-1] / stepping.steps:.2f} | {1000 * whole[-1]:.0f} |"
        )
    print(f"power {power(counts, steps):.2f} of the steps, {power(counts, whole):.2f} of everything")
