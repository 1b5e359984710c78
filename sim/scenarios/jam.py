"""A panel or a crank is blocked at working speed: the wheel's energy runs into the drive."""

from dataclasses import dataclass, replace
from typing import ClassVar, TypeVar, final

import numpy as np

from sim import names
from sim.arrays import Array
from sim.builders import Linkage, scene
from sim.builders.drive import drive_inertia
from sim.elastic import Bush, Flexible
from sim.scenarios.base import Moving, gives, rpm
from sim.scene import Body, Joint, Motion, Scene

CRANK = "crank"
FOLLOWED = 0.5
"""Seconds for which the chains' impacts are followed beyond the swing on the coupling."""
SHORTEST = 2.5e-4
"""Step, s: the drive's own vibration decides the peak, not the turning."""


class NothingGives(ValueError):
    """A block that runs into nothing elastic: a rigid model has no figure for it."""


P = TypeVar("P", Body, Flexible, Joint, Bush)


@final
@dataclass(frozen=True)
class Jam(Moving):
    """One side is blocked while the wheel turns at working speed; the hand is off at once.

    The blocked side stands from the first moment, the drive up to its coupling turns on into it.

    Attributes
    ----------
    speed : wheel speed, rad/s.
    side : which side is blocked.
    part : name of a panel, or "crank".
    start : crank angle, rad.
    """

    case: ClassVar[str] = "jam"
    speed: float
    side: str
    part: str
    start: float

    @property
    def label(self) -> str:
        """The load case in words."""
        return f"{self.side} {self.part} blocked at {np.degrees(self.start):.0f} deg, {rpm(self.speed)}{self.rubbing}"

    def scene(self, closed: Linkage) -> Scene:
        """Build the scene with one side standing and locked.

        Raises
        ------
        NothingGives
            Where no elastic part lies between the wheel and the blocked side.
        """
        if not gives_way(closed, self.side):
            raise NothingGives(
                f"{self.side} side: nothing elastic lies between its crank and the other side or the wheel; "
                "an elastic coupling in the description would"
            )
        turning, standing = scene(closed, self.start, self.speed), scene(closed, self.start, 0.0)
        # A shaft that bends has another shape standing, and what holds it sits elsewhere.
        mixed = replace(
            turning,
            bodies=self._stood(turning.bodies, standing.bodies),
            flexibles=self._stood(turning.flexibles, standing.flexibles),
            joints=self._stood(turning.joints, standing.joints),
            bushes=self._stood(turning.bushes, standing.bushes),
        )
        if self.part == CRANK:
            block = Motion(names.BLOCK, names.crankshaft(self.side), 0.0)
            return replace(mixed, motions=(*turning.motions, block))
        hinge = names.hinge(self.side, self.part)
        joints = tuple(replace(j, locks=(True,) * 6) if j.name == hinge else j for j in mixed.joints)
        return replace(mixed, joints=joints)

    def _stood(self, turning: tuple[P, ...], standing: tuple[P, ...]) -> tuple[P, ...]:
        """Give parts, those of the blocked side as they stand."""
        still = {p.name: p for p in standing if p.name.startswith(f"{self.side} ")}
        return tuple(still.get(p.name, p) for p in turning)

    def end(self, closed: Linkage) -> float:
        """Give half a swing of the drive on the blocked coupling, pi sqrt(J / k), and some time more, s."""
        own = next(s.side for s in closed.sides if s.side.name == self.side)
        stiffness = own.crank.coupling.stiffness
        swing = 0.0 if stiffness is None else np.pi * np.sqrt(drive_inertia(closed.mechanism) / stiffness)
        return float(FOLLOWED + swing)

    def fastest(self, closed: Linkage) -> float:
        """Give the crank's speed."""
        return abs(self.speed) / closed.mechanism.reduction

    def step(self, closed: Linkage) -> float:
        """Give the time step, s."""
        del closed
        return SHORTEST


def gives_way(closed: Linkage, side: str) -> bool:
    """Say whether something elastic lies between a side's crank and what goes on turning."""
    own = next(s.side for s in closed.sides if s.side.name == side)
    return own.crank.coupling.stiffness is not None or (len(closed.sides) == 1 and gives(closed))


def worst_angle(closed: Linkage, side: str, panel: str) -> float:
    """Give the crank angle, rad, at which a panel moves most for a turn of the crank.

    There the block meets the drive directly; near a dead centre the crank hardly moves the panel, and what a
    jam does is bounded by `sim.blocked` instead.
    """
    crank = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    own = next(s for s in closed.sides if s.side.name == side)
    course = next(c for c in own.course(crank) if c.panel.name == panel)
    rate: Array = np.abs(course.angle.first)
    return float(crank[int(np.argmax(rate))])
