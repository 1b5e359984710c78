"""What every rod end goes through: largest forces, pull and push along its rod, how it turns and how far it swivels.

A rod's direction follows from the closed loops at the crank angle that a run recorded. Where a part is broken it
is not known, nor in a run that kept its peaks alone: there the largest force counts as a pull and as a push.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import reduce
from typing import Literal

import numpy as np

from analysis.bearing_loads import LARGEST
from analysis.finding import Finding
from analysis.loads import BOUND, USED, Worst
from analysis.motion import TURN
from analysis.parts.basis import Basis
from analysis.parts.duty import Duty
from models.mechanism import Panel
from sim import names
from sim.arrays import Array
from sim.linkage import SideLinkage
from sim.run import Run
from sim.standing import SIDE
from sim.swivel import swivel

At = Literal["crank", "yoke"]
ATS: tuple[At, ...] = ("crank", "yoke")
Place = tuple[int, At]
"""A panel's number, from the innermost on, and which end of its rod."""
BROKEN = "broken"
"""Kind of case in which a rod need not lie where the closed loops would have it."""
IN_USE = "in use"
NONE = 1e-3
"""Forces below it are rounding, N."""
LITTLE = 0.01
"""Share of the larger of pull and push below which the smaller counts as none."""


@dataclass(frozen=True)
class Load:
    """A worst load: its size, N, the load case in words, and the crank angle, rad, or None."""

    value: float = 0.0
    case: str = IN_USE
    crank: float | None = None


@dataclass(frozen=True)
class Extent:
    """The worst of some cases: pull and push along the rod, and what acts across it."""

    pull: Load = Load()
    push: Load = Load()
    across: Load = Load()

    @property
    def along(self) -> Load:
        """The larger of pull and push."""
        return _worse(self.pull, self.push)

    def worse(self, other: "Extent") -> "Extent":
        """Give the worse of two, one by one."""
        return Extent(*(_worse(a, b) for a, b in ((self.pull, other.pull), (self.push, other.push),
                                                  (self.across, other.across))))  # fmt: skip


@dataclass(frozen=True)
class Eye:
    """A rod end, or those of both sides that mirror each other.

    Attributes
    ----------
    where : in words.
    count : how many.
    at : "crank" or "yoke".
    panel : whose rod it is of.
    met : the largest force of all cases but blocked ones.
    used : the largest force in use.
    bound : the upper bound with a panel blocked, or None.
    ever, working : along and across its rod in all cases but blocked ones, and in use.
    duty : its turn in ordinary use, of the side where it slides under more.
    swivel : the largest over the turn, rad, and the crank angle there.
    """

    where: str
    count: int
    at: At
    panel: Panel
    met: Load
    used: Load
    bound: Load | None
    ever: Extent
    working: Extent
    duty: Duty
    swivel: Load

    @property
    def reverses(self) -> bool:
        """Whether the rod is both pulled and pushed in use, by more than a hundredth of the larger."""
        return min(self.working.pull.value, self.working.push.value) > LITTLE * self.working.along.value


def eyes(basis: Basis) -> tuple[Eye, ...]:
    """Give all rod ends, crank's and yoke's of each panel from the innermost on; mirror images as one."""
    sides = [_of_side(basis, side) for side in basis.linkage.sides]
    if not basis.loads.mirrored:
        return tuple(eye for side in sides for eye in side)
    return tuple(_both(a, b) for a, b in zip(*sides, strict=True))


def drawing(side: SideLinkage, crank: Array) -> dict[Place, Array]:
    """Give for each eye the direction (n, 3) in which a pulled rod draws at what the eye sits on.

    At the crank it draws toward the yoke, and at the yoke toward the crank.

    Parameters
    ----------
    side : the side; directions are in its coordinates.
    crank : crank angles (n,), rad.
    """
    found: dict[Place, Array] = {}
    for k, course in enumerate(side.course(crank)):
        line = (course.yoke.value - course.pin.value) / course.panel.rod.length
        found[k, "crank"], found[k, "yoke"] = line, -line
    return found


def extents(run: Run, case: str, side: SideLinkage) -> dict[Place, Extent]:
    """Give for each eye of a side the worst pull, push and force across its rod in a run.

    Parameters
    ----------
    run : any; an eye that it does not have has nothing.
    case : its load case in words.
    side : the side.
    """
    turned, mirror = (
        f"angles/{names.crankshaft(side.side.name)}/angle",
        SIDE if side.side.sign < 0 else np.ones(3),
    )
    peaks = {e.channel: e for e in run.extrema if e.kind == "largest"}
    followed = turned in run.channels and run.case != BROKEN
    crank = run[turned] if followed else np.zeros(0)
    lines = drawing(side, crank) if len(crank) else {}
    found: dict[Place, Extent] = {}
    for place in _places(side):
        channel = f"joints/{_joint(side, *place)}/force"
        peak = peaks.get(channel)
        parts = [Extent()]
        if channel in run.channels and place in lines:
            parts.append(of_forces(run[channel] * mirror, lines[place], crank, case))
        if peak is not None and followed:
            # A run's extremes are of all its steps, its channels of those that were kept.
            at, force = np.array([peak.crank]), np.array([peak.vector]) * mirror
            # Its crank angle is the first shaft's: good enough along the rod, not for the little across it.
            parts.append(replace(of_forces(force, drawing(side, at)[place], at, case), across=Load()))
        if peak is not None and (not followed or channel not in run.channels):
            any_way = Load(peak.value, case, peak.crank)
            parts.append(Extent(any_way, any_way, Load()))
        found[place] = _worst(parts)
    return found


def of_forces(force: Array, line: Array, crank: Array, case: str) -> Extent:
    """Give the worst along and across lines (n, 3) of length 1 of forces (n, 3), N, at crank angles (n,), rad."""
    pull = np.sum(force * line, axis=1)
    across = np.linalg.norm(force - pull[:, None] * line, axis=1)

    def worst(values: Array) -> Load:
        k = int(np.argmax(values))
        return Load(float(values[k]), case, float(crank[k])) if values[k] > NONE else Load()

    return Extent(worst(pull), worst(-pull), worst(across))


def _of_side(basis: Basis, side: SideLinkage) -> list[Eye]:
    ever, used = _over(basis, side)
    found: list[Eye] = []
    for k, course in enumerate(side.course(TURN)):
        for at, leaning in zip(ATS, swivel(course), strict=True):
            n, joint = int(np.argmax(leaning)), _joint(side, k, at)
            duty = basis.duty[joint]
            # A turn in ordinary use counts even where no load case was asked for.
            turn = of_forces(duty.force, drawing(side, duty.crank)[k, at], duty.crank, IN_USE)
            largest = Load(float(duty.size.max()), IN_USE, float(duty.crank[int(np.argmax(duty.size))]))
            found.append(
                Eye(
                    joint, 1, at, course.panel,
                    _largest(basis, basis.loads.met, joint, largest),
                    _largest(basis, basis.loads.used, joint, largest),
                    _bound(basis, joint),
                    turn.worse(ever[k, at]),
                    turn.worse(used[k, at]),
                    duty,
                    Load(float(leaning[n]), "geometry", float(TURN[n])),
                )
            )  # fmt: skip
    return found


def _over(basis: Basis, side: SideLinkage) -> tuple[dict[Place, Extent], dict[Place, Extent]]:
    """Give the extents of all cases but blocked ones, and of those in use."""
    ever, used = ({place: Extent() for place in _places(side)} for _ in range(2))
    for group in basis.loads.campaign.groups:
        for run in group.runs if group.case.kind != BOUND else ():
            for place, found in extents(run, group.name, side).items():
                ever[place] = ever[place].worse(found)
                if group.case.kind in USED:
                    used[place] = used[place].worse(found)
    return ever, used


def _places(side: SideLinkage) -> tuple[Place, ...]:
    return tuple((k, at) for k in range(len(side.side.panels)) for at in ATS)


def _worst(parts: Iterable[Extent]) -> Extent:
    return reduce(Extent.worse, parts)


def _largest(basis: Basis, loads: Worst, joint: str, least: Load) -> Load:
    f = loads.get((joint, LARGEST))
    return least if f is None else _worse(least, _load(basis, f))


def _bound(basis: Basis, joint: str) -> Load | None:
    f = basis.loads.bound.get((joint, LARGEST))
    return None if f is None else _load(basis, f)


def _load(basis: Basis, f: Finding) -> Load:
    return Load(f.value, basis.loads.case(f), f.crank)


def _both(a: Eye, b: Eye) -> Eye:
    """Give the worse of two that mirror each other: what happens to one may happen to the other."""
    bounds = [x for x in (a.bound, b.bound) if x is not None]
    duty = max(a.duty, b.duty, key=lambda d: d.pressed)
    return replace(
        a,
        where=f"{a.panel.name} rod end at {a.at}",
        count=a.count + b.count,
        met=_worse(a.met, b.met),
        used=_worse(a.used, b.used),
        bound=_most(bounds) if bounds else None,
        ever=a.ever.worse(b.ever),
        working=a.working.worse(b.working),
        duty=duty,
        swivel=_worse(a.swivel, b.swivel),
    )


def _joint(side: SideLinkage, panel: int, at: At) -> str:
    name = side.side.panels[panel].name
    return names.crank_eye(side.side.name, name) if at == "crank" else names.yoke_eye(side.side.name, name)


def _worse(a: Load, b: Load) -> Load:
    return b if b.value > a.value else a


def _most(loads: Iterable[Load]) -> Load:
    return max(loads, key=lambda x: x.value)
