"""What every joint, chain and coupling carries in a study, by kinds of load case, with directions."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from analysis import bearing_loads
from analysis.envelope import Envelope
from analysis.finding import Finding
from sim.builders import Linkage
from sim.campaign import Campaign
from sim.clearance import mirrors
from sim.run import Run

USED = ("turn", "crank", "let-go")
"""Kinds of case in which everything still runs as it should: what is said of chains, keys and whip rests on them."""
BOUND = "blocked"
"""Kind of case whose loads are an upper bound."""
CHANNELS = {
    bearing_loads.LARGEST: ("joints", "force"),
    bearing_loads.MOMENT: ("joints", "moment"),
}
"""Group and name of the channel of a load with a direction."""
Worst = dict[tuple[str, str], Finding]
"""Loads by joint and what."""


@dataclass(frozen=True)
class Loads:
    """The envelope of a study with names of load cases, directions and what comes up in use.

    Attributes
    ----------
    linkage : the sculpture's.
    campaign : all runs.
    envelope : of their loads.
    """

    linkage: Linkage
    campaign: Campaign
    envelope: Envelope

    @cached_property
    def mirrored(self) -> bool:
        """Whether the sides are alike: what happens to one may happen to the other."""
        return mirrors(self.linkage.sides)

    @cached_property
    def runs(self) -> dict[str, Run]:
        """All runs by their label."""
        return {r.label: r for r in self.campaign.runs}

    @cached_property
    def names(self) -> dict[str, str]:
        """The names of the load cases by the labels of their runs."""
        return {r.label: g.name for g in self.campaign.groups for r in g.runs}

    @cached_property
    def used(self) -> Worst:
        """The worst of each load in cases in which everything runs as it should."""
        return self._worst(lambda kind: kind in USED)

    @cached_property
    def met(self) -> Worst:
        """The worst of each load over all cases but blocked panels, which are an upper bound; else those."""
        return {**self._worst(lambda kind: kind == BOUND), **self._worst(lambda kind: kind != BOUND)}

    @cached_property
    def bound(self) -> Worst:
        """The upper bound of each load with a panel or crank blocked."""
        return self._worst(lambda kind: kind == BOUND)

    def _worst(self, counts: Callable[[str], bool]) -> Worst:
        best: Worst = {}
        for group in self.campaign.groups:
            for f in self.envelope.by_case.get(group.name, ()) if counts(group.case.kind) else ():
                key = (f.where, f.what)
                if key not in best or f.value > best[key].value:
                    best[key] = f
        return best

    def case(self, f: Finding) -> str:
        """Give the name of the load case that a finding comes from."""
        return self.names.get(f.case, f.case)

    def vector(self, f: Finding) -> tuple[float, float, float] | None:
        """Give the components forward, left and up of a force or moment, N or N m; None where it has none."""
        run, channel = self.runs.get(f.case), CHANNELS.get(f.what)
        if run is None or channel is None:
            return None
        return run.extreme(f"{channel[0]}/{f.where}/{channel[1]}", "largest").vector
