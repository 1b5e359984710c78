"""The stations of a built-up crankshaft: nominal stress, and how far each is from fatigue, yielding and a broken weld.

Plain sections and the keyseat are judged by DE-Goodman, welded ones by their class; yielding is nominal everywhere.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from analysis.shaft_cuts import Cut, Kind, Part, carried, cuts
from analysis.shaft_limits import limits, notch, partial, root, toe
from analysis.strength.goodman import Fatigue, Yielding, fatigue, yielding
from analysis.strength.notches import PLAIN
from analysis.strength.section import Round, Surface, Throat, Web
from analysis.strength.welds import WeldLife, weld_life
from models.mechanism import Mechanism, Side
from models.weld_classes import WeldClass
from sim.arrays import Array
from sim.shaft.bending import Bent
from sim.shaft.frame import Member
from sim.shaft.loading import Loading

POINTS = 72
"""Points around a round section: bending between two of them is missed by .1 % at most."""
KEY = math.radians(15)
"""A keyseat is a quarter of the diameter wide (common practice, no source): asin(1/4) to either side, rounded up."""
Span = tuple[float, float]
"""Amplitude and mean."""


@dataclass(frozen=True)
class Stressed:
    """A place of a crankshaft and how far it is from failing.

    Attributes
    ----------
    side : whose.
    part, kind, label, out : as in `analysis.shaft_cuts.Cut`.
    angle : of the worst point around the section, rad: for fatigue or the weld where those are judged, else for
        yielding. On the shaft it counts from the direction of throw angle 0, on a pin from that of its own throw, on
        a web from along the shaft; see `analysis.strength.section`.
    normal, shear : nominal amplitude and mean there over a turn, Pa; at the worst instant where nothing comes again.
    fatigue : of a plain section or the keyseat; None where nothing comes again or the material is not known.
    yielding : over the whole history.
    toe, root : of a weld; None likewise, or where its class or throat is not known.
    """

    side: str
    part: Part
    kind: Kind
    label: str
    out: float
    angle: float
    normal: Span
    shear: Span
    fatigue: Fatigue | None
    yielding: Yielding
    toe: WeldLife | None
    root: WeldLife | None

    @property
    def weld(self) -> WeldLife | None:
        """The worse of toe and root."""
        return min((w for w in (self.toe, self.root) if w), key=lambda w: w.reserve, default=None)

    @property
    def least(self) -> float:
        """The factor or reserve that is judged first: of the weld, against fatigue, or against yielding."""
        if self.weld is not None:
            return self.weld.reserve
        return self.fatigue.factor if self.fatigue else self.yielding.factor


def stations(
    loading: Loading,
    mechanism: Mechanism,
    turn: slice | None,
    shape: Bent | None = None,
    points: int = POINTS,
) -> tuple[Stressed, ...]:
    """Give every station of a crankshaft, from the inner end outwards.

    Parameters
    ----------
    loading : what acts on it.
    mechanism : whose use and keyways count.
    turn : the instants that make a turn which comes again and again, or None where nothing does.
    shape : the crankshaft bent under the loading, where it is there already; its crankshaft counts.
    points : around a round section.
    """
    bent = loading.shape() if shape is None else shape
    judge = _Judge(mechanism, bent.crank.side, turn, points)
    members, loads = bent.crank.frame.members, bent.end_loads
    return tuple(judge.worst(cut, members, loads) for cut in cuts(bent.crank.side))


class _Judge:
    """Judges the cuts of one crankshaft."""

    def __init__(self, mechanism: Mechanism, side: Side, turn: slice | None, points: int) -> None:
        self.mechanism, self.side, self.turn, self.points = mechanism, side, turn, points
        parts: tuple[Part, ...] = ("shaft", "pin", "web")
        self.limits = {part: limits(side, part) for part in parts}
        self.seat, self.toe, self.root, self.partial = notch(side), toe(side), root(side), partial(side)
        self.turns = mechanism.use.turns(mechanism.reduction)

    def worst(self, cut: Cut, members: Sequence[Member], loads: Array) -> Stressed:
        """Judge a cut by the worst of its places."""
        found = [self.place(cut, members[k], *carried(loads, k, share)) for k, share in cut.places]
        return min(found, key=lambda s: s.least)

    def place(self, cut: Cut, member: Member, moment: Array, axial: Array) -> Stressed:
        """Judge one place by what it carries, as `carried` gives it."""
        s = member.section
        section = Round(s.height) if s.kind == "round" else Web(s.width, s.height)
        once, surface = self._once(section, moment, axial)
        tired, first, second = None, None, None
        if self.turn is not None:
            moment, axial = moment[self.turn], axial[self.turn]
            surface = self._around(section, moment, axial, self.points)
            if cut.kind == "weld":
                first, second = self._welds(section, moment, axial)
            else:
                tired = self._tired(cut, surface)
        weld = min((w for w in (first, second) if w), key=lambda w: w.reserve, default=None)
        angle = tired.angle if tired else weld.angle if weld else once.angle
        near = int(np.argmin(np.abs(np.sin((surface.angles - angle) / 2))))
        return Stressed(self.side.name, cut.part, cut.kind, cut.label, cut.out, angle, _span(surface.normal[:, near]),
                        _span(surface.shear[:, near]), tired, once, first, second)  # fmt: skip

    def _once(self, section: Round | Web, moment: Array, axial: Array) -> tuple[Yielding, Surface]:
        """Judge yielding over a history, and give the stresses of the instant at which it is nearest."""
        n = _hardest(section, moment, axial)
        surface = self._around(section, moment[n : n + 1], axial[n : n + 1], self.points)
        return replace(yielding(surface, self.side.crank.material.strength), index=n), surface

    def _tired(self, cut: Cut, surface: Surface) -> Fatigue | None:
        stood = self.limits[cut.part]
        if stood is None:
            return None
        if cut.kind == "plain":
            return fatigue(surface, stood, PLAIN)
        keys = self.mechanism.keyways
        if keys is not None:
            at = keys.left if self.side.name == "left" else keys.right
            surface = surface.near(at, KEY + keys.measured)
        return fatigue(surface, stood, self.seat)

    def _welds(
        self, section: Round | Web, moment: Array, axial: Array
    ) -> tuple[WeldLife | None, WeldLife | None]:
        """Judge the toe, and of a weld around a bar with a known throat also the root."""
        first = (
            None
            if self.toe is None
            else self._lasts(self._around(section, moment, axial, self.points), self.toe)
        )
        weld = self.side.crank.making.weld
        if self.root is None or weld.throat is None or isinstance(section, Web):
            return first, None
        throat = Throat(section.diameter, weld.throat, weld.faces)
        return first, self._lasts(throat.surface(moment, axial, self.points), self.root)

    def _lasts(self, surface: Surface, weld: WeldClass) -> WeldLife:
        return weld_life(surface, weld, self.turns, self.mechanism.use.years, self.partial)

    @staticmethod
    def _around(section: Round | Web, moment: Array, axial: Array, points: int) -> Surface:
        return (
            section.surface(moment, axial)
            if isinstance(section, Web)
            else section.surface(moment, axial, points)
        )


def _hardest(section: Round | Web, moment: Array, axial: Array) -> int:
    """Give the instant of the largest von Mises stress; around a bar it lies in the plane of the moment."""
    if isinstance(section, Web):
        return int(np.argmax(section.surface(moment, axial).von_mises.max(axis=1)))
    modulus = math.pi * section.diameter**3 / 32
    normal = np.hypot(moment[:, 0], moment[:, 2]) / modulus + np.abs(axial) / section.area
    return int(np.argmax(normal**2 + 3 * (moment[:, 1] / (2 * modulus)) ** 2))


def _span(history: Array) -> Span:
    """Give amplitude and mean of a history (n,)."""
    high, low = float(history.max()), float(history.min())
    return (high - low) / 2, (high + low) / 2
