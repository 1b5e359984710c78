"""The main job: everything this program can say of a sculpture, from its description to findings."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from analysis import (
    allowances,
    chain_fit,
    chain_paths,
    clearances,
    clocking,
    coupling_verdicts,
    drive_line,
    feel,
    give,
    handle,
    limiter,
    masses,
    motion,
    reach,
    safety,
    shaft_strength,
    shaft_whip,
    spreads,
)
from analysis.envelope import Envelope, envelope
from analysis.finding import Finding, beyond, worst
from analysis.loads import USED, Loads
from analysis.parts.basis import Basis
from analysis.questions import closed
from analysis.schedule import Schedule, schedule
from analysis.sensitivity import Weight, weights
from analysis.shaft_limits import slope_limit
from analysis.shafts import Shafts, shafts
from models.cases import Case, cases
from models.mechanism import Default
from models.parts.families import makers as read_makers
from models.sculpture import Sculpture
from sim import names
from sim.builders import Linkage
from sim.campaign import Campaign, Group, brief, campaign
from sim.run import Peak, Run
from sim.scenarios import LetGo

PEAK = "peak rim or grip speed after letting go"


@dataclass(frozen=True)
class Study:
    """What was found out about a sculpture.

    Attributes
    ----------
    name : the sculpture's.
    linkage : its closed loops.
    campaign : all runs.
    motion, chains, paths, clearances, masses, reach : findings of the geometry.
    hand, start : what a hand feels, and who can start the wheel.
    let_go, safety : after letting go at the worst angle; and what could hurt.
    loads : the envelope over all load cases.
    drive, whip, strength : of chains, couplings and shafts, worst of all runs.
    shafts : what the description alone says of its shafts; None in a brief study.
    whips : the largest deflections of each load case, with its name; none in a brief study.
    ranges : what depends on friction, low, nominal and high.
    impact : how far the chains' peak rests on what is known least of them.
    defaults : what the description leaves open.
    weights : its numbers, defaults first and of them the one that matters most.
    schedule : which parts it needs; None in a brief study.
    """

    name: str
    linkage: Linkage
    campaign: Campaign
    motion: tuple[Finding, ...]
    chains: tuple[Finding, ...]
    paths: tuple[Finding, ...]
    clearances: tuple[Finding, ...]
    masses: tuple[Finding, ...]
    reach: tuple[Finding, ...]
    hand: tuple[Finding, ...]
    start: tuple[Finding, ...]
    let_go: tuple[Finding, ...]
    safety: tuple[Finding, ...]
    envelope: Envelope
    drive: tuple[Finding, ...]
    whip: tuple[Finding, ...]
    strength: tuple[Finding, ...]
    shafts: Shafts | None
    whips: tuple[tuple[str, Finding], ...]
    ranges: tuple[spreads.Range, ...]
    impact: tuple[spreads.Impact, ...]
    defaults: tuple[Default, ...]
    weights: tuple[Weight, ...]
    schedule: Schedule | None = None

    @cached_property
    def loads(self) -> Loads:
        """What every joint, chain and coupling carries."""
        return Loads(self.linkage, self.campaign, self.envelope)

    @property
    def turn(self) -> Run:
        """The slow turn."""
        return self.campaign.of("turn")[0]

    @property
    def gone(self) -> tuple[Run, ...]:
        """Let go at every angle."""
        return self.campaign.of("let-go")

    @property
    def worst_let_go(self) -> Run:
        """The let go with the highest peak speed."""
        return fastest(self.gone)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, in the order of the summary."""
        own = self.shafts
        parts = () if self.schedule is None else self.schedule.findings
        still = () if own is None else (*own.stock, *own.couplings, *own.bow, *own.wings, *own.resonances)
        return (*self.motion, *self.clearances, *self.hand, *self.start, *self.reach, *self.let_go, *self.safety,
                *self.envelope.loads, *self.drive, *self.whip, *self.strength, *still, *self.chains, *self.paths,
                *parts, *self.masses)  # fmt: skip

    @property
    def beyond(self) -> list[Finding]:
        """The findings beyond their limits."""
        return beyond(self.findings)

    @property
    def restless(self) -> list[tuple[Run, Peak]]:
        """The peaks of all checked runs that move by more than 1 % as the step is halved, worst first."""
        found = [(run, peak) for run in self.campaign.runs for peak in run.restless]
        return sorted(found, key=lambda pair: -pair[1].moved)


def study(
    sculpture: Sculpture,
    *,
    runs: Path,
    only: Sequence[str] | None = None,
    angles: int | None = None,
    speed: float | None = None,
    makers: Mapping[str, Path] | None = None,
    done: Callable[[int, int], None] | None = None,
) -> Study:
    """Study a sculpture.

    Parameters
    ----------
    sculpture : with everything that a simulation needs.
    runs : folder for the runs.
    only : names of load cases beside the slow turn and letting go; by default all.
    angles : release angles over the turn, instead of the load case's.
    speed : wheel speed at the release, rad/s, instead of the load case's.
    makers : files of makers' own catalogues, by family, in place of the description's and the project's.
    done : told how many runs of how many are finished.

    Raises
    ------
    DescriptionError
        When the description lacks something, a case or a catalogue is wrong or a linkage does not close.
    """
    linkage = closed(sculpture)
    own = read_makers(sculpture, makers)
    named = _chosen(cases(sculpture), only, angles, speed)
    made = campaign(sculpture, linkage, named, runs=runs, worst=fastest, governing=_governing, done=done)
    gone = made.of("let-go")
    given = fastest(gone).scenario if gone else None
    worst_gone = None if given is None else LetGo(float(str(given["speed"])), float(str(given["release"])))
    ends = [r.extreme(f"angles/{names.WHEEL}/speed", kind).value for r in gone for kind in ("max", "min")]
    top = max((abs(v) for v in ends), default=None)
    still = shafts(linkage, named, fastest=top)
    found = _found(linkage, made, tuple(weights(sculpture, worst_gone)), still)
    basis = Basis(found.loads, still, found.whip, found.strength, own)
    return replace(found, schedule=schedule(basis))


def brief_study(
    sculpture: Sculpture,
    *,
    only: Sequence[str] | None = None,
    angles: int | None = None,
    speed: float | None = None,
) -> Study:
    """Study one of many alike: each load case once by the quickest method; no ranges, weights of defaults or files.

    Parameters
    ----------
    sculpture, only, angles, speed : as of `study`, which says what is raised.
    """
    linkage = closed(sculpture)
    named = _chosen(cases(sculpture), only, angles, speed)
    return _found(linkage, brief(sculpture, linkage, named, fastest), ())


def _found(
    linkage: Linkage, made: Campaign, moving: tuple[Weight, ...], still: Shafts | None = None
) -> Study:
    """Give everything that runs and the linkage tell."""
    mechanism = linkage.mechanism
    gone = made.of("let-go")
    over = envelope((g.name, g.runs) for g in made.groups)
    used = [run for kind in USED for run in made.of(kind)]
    bending = [*used, *made.bent]
    whip = tuple(
        worst(
            f for run in bending for f in shaft_whip.findings(run, slope_limit, coupling_verdicts.allowances)
        )
    )
    allowance = replace(allowances.standard(mechanism), give=give.of_runs(linkage, used))
    return Study(
        name=mechanism.name,
        linkage=linkage,
        campaign=made,
        motion=tuple(motion.of_linkage(linkage)),
        chains=tuple(chain_fit.of_mechanism(mechanism)),
        paths=tuple(chain_paths.of_mechanism(mechanism)),
        clearances=tuple(clearances.of_linkage(linkage, allowance)),
        masses=tuple(masses.of_linkage(linkage)),
        reach=tuple(reach.of_mechanism(mechanism)),
        hand=tuple(f for run in (*made.of("turn"), *made.of("crank")) for f in handle.findings(run)),
        start=(*feel.can_start(linkage), *feel.starting(linkage)),
        let_go=tuple(worst(f for run in gone for f in handle.findings(run))),
        safety=tuple(safety.of_campaign(made, mechanism)),
        envelope=over,
        drive=(
            *worst(
                f for run in made.runs for f in drive_line.findings(run) if f.what not in drive_line.LOADS
            ),
            *clocking.of_linkage(linkage),
            *limiter.of_runs(made.runs, mechanism),
        ),
        whip=whip,
        strength=tuple(shaft_strength.least(f for run in bending for f in shaft_strength.findings(run))),
        shafts=still,
        whips=() if still is None else tuple(shaft_whip.by_case((g.name, g.runs) for g in made.groups)),
        ranges=tuple(spreads.friction(made, fastest)),
        impact=tuple(spreads.impact(made, fastest)),
        defaults=mechanism.defaults,
        weights=moving,
    )


def fastest(runs: Sequence[Run]) -> Run:
    """Give the run with the highest rim speed."""
    return max(
        runs, key=lambda run: max((f.value for f in handle.findings(run) if f.what == PEAK), default=0.0)
    )


def _governing(groups: Sequence[Group]) -> list[str]:
    """Name the runs that the envelope's loads come from, and the slow turn, on which the hand's figures rest."""
    turns = [r.label for g in groups if g.case.kind == "turn" for r in g.runs]
    return turns + envelope((g.name, g.runs) for g in groups).governing()


def _chosen(
    named: Mapping[str, Case], only: Sequence[str] | None, angles: int | None, speed: float | None
) -> dict[str, Case]:
    """Give the cases to run, the let go with another number of angles or speed where asked for."""
    chosen = {n: c for n, c in named.items() if only is None or n in only or c.kind in ("turn", "let-go")}
    figures = {k: float(v) for k, v in (("angles", angles), ("speed", speed)) if v is not None}
    return {
        n: replace(c, figures={**c.figures, **figures}) if c.kind == "let-go" else c
        for n, c in chosen.items()
    }
