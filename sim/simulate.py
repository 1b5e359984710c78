"""From a sculpture and a scenario to a recorded run, computed once."""

import os
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import final

import numpy as np

from models.loading import DescriptionError
from models.resolve import mechanism
from models.sculpture import Sculpture
from sim import names
from sim.arrays import Array
from sim.builders import Linkage, at_friction, linkage
from sim.engines.base import Engine, EngineError, NotReduced, Progress, Rule, Stepping, Trace
from sim.identity import canonical, run_id, versions
from sim.layout import chain_faults
from sim.recording import channels
from sim.run import Channel, Extreme, Peak, Run, RunFileError, extrema
from sim.scenarios import Moving, Scenario, Standing
from sim.scenarios.base import bends
from sim.scene import Scene
from sim.store import open_run, run_path, write_run


def _exudyn(closed: Linkage) -> Engine:
    # Imported here so that looking at a description does not load the engine.
    from sim.engines.exudyn import ExudynEngine

    del closed
    return ExudynEngine()


def _reduced(closed: Linkage) -> Engine:
    # Imported here because compiling takes its time.
    from sim.reduced.method import Reduced

    return Reduced(closed)


METHODS: dict[str, Callable[[Linkage], Engine]] = {"engine": _exudyn, "reduced": _reduced}
"""How a run is computed, by name: in three dimensions, or by the angles alone."""

RUNS = Path("runs")
APART = 1e-3
"""Drift of a joint's two points, m, from which a run is none: sound ones stay below a hundredth of a millimetre."""
STORED = 6000
"""Steps of a run that are kept at most; a figure shows no more, and a study of sixty runs stays in one folder."""
BEYOND = 1.0
"""Seconds by which the check with finer steps goes on after the last of the peaks that it judges."""


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
        When the description lacks something, a linkage does not close, or the method cannot do this.
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
    work = _work(sculpture, scenario, method, check, progress)
    path = work.path(runs)
    if _recorded(path):
        return path
    # A run that was made without the check needs only its finer steps.
    plain = _work(sculpture, scenario, method, False, progress).path(runs)
    try:
        made = work.run(open_run(plain) if check and _recorded(plain) else None)
    except NotReduced as error:
        raise DescriptionError([f"{sculpture.source.label}: {scenario.label}: {error}"]) from None
    write_run(made, path)
    return path


def calculated(sculpture: Sculpture, scenario: Scenario, *, method: str = "engine") -> Run:
    """Simulate a scenario without the check of finer steps and without a file.

    Parameters
    ----------
    sculpture, scenario, method : as of `simulate`.

    Raises
    ------
    DescriptionError
        As `simulate` does.
    NotReduced
        When the reduced model knows nothing of something that belongs to the scenario.
    """
    return _work(sculpture, scenario, method, False, None).run()


def _work(
    sculpture: Sculpture, scenario: Scenario, method: str, check: bool, progress: Progress | None
) -> "_Work":
    """Close a sculpture's loops for a scenario."""
    if method not in METHODS:
        raise DescriptionError([f"method: there is no '{method}'; write one of: {', '.join(METHODS)}"])
    settled = mechanism(sculpture)
    closed = at_friction(linkage(settled, sculpture.source.label), scenario.friction)
    faults = chain_faults(settled)
    if faults:
        raise DescriptionError([f"{sculpture.source.label}: {fault}" for fault in faults])
    given = (sculpture, canonical(settled), closed, scenario)
    if isinstance(scenario, Moving):
        return _Followed(*given, scenario, METHODS[method](closed), method, check, progress)
    if isinstance(scenario, Standing):
        return _Stood(*given, scenario)
    raise TypeError(f"{scenario.case} is neither moving nor standing")


@dataclass(frozen=True)
class _Outcome:
    """What came of a scenario."""

    time: Array
    channels: dict[str, Channel]
    extrema: tuple[Extreme, ...]
    status: str = "finished"
    reason: str = ""
    rested: bool = False
    peaks: tuple[Peak, ...] = ()


@dataclass(frozen=True)
class _Work(ABC):
    """A scenario of a sculpture with its loops closed.

    Attributes
    ----------
    sculpture, scenario : what is done to what.
    description : canonical JSON of the sculpture as settled.
    closed : its linkage, friction at the scenario's level.
    """

    sculpture: Sculpture
    description: str
    closed: Linkage
    scenario: Scenario

    @property
    @abstractmethod
    def version(self) -> str:
        """Name and version of what computes it."""

    @property
    @abstractmethod
    def settings(self) -> Mapping[str, object]:
        """How it is computed."""

    @abstractmethod
    def outcome(self, before: Run | None) -> _Outcome:
        """Compute it, or take it from a run made before as far as that goes."""

    @property
    def doing(self) -> dict[str, object]:
        """What is done, as recorded."""
        return {"case": self.scenario.case, **asdict(self.scenario)}

    @property
    def id(self) -> str:
        return run_id(self.description, self.doing, self.settings, self.version)

    def path(self, runs: Path) -> Path:
        return run_path(runs, self.closed.mechanism.name, self.scenario.case, self.id)

    def run(self, before: Run | None = None) -> Run:
        done = self.outcome(before)
        return Run(
            id=self.id,
            sculpture=self.closed.mechanism.name,
            case=self.scenario.case,
            label=self.scenario.label,
            scenario=self.doing,
            settings=self.settings,
            versions={**versions(), "engine": self.version},
            description=self.description,
            text=self.sculpture.source.text,
            status=done.status,
            reason=done.reason,
            rested=done.rested,
            time=done.time,
            channels=done.channels,
            extrema=done.extrema,
            peaks=done.peaks,
        )


@final
@dataclass(frozen=True)
class _Followed(_Work):
    """A moving scenario to be followed by an engine."""

    moving: Moving
    engine: Engine
    method: str
    check: bool
    progress: Progress | None

    @property
    def version(self) -> str:
        return self.engine.version

    @property
    def stepping(self) -> Stepping:
        rule: Rule = "newmark" if bends(self.closed) else "trapezoidal"
        return Stepping(self.moving.step(self.closed), self.moving.end(self.closed), rule)

    @property
    def settings(self) -> dict[str, object]:
        return {**asdict(self.stepping), "check": self.check, "method": self.method}

    def outcome(self, before: Run | None) -> _Outcome:
        """Follow the scenario, or take it from a run made before, and check it with finer steps where asked for."""
        scene, stepping = self.moving.scene(self.closed), self.stepping
        if before is None:
            done = self._once(scene, stepping)
        else:
            done = _Outcome(before.time, dict(before.channels), before.extrema, before.status, before.reason,
                            before.rested)  # fmt: skip
        if not self.check or done.status != "finished":
            return done
        peaks, reason = _peaks(
            self.engine, self.closed, scene, float(done.time[-1]), stepping, done.extrema, self.progress
        )
        return replace(done, peaks=peaks, reason=reason)

    def _once(self, scene: Scene, stepping: Stepping) -> _Outcome:
        status, reason = "finished", ""
        try:
            trace = self.engine.simulate(
                scene, stepping, _part(self.progress, 0.0, 1 / 7 if self.check else 1.0)
            )
        except EngineError as error:
            status, reason = "failed", str(error)
            trace = error.trace or Trace(np.zeros(0))
        found, highs = _gather(self.closed, scene, trace)
        widest = float(np.max(trace.gap, initial=0.0))
        if status == "finished" and not widest <= APART:
            status = "failed"
            reason = f"joints came apart by {1000 * widest:.3g} mm: steps of {self.stepping.step:.3g} s are too long"
        time, kept = _thinned(trace.time, found)
        return _Outcome(time, kept, highs, status, reason, trace.rested)


@final
@dataclass(frozen=True)
class _Stood(_Work):
    """A standing scenario, in closed form."""

    standing: Standing

    @property
    def version(self) -> str:
        return "closed form"

    @property
    def settings(self) -> dict[str, object]:
        return {"method": "closed form"}

    def outcome(self, before: Run | None) -> _Outcome:
        del before
        found = self.standing.channels(self.closed)
        crank = found[f"angles/{names.crankshaft(self.closed.sides[0].side.name)}/angle"].values
        time = np.arange(len(crank), dtype=float)
        return _Outcome(time, found, extrema(found, time, crank))


def _thinned(time: Array, found: dict[str, Channel]) -> tuple[Array, dict[str, Channel]]:
    """Keep every so many steps of a long run, the last one among them; its extrema come from all of them."""
    every = -(-len(time) // STORED)
    if every <= 1:
        return time, found
    kept = np.unique(np.append(np.arange(0, len(time), every), len(time) - 1))
    return time[kept], {name: replace(c, values=c.values[kept]) for name, c in found.items()}


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
    until: float,
    stepping: Stepping,
    highs: tuple[Extreme, ...],
    progress: Progress | None,
) -> tuple[tuple[Peak, ...], str]:
    """Repeat a run with half and a quarter of its step, until the last of its peaks is over, and compare them."""
    judged = _judged(highs)
    last = max((e.time for e in judged), default=0.0)
    end = min(until, last + BEYOND)
    finer: list[dict[tuple[str, str], float]] = []
    done = 1 / 7
    for k in (2, 4):
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
    strand) is rounding and would only cry wolf. Friction, whose peak at rest is met or missed by a step, and the
    light shafts between, which rattle in their slack, are not findings either.
    """
    quantities = ("force", "moment", "torque", "speed", "tension a", "tension b", "impact a", "impact b")
    groups = {q: [e for e in highs if e.channel.endswith(f"/{q}") and _found(e.channel)] for q in quantities}
    return [
        e
        for group in groups.values()
        for e in group
        if abs(e.value) > 1e-3 * max(abs(x.value) for x in group)
        and (e.kind, e.channel[:7]) != ("min", "chains/")
    ]


def _found(channel: str) -> bool:
    """Say whether findings rest on a channel's peaks."""
    group, name, _ = channel.split("/")
    if group == "angles":
        return name == names.WHEEL or name.endswith("crankshaft")
    return group != "bodies" and not name.endswith((" friction", " drag"))


def _part(progress: Progress | None, start: float, share: float) -> Progress | None:
    if progress is None:
        return None
    return lambda done: progress(start + share * done)


def workers() -> int:
    """Give how many processes runs may use at once."""
    return max(1, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1)
