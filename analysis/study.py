"""The main job: everything this program can say of a sculpture, from its description to findings."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from analysis import bearing_loads, chain_fit, handle, masses, motion, shaft_whip
from analysis.finding import Finding, beyond, worst
from analysis.questions import closed
from analysis.sensitivity import Weight, weights
from models.mechanism import Default
from models.people import people
from models.sculpture import Sculpture
from models.units import quantity
from sim.builders import Linkage
from sim.many import Job, record_many
from sim.run import Peak, Run
from sim.scenarios import Crank, LetGo, Turn
from sim.store import open_run

SLOW = quantity("10 rpm", "angular_speed")
PEAK = "peak rim or grip speed after letting go"


@dataclass(frozen=True)
class Study:
    """What was found out about a sculpture.

    Attributes
    ----------
    name : the sculpture's.
    linkage : its closed loops.
    turn : the slow turn.
    cranked : each profile cranking.
    gone : let go at evenly spaced angles.
    motion, chains, masses : findings of the geometry.
    hand, let_go, loads, whip : findings of the runs; loads and whip are envelopes over all runs.
    defaults : what the description leaves open.
    weights : the same, the one that matters most first.
    """

    name: str
    linkage: Linkage
    turn: Run
    cranked: tuple[Run, ...]
    gone: tuple[Run, ...]
    motion: tuple[Finding, ...]
    chains: tuple[Finding, ...]
    masses: tuple[Finding, ...]
    hand: tuple[Finding, ...]
    let_go: tuple[Finding, ...]
    loads: tuple[Finding, ...]
    whip: tuple[Finding, ...]
    defaults: tuple[Default, ...]
    weights: tuple[Weight, ...]

    @property
    def runs(self) -> tuple[Run, ...]:
        """All runs."""
        return (self.turn, *self.cranked, *self.gone)

    @property
    def worst_let_go(self) -> Run:
        """The let go with the highest peak speed."""
        return max(self.gone, key=_peak)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, in the order of the summary."""
        return (*self.motion, *self.hand, *self.let_go, *self.loads, *self.whip, *self.chains, *self.masses)

    @property
    def beyond(self) -> list[Finding]:
        """The findings beyond their limits."""
        return beyond(self.findings)

    @property
    def restless(self) -> list[tuple[Run, Peak]]:
        """The peaks of all runs that move by more than 1 % as the step is halved, worst first."""
        found = [(run, peak) for run in self.runs for peak in run.restless]
        return sorted(found, key=lambda pair: -pair[1].moved)


def study(
    sculpture: Sculpture,
    *,
    runs: Path,
    angles: int = 24,
    speed: float | None = None,
    done: Callable[[int, int], None] | None = None,
) -> Study:
    """Study a sculpture.

    Parameters
    ----------
    sculpture : with everything that a simulation needs.
    runs : folder for the runs.
    angles : release angles over the turn.
    speed : wheel speed at the release, rad/s; the default is an adult's comfortable hand speed.
    done : told how many runs of how many are finished.

    Raises
    ------
    DescriptionError
        When the description lacks something or a linkage does not close.
    """
    linkage = closed(sculpture)
    mechanism = linkage.mechanism
    release = people()["adult"].speed / mechanism.wheel.radius if speed is None else speed
    scenarios = [Turn(SLOW), *(Crank(name) for name in people())]
    scenarios += [LetGo(release, float(a)) for a in np.linspace(0, 2 * np.pi, angles, endpoint=False)]
    jobs = [Job(sculpture, s, runs) for s in scenarios]
    paths = record_many(jobs, None if done is None else lambda n: done(n, len(jobs)))
    found = [open_run(p) for p in paths]
    people_count = len(people())
    turn, cranked, gone = found[0], tuple(found[1 : 1 + people_count]), tuple(found[1 + people_count :])
    hand = [f for run in (turn, *cranked) for f in handle.findings(run)]
    return Study(
        name=mechanism.name,
        linkage=linkage,
        turn=turn,
        cranked=cranked,
        gone=gone,
        motion=tuple(motion.of_linkage(linkage)),
        chains=tuple(chain_fit.of_stages(mechanism.stages, mechanism.post)),
        masses=tuple(masses.of_linkage(linkage)),
        hand=tuple(hand),
        let_go=tuple(worst(f for run in gone for f in handle.findings(run))),
        loads=tuple(bearing_loads.envelope(found)),
        whip=tuple(worst(f for run in found for f in shaft_whip.findings(run))),
        defaults=mechanism.defaults,
        weights=tuple(weights(sculpture)),
    )


def _peak(run: Run) -> float:
    return max((f.value for f in handle.findings(run) if f.what == PEAK), default=0.0)
