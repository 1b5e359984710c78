"""All findings of one run."""

from analysis import (
    bearing_loads,
    chain_paths,
    coupling_verdicts,
    drive_line,
    handle,
    shaft_strength,
    shaft_whip,
)
from analysis.finding import Finding
from analysis.shaft_limits import slope_limit
from sim.run import Run


def _whip(run: Run) -> list[Finding]:
    """Give the whip with what bearings and couplings allow."""
    return shaft_whip.findings(run, slope_limit, coupling_verdicts.allowances)


ANALYSES = (
    handle.findings,
    bearing_loads.findings,
    drive_line.findings,
    _whip,
    shaft_strength.findings,
    chain_paths.findings,
)
"""Each takes a run and gives findings; a new analysis is one file and one entry here."""


def of_run(run: Run) -> list[Finding]:
    """Give the findings of a run; a run that recorded nothing has none."""
    if len(run.time) == 0:
        return []
    return [f for analysis in ANALYSES for f in analysis(run)]
