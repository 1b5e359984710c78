"""What could hurt: the wheel after letting go and in the wind, the force that stops it, what falls when a part breaks.

Usage: python -m analysis.safety RUN...
"""

import numpy as np

from analysis import handle
from analysis.finding import Finding, Limit, worst
from analysis.script import script
from models.mechanism import Mechanism
from sim import names
from sim.campaign import Campaign
from sim.run import Run

CASE = "all load cases"
NOT_COVERED = (
    "impact on a body, head or limb; entanglement of hair, cords and clothing; sharp edges and burrs",
    "children who climb on wheel, post or wings; several people at the wheel; deliberate misuse beyond the load cases",
    "guards of chains and shafts; ice, snow and corrosion; what rules a place of play or work puts on the piece",
)
"""What no finding here covers."""
STEADY = 2.0
"""Seconds at the end of a gust over which its speed is averaged."""


WATCHED = ("stop", "grab", "hold-on", "gust", "broken", "jam", "hang")
"""Kinds of case whose findings at the wheel belong here."""


def findings(run: Run) -> list[Finding]:
    """Give what a run says of safety."""
    return _gust(run) if run.case == "gust" and len(run.time) else []


def of_campaign(campaign: Campaign, mechanism: Mechanism) -> list[Finding]:
    """Give the safety findings over all load cases, the worst of each.

    Parameters
    ----------
    campaign : all runs.
    mechanism : the sculpture.
    """
    at_wheel = [f for kind in WATCHED for run in campaign.of(kind) for f in handle.findings(run)]
    wind = [f for run in campaign.runs for f in findings(run)]
    return worst([*at_wheel, *wind, _runs_away(campaign, mechanism)])


def _gust(run: Run) -> list[Finding]:
    """Give how fast the wheel goes in a gust, and whether it keeps on turning one way."""
    speed, time = run[handle.SPEED], run.time
    late = time > time[-1] - STEADY
    mean = float(abs(np.mean(speed[late])))
    turned = float(abs(run[handle.ANGLE][-1] - run[handle.ANGLE][0])) / (2 * np.pi)
    return [
        Finding("turns of the wheel in a gust", turned, "ratio", names.WHEEL, run.label, source=handle.RUN,
                note=f"net, within {time[-1]:.3g} s"),
        Finding("mean wheel speed at the end of a gust", mean, "angular_speed", names.WHEEL, run.label,
                source=handle.RUN, note=f"over the last {STEADY:.2g} s"),
    ]  # fmt: skip


def _runs_away(campaign: Campaign, mechanism: Mechanism) -> Finding:
    """Say whether any gust keeps the wheel turning: a whole turn of the crank and still on its way."""
    gusts = campaign.of("gust")
    away: list[str] = []
    for run in gusts:
        turned, mean = (f.value for f in findings(run)) if len(run.time) else (0.0, 0.0)
        if turned > mechanism.reduction and mean > handle.BACK:
            away.append(run.label)
    note = "; ".join(away) if away else (
        "no gust of the load cases turns the crank round and keeps it turning" if gusts else "no gust was run"
    )  # fmt: skip
    return Finding("gusts in which the wheel runs away", float(len(away)), "count", names.WHEEL, CASE,
                   limit=Limit(0, "most", "a piece that turns by itself has to be locked when nobody is there; "
                               "project's own rule"),
                   source=handle.RUN, note=note)  # fmt: skip


if __name__ == "__main__":
    script(findings, __doc__)
