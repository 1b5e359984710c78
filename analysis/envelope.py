"""The worst of each load over many runs, and which runs it comes from."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from analysis import bearing_loads, drive_line
from analysis.finding import Finding, worst
from sim.run import Run


@dataclass(frozen=True)
class Envelope:
    """Worst loads.

    Attributes
    ----------
    loads : for each joint, chain and coupling the worst of all runs, with its case, time and crank angle.
    cases : for each load case (its label) the worst of its runs, of every joint.
    """

    loads: tuple[Finding, ...]
    by_case: dict[str, tuple[Finding, ...]]

    def governing(self) -> list[str]:
        """Name the labels of the runs that give a load of the envelope."""
        return list(dict.fromkeys(f.case for f in self.loads))


def envelope(groups: Iterable[tuple[str, Sequence[Run]]]) -> Envelope:
    """Give the worst loads of runs, grouped by load case.

    Parameters
    ----------
    groups : name of a case and its runs.
    """
    by_case: dict[str, tuple[Finding, ...]] = {}
    for name, runs in groups:
        found = [f for run in runs for f in loads(run)]
        if found:
            by_case[name] = tuple(worst(found))
    return Envelope(tuple(worst(f for found in by_case.values() for f in found)), by_case)


def loads(run: Run) -> list[Finding]:
    """Give what an envelope of a run is made of: largest forces, moments, pulls and torques."""
    found = [f for f in bearing_loads.findings(run) if f.what not in bearing_loads.ONCE]
    return found + [f for f in drive_line.findings(run) if f.what in drive_line.LOADS]
