"""From a sculpture and a scenario to a recorded run, computed once."""

import os
from collections.abc import Callable
from dataclasses import asdict, replace
from pathlib import Path

import numpy as np

from models.loading import DescriptionError
from models.resolve import mechanism
from models.sculpture import Sculpture
from sim import names
from sim.builders import Linkage, linkage
from sim.engines.base import Engine, EngineError, Progress, Stepping, Trace
from sim.identity import canonical, run_id, versions
from sim.recording import channels
from sim.run import Channel, Extreme, Peak, Run, RunFileError, extrema
from sim.scenarios import Scenario
from sim.scene import Scene
from sim.store import open_run, run_path, write_run


def _exudyn() -> Engine:
    # Imported here so that looking at a description does not load the engine.
    from sim.engines.exudyn import ExudynEngine

    return ExudynEngine()


METHODS: dict[str, Callable[[], Engine]] = {"engine": _exudyn}
"""How a run is computed, by name."""

RUNS = Path("runs")


def simulate(
    sculpture: Sculpture,
    scenario: Scenario,
    *,
    method: str = "engine",
    runs: Path = RUNS,
    check: bool = True,
    progress: Progress | None = None,
) -> Run:
    """Simulate a scenario and record it; a run that was recorded before is opened instead.

    Parameters
    ----------
    sculpture : what.
    scenario : what is done to it.
    method : a name in `METHODS`.
    runs : folder for the files.
    check : repeat with half and a quarter of the step and report how the peaks move.
    progress : told which share is done.

    Raises
    ------
    DescriptionError
        When the description lacks something or a linkage does not close.
    """
    path = record(sculpture, scenario, method=method, runs=runs, check=check, progress=progress)
    return open_run(path)


def record(
    sculpture: Sculpture,
    scenario: Scenario,
    *,
    method: str = "engine",
    runs: Path = RUNS,
    check: bool = True,
    progress: Progress | None = None,
) -> Path:
    """Do what `simulate` does and give the run's file."""
    if method not in METHODS:
        raise DescriptionError([f"method: there is no '{method}'; write one of: {', '.join(METHODS)}"])
    engine = METHODS[method]()
    settled = mechanism(sculpture)
    closed = linkage(settled, sculpture.source.label)
    stepping = Stepping(scenario.step(closed), scenario.end(closed))
    settings = {**asdict(stepping), "check": check, "method": method}
    doing = {"case": scenario.case, **asdict(scenario)}
    description = canonical(settled)
    name = run_id(description, doing, settings, engine.version)
    path = run_path(runs, settled.name, scenario.case, name)
    if _recorded(path):
        return path
    scene = scenario.scene(closed)
    status, reason = "finished", ""
    shares = (1 / 7, 2 / 7, 4 / 7) if check else (1.0,)
    try:
        trace = engine.simulate(scene, stepping, _part(progress, 0.0, shares[0]))
    except EngineError as error:
        status, reason = "failed", str(error)
        trace = error.trace or Trace(np.zeros(0))
    found, highs = _gather(closed, scene, trace)
    peaks: tuple[Peak, ...] = ()
    if check and status == "finished":
        peaks, words = _peaks(engine, closed, scene, trace, stepping, highs, progress)
        reason = words
    run = Run(
        id=name,
        sculpture=settled.name,
        case=scenario.case,
        label=scenario.label,
        scenario=doing,
        settings=settings,
        versions={**versions(), "engine": engine.version},
        description=description,
        text=sculpture.source.text,
        status=status,
        reason=reason,
        rested=trace.rested,
        time=trace.time,
        channels=found,
        extrema=highs,
        peaks=peaks,
    )
    write_run(run, path)
    return path


def _recorded(path: Path) -> bool:
    """Say whether a whole run lies there; a file that cannot be read is computed again."""
    if not path.is_file():
        return False
    try:
        open_run(path)
    except RunFileError:
        return False
    return True


def _gather(closed: Linkage, scene: Scene, trace: Trace) -> tuple[dict[str, Channel], tuple[Extreme, ...]]:
    if len(trace.time) == 0:
        return {}, ()
    found = channels(closed.mechanism, scene, trace)
    crank = found[f"angles/{names.crankshaft(closed.sides[0].side.name)}/angle"].values
    return found, extrema(found, trace.time, crank)


def _peaks(
    engine: Engine,
    closed: Linkage,
    scene: Scene,
    trace: Trace,
    stepping: Stepping,
    highs: tuple[Extreme, ...],
    progress: Progress | None,
) -> tuple[tuple[Peak, ...], str]:
    """Repeat a run with half and a quarter of its step, as far as it went, and compare the peaks."""
    judged = _judged(highs)
    finer: list[dict[tuple[str, str], float]] = []
    done = 1 / 7
    for k in (2, 4):
        end = float(trace.time[-1])
        try:
            again = engine.simulate(
                scene,
                replace(stepping, step=stepping.step / k, end=end),
                _part(progress, done, k / 7),
            )
        except EngineError as error:
            return (), f"the check with a step of {stepping.step / k:.3g} s failed: {error}"
        done += k / 7
        finer.append({(e.channel, e.kind): e.value for e in _gather(closed, scene, again)[1]})
    return tuple(
        Peak(
            e.channel,
            e.kind,
            (e.value, finer[0][e.channel, e.kind], finer[1][e.channel, e.kind]),
        )
        for e in judged
        if all((e.channel, e.kind) in f for f in finer)
    ), ""


def _judged(highs: tuple[Extreme, ...]) -> list[Extreme]:
    """Choose the peaks that findings rest on: loads, torques and speeds that are not small change.

    What stays below a thousandth of the largest of its kind (the moment of a spin lock, the least pull of a
    strand) is rounding and would only cry wolf.
    """
    quantities = ("force", "moment", "torque", "speed", "tension")
    groups = {q: [e for e in highs if e.channel.endswith(f"/{q}") and not e.channel.startswith("bodies/")]
              for q in quantities}  # fmt: skip
    return [
        e
        for group in groups.values()
        for e in group
        if abs(e.value) > 1e-3 * max(abs(x.value) for x in group)
        and (e.kind, e.channel[:7]) != ("min", "chains/")
    ]


def _part(progress: Progress | None, start: float, share: float) -> Progress | None:
    if progress is None:
        return None
    return lambda done: progress(start + share * done)


def workers() -> int:
    """Give how many processes runs may use at once."""
    return max(1, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1)
