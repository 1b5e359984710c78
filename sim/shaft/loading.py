"""What acts on a crankshaft, from a run or from the weights of a piece that stands still, and its shape under it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from models.mechanism import Crankshaft, Mechanism, Off, Side
from sim import names
from sim.arrays import Array
from sim.linkage import TURN, SideLinkage
from sim.run import Run
from sim.shaft.bending import Bent, bent
from sim.shaft.crank import INNER
from sim.statics import statics

ANGLES = np.linspace(0, TURN, 360, endpoint=False)
"""Crank angles of a turn standing still, rad."""
CHUNK = 8192
"""Instants bent at once: a frame of twenty nodes takes some 8 MB for them."""
LEANING = ("lifted",)
"""Cases in which the piece hangs askew, so that down is not down."""

EACH = tuple(f.name for f in fields(Bent) if f.name not in ("crank", "held", "own"))
"""What a shape has for each instant."""


@dataclass(frozen=True)
class Loading:
    """What acts on a side's crankshaft over n instants.

    Attributes
    ----------
    side : whose.
    crank : (n,) crank angles, rad.
    pins : by panel, what its rod puts on the crank pin (n, 3), in the side's coordinates, N.
    speed, rate : of the crank (n,), rad/s and rad/s2.
    gravity : m/s2 downwards.
    time : (n,) s, or None where nothing moves.
    """

    side: Side
    crank: Array
    pins: Mapping[str, Array]
    speed: Array
    rate: Array
    gravity: float
    time: Array | None = None

    def shape(self, side: Side | None = None) -> Bent:
        """Bend the crankshaft under it.

        Parameters
        ----------
        side : with another crankshaft or other bearings that carry the same; the own one by default.
        """
        on = self.side if side is None else side
        parts = [self._part(on, slice(k, k + CHUNK)) for k in range(0, len(self.crank), CHUNK)]
        if len(parts) == 1:
            return parts[0]
        return replace(parts[0], **{key: np.concatenate([getattr(p, key) for p in parts]) for key in EACH})

    def when(self, n: int) -> tuple[float | None, float]:
        """Give an instant's time, s, None where nothing moves, and its crank angle, rad."""
        return (None if self.time is None else float(self.time[n])), float(self.crank[n])

    def _part(self, side: Side, which: slice) -> Bent:
        pins = {name: force[which] for name, force in self.pins.items()}
        return bent(side, pins, self.crank[which], self.speed[which], self.rate[which], self.gravity)


def recorded(run: Run, side: Side) -> bool:
    """Say whether a run has the force on every crank pin of a side, down being down."""
    eyes = (names.crank_eye(side.name, p.name) for p in side.panels)
    there = all(f"joints/{eye}/force" in run.channels for eye in eyes)
    return there and len(run.time) > 0 and run.case not in LEANING


def of_run(run: Run, side: Side, gravity: float) -> Loading:
    """Give what acts on a side's crankshaft over a run.

    The crank's rate is the slope of its speed over the recorded steps, to second order. Where the engine lets the
    shaft bend it counts as nothing: the inner end, whose angle is recorded, swings by itself against the rest.

    Parameters
    ----------
    run : with the force on every crank pin of the side, as `recorded` says.
    side : as the run's description has it.
    gravity : m/s2.

    Raises
    ------
    KeyError
        When a force is not there.
    """
    mirror = np.array([1.0, float(side.sign), 1.0])
    pins = {p.name: run[f"joints/{names.crank_eye(side.name, p.name)}/force"] * mirror for p in side.panels}
    name = names.crankshaft(side.name)
    crank = run[f"angles/{name}/angle"]
    channel = f"angles/{name}/speed"
    still = np.zeros(len(crank))
    if channel not in run.channels:
        return Loading(side, crank, pins, still, still, gravity)
    speed = run[channel]
    bends = f"shafts/{name}, {INNER}/deflection" in run.channels
    rate = still if bends or len(speed) < 2 else np.gradient(speed, run.time)
    return Loading(side, crank, pins, speed, rate, gravity, run.time)


def standing_still(linkage: SideLinkage, mechanism: Mechanism, crank: Array = ANGLES) -> Loading:
    """Give what acts on a side's crankshaft at crank angles (n,), rad, while the piece stands, in closed form."""
    side = linkage.side
    found = statics(linkage, crank, mechanism.gravity, mechanism.friction)
    pins = {p.name: found.forces[names.crank_eye(side.name, p.name)] for p in side.panels}
    still = np.zeros(len(crank))
    return Loading(side, crank, pins, still, still, mechanism.gravity)


def at_instants(shape: Bent, which: Sequence[int]) -> Bent:
    """Give a shape at some of its instants."""
    return replace(shape, **{key: getattr(shape, key)[list(which)] for key in EACH})


def unloaded(side: Side) -> Bent:
    """Give the part of a crankshaft's shape that turns with it: bow and throws off line, on bearings in line.

    One instant, at which turning and standing axes are the same. On more than two bearings it is forced to them.
    """
    true = tuple(replace(s, clearance=0.0, forward=0.0, up=0.0) for s in side.crank.stations)
    own = replace(side, key_angle=0.0, crank=replace(side.crank, stations=true))
    return bent(own, {}, np.zeros(1), gravity=0.0)


def bowed(side: Side, runout: float, toward: float = 0.0) -> Side:
    """Give a side whose crankshaft is bowed and otherwise true: its throws in line.

    Parameters
    ----------
    side : whose.
    runout : indicator reading at the middle of the main bearings, m; the bow is half of it.
    toward : where it is high, counted as throws' angles are, rad.
    """
    crank: Crankshaft = replace(side.crank, runout=runout, runout_angle=toward)
    return replace(side, crank=crank, panels=tuple(replace(p, off=Off()) for p in side.panels))
