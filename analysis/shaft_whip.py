"""How far the crankshafts move sideways under their loads.

Whip is the sideways movement of a shaft, from load and from runout. Here the crankshaft is a straight round
bar of the shaft's diameter on its two bearings. A built-up crankshaft is softer at its throws, so these are
least values; the loads are those recorded, with the shaft's own weight and its unbalance, without the couples that
rods leaning along the shaft put on their throws.

Usage: python -m analysis.shaft_whip RUN...
"""

from dataclasses import dataclass

import numpy as np

from analysis.finding import Finding
from analysis.script import script
from models.mechanism import Side, from_canonical
from sim import names
from sim.arrays import Array
from sim.beam import influence, round_second_moment
from sim.mass import crank_pieces
from sim.run import Run

DEFLECTION = "largest sideways deflection"
SOURCE = "Euler-Bernoulli beam on two supports under the recorded loads"
LEAST = (
    "a least value: the throws of a built-up crankshaft bend more than the straight bar assumed here; the "
    "couples of rods that lean along the shaft are left out"
)


@dataclass(frozen=True)
class Deflection:
    """The sideways movement of a crankshaft over a run.

    Attributes
    ----------
    stations : (m,) m out, and what is there.
    labels : of the stations.
    movement : (n, m, 2) forward and up, m.
    """

    stations: Array
    labels: tuple[str, ...]
    movement: Array


def findings(run: Run) -> list[Finding]:
    """Give the largest deflection at each throw and at mid-span of every crankshaft of a run."""
    mechanism = from_canonical(run.description)
    found: list[Finding] = []
    for side in mechanism.sides:
        bent = deflection(run, side, mechanism.gravity)
        crank = run[f"angles/{names.crankshaft(side.name)}/angle"]
        size = np.linalg.norm(bent.movement, axis=2)
        for k, label in enumerate(bent.labels):
            n = int(np.argmax(size[:, k]))
            found.append(
                Finding(DEFLECTION, float(size[n, k]), "length",
                        f"{names.crankshaft(side.name)}, {label}", run.label, float(run.time[n]),
                        float(crank[n]), source=SOURCE, note=LEAST)
            )  # fmt: skip
        if side.crank.runout > 0:
            found.append(
                Finding("sideways movement from runout", side.crank.runout / 2, "length",
                        f"{names.crankshaft(side.name)}, mid-span", run.label,
                        source="half the indicator reading given", note="turns with the shaft; adds to the above")
            )  # fmt: skip
    return found


def deflection(run: Run, side: Side, gravity: float) -> Deflection:
    """Give the deflection of a side's crankshaft over a run.

    Parameters
    ----------
    run : with the forces at the crank pins.
    side : whose crankshaft.
    gravity : m/s2.
    """
    shaft = side.crank
    stations = np.array([*(p.throw_out for p in side.panels), sum(shaft.bearings) / 2])
    labels = (*(f"throw of panel '{p.name}'" for p in side.panels), "mid-span")
    places, loads = _loads(run, side, gravity)
    stiffness = shaft.material.modulus * round_second_moment(shaft.shaft)
    per_load = influence(stations, places, shaft.bearings, stiffness)
    return Deflection(stations, labels, np.einsum("ml,nlk->nmk", per_load, loads))


def _loads(run: Run, side: Side, gravity: float) -> tuple[Array, Array]:
    """Give the places (l,) of the lateral loads on a crankshaft and the loads (n, l, 2), forward and up."""
    name = names.crankshaft(side.name)
    angle, speed = run[f"angles/{name}/angle"] + side.key_angle, run[f"angles/{name}/speed"]
    places: list[float] = []
    loads: list[Array] = []
    for panel in side.panels:
        places.append(panel.throw_out)
        loads.append(run[f"joints/{names.crank_eye(side.name, panel.name)}/force"][:, [0, 2]])
    for place, piece in crank_pieces(side):
        x, z = piece.com[0], piece.com[2]
        # The unbalance pulls outwards with the square of the speed; the part from angular acceleration is
        # smaller by orders at these speeds and is left out.
        forward = np.cos(angle) * x + np.sin(angle) * z
        up = -np.sin(angle) * x + np.cos(angle) * z
        pull = piece.mass * speed**2
        places.append(place)
        loads.append(np.stack([pull * forward, pull * up - piece.mass * gravity], -1))
    return np.array(places), np.stack(loads, 1)


if __name__ == "__main__":
    script(findings, __doc__)
