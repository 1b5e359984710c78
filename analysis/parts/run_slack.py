"""What adds to the slack of a stage's chain, what takes it up, and what whoever has it in hand should measure."""

import math
from dataclasses import dataclass

import numpy as np

from analysis.chain_fit import SLACK, WEAR
from analysis.parts.basis import Basis
from analysis.parts.chains import fit_or_none, pull, runs
from models.drive import Stage
from models.mechanism import Mechanism
from models.shown import shown
from sim.arrays import Array
from sim.chain import excess_from_sideways
from sim.chain_slack import Slack, pushed, slack
from sim.layout import shaft_places
from sim.sprocket import travel_radius

ADJUSTED = 0.03
"""Elongation at which a chain is worn out where centres can be moved or an idler takes up (maker's guidance, read)."""
LARGE = 2.0
"""Teeth of the larger sprocket times the elongation at which the chain climbs its teeth: 200 % over N (memory)."""
PUSH = 20.0
"""Push at mid-strand, N, with which slack is measured: two kilograms of a hand or a spring balance."""


@dataclass(frozen=True)
class Taken:
    """What takes up a chain's slack.

    Attributes
    ----------
    length : of chain that it takes up, m.
    words : how.
    wear : share of its length that the chain may wear by.
    """

    length: float
    words: str
    wear: float


def wear_limit(stage: Stage) -> float:
    """Give the share of its length by which a stage's chain may wear: 1.5 % on fixed centres, else 3 % or 2 / N."""
    if stage.tensioner is None and stage.adjustment == 0:
        return WEAR
    return min(ADJUSTED, LARGE / max(stage.driver, stage.driven))


def taken(stage: Stage, per_centre: float) -> Taken:
    """Give what takes up the slack of a stage.

    Parameters
    ----------
    stage : with a chain.
    per_centre : chain length that a metre of centre distance takes.
    """
    length, words = stage.adjustment * per_centre, list[str]()
    if stage.adjustment > 0:
        words.append(f"shafts moved apart by up to {shown(stage.adjustment, 'length')}")
    if stage.tensioner is not None:
        length += 2 * math.sin(stage.tensioner.lean) * stage.tensioner.travel
        words.append(f"a sprung idler that travels {shown(stage.tensioner.travel, 'length')}")
    return Taken(length, " and ".join(words) or "fixed centres", wear_limit(stage))


def lasting(found: Slack, stage: Stage) -> float:
    """Give the excess, m, that has to be taken up until a chain is worn out where something takes it up.

    All of its wear, or as much as lets two links be taken out, whichever is less; take-up should always allow for that
    (a maker's guidance, read).

    Parameters
    ----------
    found : what adds to its excess.
    stage : its own.
    """
    wear = min(ADJUSTED, LARGE / max(stage.driver, stage.driven)) * found.length
    return max(found.most, min(found.most + wear, 2 * stage.pitch + allowed(stage, found)))


def needed(found: Slack, stage: Stage) -> tuple[float, float]:
    """Give by how much the shafts have to be movable, m: for a new chain, and until it is worn out, `lasting`.

    Parameters
    ----------
    found : what adds to its excess.
    stage : its own.
    """
    kept = allowed(stage, found)
    return found.apart(max(0.0, found.most - kept)), found.apart(max(0.0, lasting(found, stage) - kept))


def allowed(stage: Stage, found: Slack) -> float:
    """Give the excess, m, that 1 % of the span to one side leaves; 0 for a chain that is set tight."""
    return 0.0 if stage.tight > 0 else float(excess_from_sideways(SLACK * found.span, found.span))


def lower_teeth(mechanism: Mechanism, number: int) -> int:
    """Give the teeth of a stage's lower sprocket."""
    stage, places = mechanism.stages[number - 1], shaft_places(mechanism)[0]
    return stage.driver if places[number - 1][1] <= places[number][1] else stage.driven


def as_described(basis: Basis, number: int) -> Slack | None:
    """Give what adds to the excess of a stage's chain as described; None where nothing fixes it.

    Parameters
    ----------
    basis : the sculpture, and the pull in use.
    number : of the stage.
    """
    stage = basis.mechanism.stages[number - 1]
    fit, run = (fit_or_none(stage), runs(basis, number)) if stage.kind == "chain" else (None, None)
    if fit is None or run is None:
        return None
    loose = stage.tight == 0 and stage.tensioner is None
    return of_stage(stage, fit.links, fit.centres, working_pull(basis, number), upright(basis.mechanism, number),
                    basis.mechanism.gravity, run.excess if loose else None)  # fmt: skip


def of_stage(
    stage: Stage,
    links: int,
    centres: float | None,
    working: float,
    hangs: bool,
    gravity: float,
    left: float | None = None,
) -> Slack:
    """Give what adds to the excess of a stage's chain with so many links at some centres; see `sim.chain_slack.slack`.

    Parameters
    ----------
    stage : teeth, pitch and tolerances.
    links, centres, left : as of `slack`.
    working : pull in use, N.
    hangs : whether its strands are upright.
    gravity : m/s2.
    """
    return slack(
        (stage.driver, stage.driven), stage.pitch, links, centres, left=left, holes=stage.holes,
        overlength=stage.overlength, wear=wear_limit(stage), rigidity=stage.rigidity, weight=stage.weight * gravity,
        pull=working, upright=hangs,
    )  # fmt: skip


def upright(mechanism: Mechanism, number: int) -> bool:
    """Say whether a stage's run is more upright than level."""
    driver, driven = shaft_places(mechanism)[0][number - 1 : number + 1]
    return abs(driven[1] - driver[1]) > abs(driven[0] - driver[0])


def working_pull(basis: Basis, number: int) -> float:
    """Give the largest pull of a stage's strands in use, N; 0 where no run tells."""
    found = pull(basis, basis.loads.used, number)
    return 0.0 if found is None else found.value


def measure(stage: Stage, found: Slack, hangs: bool) -> str:
    """Say what whoever pushes at the middle of a strand should find.

    Parameters
    ----------
    stage : its rigidity, and what sets it tight.
    found : what adds to its excess.
    hangs : whether its strands are upright.
    """
    low, plain, high = push_range(stage, found)
    push, how = shown(PUSH, "force"), "hung" if hangs else "held straight first"
    if stage.tight > 0:
        return (
            f"to accept it: push mid-strand with {push}, wheel free: expect {shown(plain, 'length')} at the tension of "
            f"{shown(stage.tight, 'force')}; less is tighter"
        )
    off = ", its idler off" if stage.tensioner is not None else ""
    short = "; with the holes farthest apart a nominal chain will not go on" if found.least < 0 else ""
    return (
        f"to accept it: push mid-strand, {how}{off}, with {push}, wheel free, the other strand straight: expect "
        f"{shown(low, 'length')} to {shown(high, 'length')} ({100 * low / found.span:.2g} to "
        f"{100 * high / found.span:.2g} % of the span), {shown(plain, 'length')} for a nominal chain on holes as "
        f"drawn; more is too much chain or nearer holes{short}"
    )


def push_range(stage: Stage, found: Slack) -> tuple[float, float, float]:
    """Give the movement of a strand's middle, m, under the push: least, as drawn, and most.

    Parameters
    ----------
    stage : its rigidity, and what sets it tight.
    found : what adds to its excess.
    """
    stretched = stage.tight * found.length / stage.rigidity
    low, plain, high = (
        pushed(-stretched if stage.tight > 0 else max(0.0, e), found.span, found.length, stage.rigidity, PUSH)
        for e in (found.least, found.nominal, found.most)
    )
    return low, plain, high


def free(stage: Stage, found: Slack) -> Array:
    """Give the free angle (3,), rad, of a stage's driver: as drawn, new and worst, worn.

    Parameters
    ----------
    stage : its own.
    found : what adds to its excess.
    """
    if stage.tight > 0 or stage.tensioner is not None:
        return np.zeros(3)
    excess = np.maximum([found.left, found.most, found.old], 0.0)
    return excess / float(travel_radius(stage.driver, stage.pitch))
