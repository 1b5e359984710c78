"""All findings of one run."""

from analysis import bearing_loads, chain_paths, drive_line, handle, shaft_whip
from analysis.finding import Finding
from sim.run import Run

ANALYSES = (
    handle.findings,
    bearing_loads.findings,
    drive_line.findings,
    shaft_whip.findings,
    chain_paths.findings,
)
"""Each takes a run and gives findings; a new analysis is one file and one entry here."""


def of_run(run: Run) -> list[Finding]:
    """Give the findings of a run; a run that recorded nothing has none."""
    if len(run.time) == 0:
        return []
    return [f for analysis in ANALYSES for f in analysis(run)]
