"""Angular and parallel misalignment that a crankshaft's bending brings to its coupling.

It is the crankshaft's inner end against the centre shaft's: their slopes and their places sideways. What stands
still while the shaft turns flexes a coupling once each turn; what turns with the shaft does not flex it but drags
both ends round. The centre shaft is taken as straight and true on its two bearings, and bends under its chain's pull
and its weight where a run has them; without a stage the crank's axis takes its place.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from analysis.finding import Finding, Limit
from models.mechanism import Mechanism, Side
from models.shown import shown
from sim import names
from sim.arrays import Array
from sim.beam import influence, round_second_moment, slope_influence
from sim.layout import chain_run
from sim.mass import sprocket_mass
from sim.run import Run
from sim.shaft.bending import Bent
from sim.shaft.crank import INNER
from sim.shaft.loading import Loading

ANGULAR = "angular misalignment at it"
PARALLEL = "parallel misalignment at it"
Misaligned = Callable[[Side], tuple[Limit | None, Limit | None]]
"""Gives the angular and the parallel misalignment that a side's coupling allows, or None."""


def unlimited(side: Side) -> tuple[Limit | None, Limit | None]:
    """Give no limit to any coupling's misalignment."""
    del side
    return None, None


@dataclass(frozen=True)
class Line:
    """An end of a shaft over n instants: its place (n, 2), m, and the slope of its line outwards (n, 2), rad.

    Both forward and up, against the crank's axis.
    """

    place: Array
    slope: Array

    def against(self, other: "Line") -> "Line":
        """Give how far it is off another."""
        return Line(self.place - other.place, self.slope - other.slope)


def inner_line(shape: Bent) -> Line:
    """Give a crankshaft's inner end."""
    node = shape.crank.node(INNER)
    turn = shape.turn(node)
    return Line(shape.deflection(node)[:, [0, 2]], np.stack([-turn[:, 2], turn[:, 0]], -1))


def centre_line(run: Run, mechanism: Mechanism, side: Side) -> Line:
    """Give the centre shaft's end at a side's coupling over a run.

    A straight bar on two bearings (Euler-Bernoulli) under its driven sprocket's weight, the strands' tensions and
    what of the chain's weight hangs on it; without its own weight.

    Parameters
    ----------
    run : with the strands' tensions, where the last stage is a chain; else they count as nothing.
    mechanism, side : whose.
    """
    n = len(run.time)
    if not mechanism.stages:
        return Line(np.zeros((n, 2)), np.zeros((n, 2)))
    number = len(mechanism.stages)
    stage = mechanism.stages[-1]
    down = np.array([0.0, 0.0, -mechanism.gravity])
    load = np.broadcast_to(sprocket_mass(stage.driven, stage).mass * down, (n, 3))
    tensions = [f"chains/{names.stage(number)}/tension {s}" for s in "ab"]
    if stage.kind == "chain" and all(t in run.channels for t in tensions):
        chain = chain_run(mechanism, number)
        # On the driven shaft each strand pulls against its direction; a strand that rises to it hangs on it.
        load = load - sum(run[t][:, None] * d for t, d in zip(tensions, chain.directions, strict=True))
        load = load + chain.weight * (1 + float(np.mean(chain.directions[:, 2]))) * down
    shaft = stage.shaft
    stiffness = mechanism.drive_stock.modulus * round_second_moment(shaft.diameter)
    end, at = [side.sign * side.crank.ends[0]], [stage.out]
    place = float(influence(end, at, shaft.bearings, stiffness)[0, 0])
    slope = side.sign * float(slope_influence(end, at, shaft.bearings, stiffness)[0, 0])
    return Line(place * load[:, [0, 2]], slope * load[:, [0, 2]])


def of_run(
    run: Run,
    mechanism: Mechanism,
    loading: Loading,
    shape: Bent,
    source: str,
    misaligned: Misaligned = unlimited,
) -> list[Finding]:
    """Give the largest misalignment of a side's coupling over a run, the centre shaft's bending counted in."""
    own = centre_line(run, mechanism, loading.side)
    off = inner_line(shape).against(own)
    words = ""
    if mechanism.stages:
        place, slope = (float(np.linalg.norm(x, axis=1).max()) for x in (own.place, own.slope))
        words = (
            f"the centre shaft's own end moves {shown(place, 'length')} and {shown(slope, 'angle')} at most"
        )
    return _found(mechanism, loading, off, run.label, source, misaligned, words)


def of_shape(
    mechanism: Mechanism, loading: Loading, shape: Bent, case: str, source: str, misaligned: Misaligned
) -> list[Finding]:
    """Give the largest misalignment of a side's coupling, the centre shaft straight."""
    words = "the centre shaft taken as straight" if mechanism.stages else ""
    return _found(mechanism, loading, inner_line(shape), case, source, misaligned, words)


def _found(
    mechanism: Mechanism,
    loading: Loading,
    off: Line,
    case: str,
    source: str,
    misaligned: Misaligned,
    words: str,
) -> list[Finding]:
    side = loading.side
    angular, parallel = misaligned(side)
    common = [words] if words else []
    if not mechanism.stages:
        common.append("against the crank's axis: there is no centre shaft")
    if side.crank.coupling.kind == "clamp":
        common.append("as if it gave: a rigid clamp bends both shafts into one line instead")
    found: list[Finding] = []
    for what, values, dimension, limit in (
        (ANGULAR, off.slope, "angle", angular),
        (PARALLEL, off.place, "length", parallel),
    ):
        size = np.linalg.norm(values, axis=1)
        n = int(np.argmax(size))
        constant, swing = swinging(values)
        note = f"around {shown(constant, dimension)} that stands still it swings by {shown(swing, dimension)}"
        found.append(
            Finding(what, float(size[n]), dimension, names.coupling(side.name), case, *loading.when(n),
                    limit, source, "; ".join([note, *common]))
        )  # fmt: skip
    return found


def swinging(values: Array) -> tuple[float, float]:
    """Give the constant part of a misalignment (n, 2) and how far it swings around it.

    The constant part is the middle between its least and its most, forward and up, so that it does not hang on how
    long a run dwells anywhere.
    """
    middle = (values.max(axis=0) + values.min(axis=0)) / 2
    return float(np.linalg.norm(middle)), float(np.linalg.norm(values - middle, axis=1).max())
