"""All runs of a study: every load case, friction low and high, the chain's figures half and twice, and the check.

Runs are made without the check of finer steps first; those that the findings rest on are then made with it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from models.cases import Case
from models.loading import changed
from models.resolve import mechanism
from models.sculpture import Sculpture
from models.written import written
from sim.builders import Linkage
from sim.engines.base import NotReduced
from sim.expanding import Expanded, expanded
from sim.many import Job, record_many
from sim.reduced.telling import telling
from sim.run import Run
from sim.scenarios import LetGo, Moving, Scenario, Turn
from sim.simulate import calculated
from sim.store import open_run

FOLLOWING = ("hold-on", "grab", "stop", "jam")
"""Kinds of case that begin where the worst let go does."""
SPREAD = (("rigidity", "force"), ("damping", "time_per_length"))
"""What of a chain's law is known least, and its dimension."""
FACTORS = (0.5, 2.0)
AFTER = 2.0
"""Seconds by which a run with other chains goes on after the time of the largest pull."""
Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class Group:
    """A load case with its runs.

    Attributes
    ----------
    name : the case's.
    case : its figures and source.
    runs : one for each scenario.
    left_out : why there is none, or "".
    """

    name: str
    case: Case
    runs: tuple[Run, ...]
    left_out: str = ""


@dataclass(frozen=True)
class Campaign:
    """All runs.

    Attributes
    ----------
    groups : by load case.
    low, high : slow turn and worst let go with low and high friction.
    spread : worst let go with chain figures half and twice: what was changed, by which factor, and the run.
    bent : slow turn and worst let go with crankshafts that bend, where the description asks for them; everywhere
        else they are rigid.
    """

    groups: tuple[Group, ...]
    low: tuple[Run, ...]
    high: tuple[Run, ...]
    spread: tuple[tuple[str, float, Run], ...]
    bent: tuple[Run, ...] = ()

    def of(self, kind: str) -> tuple[Run, ...]:
        """Give all runs of a kind of case."""
        return tuple(r for g in self.groups if g.case.kind == kind for r in g.runs)

    @property
    def runs(self) -> tuple[Run, ...]:
        """All runs of the load cases, nominal friction."""
        return tuple(r for g in self.groups for r in g.runs)


def campaign(
    sculpture: Sculpture,
    closed: Linkage,
    named: Mapping[str, Case],
    *,
    runs: Path,
    worst: Callable[[Sequence[Run]], Run],
    governing: Callable[[Sequence[Group]], Sequence[str]],
    done: Progress | None = None,
) -> Campaign:
    """Make all runs.

    Parameters
    ----------
    sculpture, closed : what, and its closed loops.
    named : the load cases by name.
    runs : folder for the files.
    worst : chooses the worst of the let goes.
    governing : names the labels of the runs that findings rest on, which are then checked with finer steps.
    done : told how many runs of how many are finished; how many grows as the worst ones become known.
    """
    maker = _Maker(rigid(sculpture), runs, done)
    first = {n: expanded(c, closed) for n, c in named.items() if c.kind not in FOLLOWING}
    made = maker.make(first)
    release = _release(made, worst)
    made |= maker.make({n: expanded(c, closed, release) for n, c in named.items() if c.kind in FOLLOWING})
    groups = tuple(made[n] for n in named)
    gone = [r for g in groups if g.case.kind == "let-go" for r in g.runs]
    needed = {*governing(groups), *(r.label for r in ([worst(gone)] if gone else []))}
    groups = maker.checked(groups, needed)
    bases = _bases(groups, worst)
    low, high = (tuple(maker.record([replace(b, friction=level) for b in bases], check=False))
                 for level in ("low", "high"))  # fmt: skip
    gone = [r for g in groups if g.case.kind == "let-go" for r in g.runs]
    spread = maker.spread(worst(gone) if gone else None)
    return Campaign(groups, low, high, spread, maker.bent(sculpture, bases) if flexible(sculpture) else ())


def brief(
    sculpture: Sculpture, closed: Linkage, named: Mapping[str, Case], worst: Callable[[Sequence[Run]], Run]
) -> Campaign:
    """Make each run once, by the quickest method that knows it: no files, no checks, no other friction or chains.

    Of many lets go only those are made whole that a look at the peaks of all says something rests on.

    Parameters
    ----------
    sculpture, closed, named, worst : as of `campaign`.
    """
    made: dict[str, Group] = {}
    sculpture = rigid(sculpture)
    for name, case in named.items():
        if case.kind not in FOLLOWING:
            found = expanded(case, closed)
            made[name] = _brief(sculpture, name, replace(found, scenarios=telling(closed, found.scenarios)))
    release = _release(made, worst)
    for name, case in named.items():
        if case.kind in FOLLOWING:
            made[name] = _brief(sculpture, name, expanded(case, closed, release))
    return Campaign(tuple(made[n] for n in named), (), (), ())


def flexible(sculpture: Sculpture) -> bool:
    """Say whether a description asks for crankshafts that bend in the engine."""
    return bool(sculpture.crank and sculpture.crank.flexible)


def rigid(sculpture: Sculpture) -> Sculpture:
    """Give a sculpture with rigid crankshafts: bending ones take ten times as long, and loads move by some per cent."""
    return changed(sculpture, {"crank.flexible": False}) if flexible(sculpture) else sculpture


def _brief(sculpture: Sculpture, name: str, found: Expanded) -> Group:
    return Group(name, found.case, tuple(_quickest(sculpture, s) for s in found.scenarios), found.left_out)


def _quickest(sculpture: Sculpture, scenario: Scenario) -> Run:
    try:
        return calculated(sculpture, scenario, method="reduced")
    except NotReduced:
        return calculated(sculpture, scenario)


def _release(made: Mapping[str, Group], worst: Callable[[Sequence[Run]], Run]) -> float | None:
    """Give the crank angle of the worst let go, rad."""
    gone = [r for g in made.values() if g.case.kind == LetGo.case for r in g.runs]
    return float(str(worst(gone).scenario["release"])) if gone else None


def _bases(groups: Sequence[Group], worst: Callable[[Sequence[Run]], Run]) -> list[Scenario]:
    """Give what is looked at with other friction: slow turns, and the worst let go of each case."""
    found: list[Scenario] = []
    for g in groups:
        if g.case.kind == "turn":
            found += [Turn(float(str(r.scenario["speed"]))) for r in g.runs]
        if g.case.kind == "let-go" and g.runs:
            w = worst(g.runs)
            found.append(LetGo(float(str(w.scenario["speed"])), float(str(w.scenario["release"]))))
    return found


class _Maker:
    """Makes runs and counts them."""

    def __init__(self, sculpture: Sculpture, runs: Path, done: Progress | None) -> None:
        self.sculpture, self.folder, self.done = sculpture, runs, done
        self.finished = self.known = 0
        self.scenarios: dict[str, Scenario] = {}

    def make(self, cases: Mapping[str, Expanded]) -> dict[str, Group]:
        """Run cases without the check."""
        flat = [s for e in cases.values() for s in e.scenarios]
        found = iter(self.record(flat, check=False))
        return {
            name: Group(name, e.case, tuple(next(found) for _ in e.scenarios), e.left_out)
            for name, e in cases.items()
        }

    def checked(self, groups: Sequence[Group], labels: set[str]) -> tuple[Group, ...]:
        """Give the groups with the runs of these labels made anew with the check of finer steps."""
        again = [label for label in dict.fromkeys(r.label for g in groups for r in g.runs)
                 if label in labels and isinstance(self.scenarios[label], Moving)]  # fmt: skip
        sure = dict(
            zip(again, self.record([self.scenarios[label] for label in again], check=True), strict=True)
        )
        return tuple(replace(g, runs=tuple(sure.get(r.label, r) for r in g.runs)) for g in groups)

    def spread(self, base: Run | None) -> tuple[tuple[str, float, Run], ...]:
        """Run a let go with each uncertain figure of every chain half and twice, until its chains' peaks are over."""
        chains = [k for k, s in enumerate(self.sculpture.stage, 1) if s.kind != "direct"]
        if base is None or not chains:
            return ()
        last = max(e.time for e in base.extrema if e.channel.startswith("chains/") and e.kind == "max")
        given = (float(str(base.scenario[name])) for name in ("speed", "release"))
        scenario = LetGo(*given, lasts=last + AFTER)
        variants = [(what, factor) for what, _ in SPREAD for factor in FACTORS]
        jobs = [
            Job(_scaled(self.sculpture, chains, what, factor), scenario, self.folder, check=False)
            for what, factor in variants
        ]
        return tuple((w, f, r) for (w, f), r in zip(variants, self._record(jobs), strict=True))

    def bent(self, sculpture: Sculpture, scenarios: Sequence[Scenario]) -> tuple[Run, ...]:
        """Run scenarios with the sculpture's own crankshafts, which bend; their labels say so."""
        made = self._record([Job(sculpture, s, self.folder, check=False) for s in scenarios])
        return tuple(replace(run, label=f"{run.label}, crankshafts bending") for run in made)

    def record(self, scenarios: Sequence[Scenario], check: bool) -> list[Run]:
        """Run scenarios."""
        self.scenarios |= {s.label: s for s in scenarios}
        return self._record([Job(self.sculpture, s, self.folder, check) for s in scenarios])

    def _record(self, jobs: Sequence[Job]) -> list[Run]:
        if not jobs:
            return []
        self.known += len(jobs)
        before = self.finished

        def tell(count: int) -> None:
            self.finished = before + count
            if self.done is not None:
                self.done(self.finished, self.known)

        return [open_run(p) for p in record_many(jobs, tell)]


def _scaled(sculpture: Sculpture, chains: Sequence[int], what: str, factor: float) -> Sculpture:
    """Give a sculpture whose chains have a figure times a factor."""
    dimension = dict(SPREAD)[what]
    stages = mechanism(sculpture).stages
    return changed(
        sculpture,
        {f"stage.{k}.{what}": written(factor * getattr(stages[k - 1], what), dimension) for k in chains},
    )
