"""All findings of one run."""

from analysis import bearing_loads, chain_paths, drive_line, handle, shaft_whip
from analysis.finding import Finding
from models.mechanism import from_canonical
from sim import names
from sim.run import Run


def _whip(run: Run) -> list[Finding]:
    """Give the crankshafts' whip, where a run has the loads of all their throws and nothing is broken off."""
    if handle.stands(run):
        return []
    for side in from_canonical(run.description).sides:
        eyes = (names.crank_eye(side.name, p.name) for p in side.panels)
        if any(f"joints/{eye}/force" not in run.channels for eye in eyes):
            return []
    return shaft_whip.findings(run)


ANALYSES = (handle.findings, bearing_loads.findings, drive_line.findings, _whip, chain_paths.findings)
"""Each takes a run and gives findings; a new analysis is one file and one entry here."""


def of_run(run: Run) -> list[Finding]:
    """Give the findings of a run; a run that recorded nothing has none."""
    if len(run.time) == 0:
        return []
    return [f for analysis in ANALYSES for f in analysis(run)]
