"""What can resonate: every natural frequency against everything that excites it, over the speeds in use.

Two things are kept apart. Where an excitation meets a natural frequency at a speed at which people turn the wheel, it
can stay there: that is held against a limit. Where it does so only faster, the wheel passes through it as it runs down
after it was let go, which is told. A frequency that changes over each turn by more than `SWEPT` is passed several times
in every turn whatever the speed; nothing can stay with it, and that too is told and not limited.

How far it swings depends on damping, which nobody has measured: only frequencies are compared.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from analysis.excitation import GUST_MOST, GUSTS, Excitation, excitations
from analysis.finding import Finding, Limit
from analysis.natural import Natural, hertz, naturals
from models.cases import Case
from sim.builders import Linkage
from sim.expanding import wheel_speed

CASE = "natural frequencies"
FREQUENCY = "natural frequency"
SEPARATION = "separation from "
MET = "wheel speed from which it is met by "
PASSED = "wheel speed at which, running down, it is passed by "
IN_USE = ("turn", "crank")
"""Kinds of case whose speeds make the range in which people turn the wheel."""
MARGINS = {
    "torsion": (0.1, "10 % from what excites a torsional frequency, API 617 (read second hand)"),
    "lateral": (0.2, "20 % from a critical speed; common practice, no source"),
    "strand": (0.2, "20 %; common practice, no source"),
    "sway": (0.2, "20 %; common practice, no source"),
}
"""Least separation, as a share of the speed in use nearest to where they meet."""
RPM = 30 / np.pi

Where = Literal["in use", "running down", "not reached"]


@dataclass(frozen=True)
class Range:
    """Wheel speeds, rad/s: the slowest and the fastest in use, and the fastest at all, as after letting go."""

    slowest: float
    quickest: float
    fastest: float


@dataclass(frozen=True)
class Meeting:
    """Where an excitation meets a natural frequency.

    Attributes
    ----------
    natural, excitation : which.
    first, last : wheel speeds between which they meet, rad/s; alike where the frequency is one number; 0 for gusts.
    where : whether people turn the wheel at one of them, or it only passes them running down, or neither.
    separation : share of the nearest speed in use by which they are apart; 0 where they meet in use.
    """

    natural: Natural
    excitation: Excitation
    first: float
    last: float
    where: Where
    separation: float


def working_range(closed: Linkage, cases: Mapping[str, Case], fastest: float | None = None) -> Range:
    """Give the speeds of the load cases in which people turn the wheel.

    Parameters
    ----------
    closed : the sculpture.
    cases : its load cases by name.
    fastest : of the wheel after letting go, rad/s, where known.

    Raises
    ------
    ValueError
        Where none of the cases turns the wheel.
    """
    speeds = [abs(wheel_speed(c, closed)) for c in cases.values() if c.kind in IN_USE]
    if not speeds:
        raise ValueError("no load case in which the wheel is turned: give one of the kind 'turn' or 'crank'")
    return Range(min(speeds), max(speeds), max(*speeds, abs(fastest or 0.0)))


def meetings(
    closed: Linkage, speeds: Range, tensions: Mapping[int, tuple[float, float]] | None = None
) -> tuple[Meeting, ...]:
    """Give where every natural frequency meets everything that excites it.

    Parameters
    ----------
    closed : the sculpture.
    speeds : in use, and the fastest at all.
    tensions : by stage, the least and the greatest tension of a strand in use, N, as runs have it.
    """
    acting = {e.name: e for e in excitations(closed, speeds.quickest)}
    return tuple(
        meeting(natural, acting[name], speeds)
        for natural in naturals(closed, tensions) for name in natural.excited if name in acting
    )  # fmt: skip


def meeting(natural: Natural, excitation: Excitation, speeds: Range) -> Meeting:
    """Give where one excitation meets one natural frequency."""
    if excitation.order == 0:
        apart = max(0.0, natural.least / GUST_MOST - 1)
        return Meeting(natural, excitation, 0.0, 0.0, "in use" if apart == 0 else "not reached", apart)
    first, last = natural.least / excitation.order, natural.greatest / excitation.order
    if first > speeds.quickest:
        apart = first / speeds.quickest - 1
        where: Where = "running down" if first <= speeds.fastest else "not reached"
    elif last < speeds.slowest:
        # Passed on the way up and down, more slowly than anybody turns it.
        apart, where = 1 - last / speeds.slowest, "not reached"
    else:
        apart, where = 0.0, "in use"
    return Meeting(natural, excitation, first, last, where, apart)


def of_linkage(
    closed: Linkage, speeds: Range, tensions: Mapping[int, tuple[float, float]] | None = None
) -> list[Finding]:
    """Give each natural frequency, its separation from what comes nearest, and where it is passed.

    Parameters
    ----------
    closed, speeds, tensions : as of `meetings`.
    """
    found: list[Finding] = []
    every = meetings(closed, speeds, tensions)
    for natural in dict.fromkeys(m.natural for m in every):
        own = [m for m in every if m.natural == natural]
        found.append(_frequency(natural, own, speeds))
        turning = [m for m in own if m.excitation.name != GUSTS]
        met = [m for m in turning if m.where == "in use"]
        if natural.swept and met:
            found += [_met(m, speeds) for m in met]
        else:
            found.append(_separation(min(turning, key=lambda m: m.separation), met, speeds))
        found += [_passed(m, speeds) for m in turning if m.where == "running down"]
    return found


def _frequency(natural: Natural, own: Sequence[Meeting], speeds: Range) -> Finding:
    limit = None
    note = natural.hertz + (f"; {natural.note}" if natural.note else "")
    if natural.kind == "sway":
        limit = Limit(
            GUST_MOST,
            "least",
            "1 Hz, below which gusts make a slender structure swing; ASCE 7, read second hand",
        )
    elif natural.kind == "lateral":
        # Its own turning comes first of what excites a shaft.
        turning = own[0].excitation.order * speeds.fastest
        note += (
            f"; {_figures(natural.mean / turning)} times the {_rpm(turning)} rpm that it turns at the fastest"
        )
    elif any(m.excitation.name == GUSTS and m.where == "in use" for m in own):
        note += "; gusts, below 1 Hz, reach it"
    return Finding(FREQUENCY, natural.mean, "angular_speed", natural.name, CASE, limit=limit,
                   source=natural.source, note=note)  # fmt: skip


def _separation(near: Meeting, met: Sequence[Meeting], speeds: Range) -> Finding:
    """Give how far the nearest excitation stays away, against the margin; told for all that meet it."""
    least, words = MARGINS[near.natural.kind]
    e = near.excitation
    note = f"{_between(near)}; in use {_rpm(speeds.slowest)} to {_rpm(speeds.quickest)} rpm"
    note += f"; {e.note}" if e.note else ""
    others = [f"{m.excitation.name} {_between(m)}" for m in met if m is not near]
    note += "".join(f"; and {x}" for x in others)
    limit = None if near.natural.swept else Limit(least, "least", words)
    return Finding(SEPARATION + e.name, near.separation, "ratio", near.natural.name, CASE, limit=limit,
                   source=near.natural.source, note=note)  # fmt: skip


def _met(m: Meeting, speeds: Range) -> Finding:
    first = max(m.first, speeds.slowest)
    note = f"{_between(m)}, swept from {hertz(m.natural.least)} to {hertz(m.natural.greatest)} Hz in each "
    note += "turn, so that no speed stays with it" + (f"; {m.excitation.note}" if m.excitation.note else "")
    return Finding(MET + m.excitation.name, first, "angular_speed", m.natural.name, CASE,
                   source=m.natural.source, note=note)  # fmt: skip


def _passed(m: Meeting, speeds: Range) -> Finding:
    note = f"{_between(m)}; in use no faster than {_rpm(speeds.quickest)} rpm, after letting go up to "
    note += f"{_rpm(speeds.fastest)} rpm" + (f"; {m.excitation.note}" if m.excitation.note else "")
    return Finding(PASSED + m.excitation.name, m.first, "angular_speed", m.natural.name, CASE,
                   source=m.natural.source, note=note)  # fmt: skip


def _between(m: Meeting) -> str:
    if m.last - m.first < 0.01 * m.last:
        return f"met at {_rpm(m.first)} rpm of the wheel"
    return f"met between {_rpm(m.first)} and {_rpm(m.last)} rpm of the wheel"


def _rpm(speed: float) -> str:
    return _figures(speed * RPM)


def _figures(value: float) -> str:
    return f"{value:.3g}" if value < 1000 else f"{value:.0f}"
