"""Figures that rest on what is known least: friction, and the stiffness and damping of chains."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from analysis import handle
from analysis.finding import Finding
from models.shown import shown
from sim.campaign import Campaign
from sim.run import Run

Chooser = Callable[[Sequence[Run]], Run]


@dataclass(frozen=True)
class Range:
    """A finding with low, nominal and high friction.

    Attributes
    ----------
    low, nominal, high : the same finding of three runs; None where a run has none (one that never rests).
    """

    low: Finding | None
    nominal: Finding
    high: Finding | None

    @property
    def shown(self) -> str:
        """The range in words: smallest to largest of the three."""
        known = [f.value for f in (self.low, self.nominal, self.high) if f is not None]
        least, most = min(known), max(known)
        if shown(least, self.nominal.dimension) == shown(most, self.nominal.dimension):
            return self.nominal.shown
        return f"{shown(least, self.nominal.dimension)} to {shown(most, self.nominal.dimension)}"


@dataclass(frozen=True)
class Impact:
    """The hardest take-up of a slack strand in the worst let go, as the chain's uncertain figures and the step vary.

    Attributes
    ----------
    chain : which.
    nominal : N.
    steps : N with step h, h/2, h/4.
    variants : what was changed, by which factor, and the pull, N.
    """

    chain: str
    nominal: float
    steps: tuple[float, float, float]
    variants: tuple[tuple[str, float, float], ...]

    @property
    def least(self) -> float:
        """Smallest of all figures, N."""
        return min(self.nominal, *self.steps, *(v for _, _, v in self.variants))

    @property
    def most(self) -> float:
        """Largest of all figures, N."""
        return max(self.nominal, *self.steps, *(v for _, _, v in self.variants))


def friction(campaign: Campaign, worst: Chooser) -> list[Range]:
    """Give the findings at the wheel of the slow turn and of the worst let go, with their ranges, if any were run."""
    if not campaign.low:
        return []
    nominal: list[Run] = [*campaign.of("turn")]
    for g in campaign.groups:
        if g.case.kind == "let-go" and g.runs:
            nominal.append(worst(g.runs))
    found: list[Range] = []
    for run, low, high in zip(nominal, campaign.low, campaign.high, strict=True):
        below = {(f.where, f.what): f for f in handle.findings(low)}
        above = {(f.where, f.what): f for f in handle.findings(high)}
        found += [
            Range(below.get((f.where, f.what)), f, above.get((f.where, f.what))) for f in handle.findings(run)
        ]
    return found


def impact(campaign: Campaign, worst: Chooser) -> list[Impact]:
    """Give the spread of every chain's hardest take-up over step, stiffness and damping; 0 where none is slack."""
    gone = campaign.of("let-go")
    if not gone or not campaign.spread:
        return []
    base = worst(gone)
    return [
        Impact(chain, _pull(base, chain), _steps(base, chain),
               tuple((what, factor, _pull(run, chain)) for what, factor, run in campaign.spread))
        for chain in base.names("chains")
    ]  # fmt: skip


def _pull(run: Run, chain: str) -> float:
    return max(run.extreme(f"chains/{chain}/impact {s}", "max").value for s in "ab")


def _steps(run: Run, chain: str) -> tuple[float, float, float]:
    """Give the largest pull with three steps; where the check left it out as small, the run's own."""
    own = _pull(run, chain)
    peaks = [
        p.values for p in run.peaks if p.channel.startswith(f"chains/{chain}/impact") and p.kind == "max"
    ]
    if not peaks:
        return own, own, own
    first, second, third = (max(values) for values in zip(*peaks, strict=True))
    return first, second, third
