"""What each bolt of a group carries, and what it stands in shear, pull and both.

Bolts are alike and the plates rigid: a force through the group's middle is shared evenly, a moment in its plane by the
bolts' distances from the middle (elastic method), and one that tilts the plate by their distances from the middle
likewise, which is more than with the heel of the plate as the pivot. Resistances are those of EN 1993-1-8, table 3.4.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.parts.choice import Check
from models.materials import Material
from models.parts.fasteners import Fastener
from models.strengths import strengths
from sim.arrays import Array

TABLE = "EN 1993-1-8, table 3.4 (read second hand)"
ELASTIC = "elastic method: bolts alike, plates rigid; Shigley, 9th ed., sec. 8-12 (read)"
PARTIAL = 1.25
"""gamma_M2 of EN 1993-1-8 (read)."""
IN_THREAD = {"8.8": 0.6, "A2-70": 0.5, "grade 5": 0.6}
"""Shear over tensile strength in the thread: 8.8 EN 1993-1-8 (read); stainless EN 1993-1-4 (memory); grade 5 as 8.8
(assumption)."""
LEAST = 0.006
"""Thinnest thread that a hand with a spanner does not strip, m: M6, 1/4 in."""
WAYS = 72
"""Directions among which the worst for a bolt is sought."""
Places = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class BoltLoad:
    """What the bolt that is nearest to failing carries: shear and pull, N."""

    shear: float
    pull: float


def shears(places: Places, force: tuple[float, float], moment: float) -> Array:
    """Give the shear (n, 2), N, on the bolts of a group.

    Parameters
    ----------
    places : (n) of the bolts in the plane, m.
    force : in the plane, through the middle of the group, N.
    moment : in the plane, positive from the first axis to the second, N m.

    Returns
    -------
    F / n + M r / sum r^2, square to r: Shigley, 9th ed., eq. 8-57 (read).
    """
    at = np.asarray(places, dtype=float)
    r = at - at.mean(axis=0)
    total = float(np.sum(r**2))
    own = np.tile(np.asarray(force, dtype=float) / len(at), (len(at), 1))
    if total == 0:
        if moment:
            raise ValueError("bolts in one place hold no moment")
        return own
    return own + moment / total * np.stack([-r[:, 1], r[:, 0]], axis=-1)


def pulls(places: Places, force: float, tilt: float) -> Array:
    """Give the pull (n,), N, on the bolts of a group; less than nothing is pressed by the plates and carries none.

    Parameters
    ----------
    places : (n) of the bolts in the plane, m.
    force : that lifts the plate, at the middle of the group, N.
    tilt : moment that lifts the bolts of larger second coordinate, N m.
    """
    at = np.asarray(places, dtype=float)
    away = at[:, 1] - at[:, 1].mean()
    total = float(np.sum(away**2))
    if total == 0 and tilt:
        raise ValueError("bolts in one row hold no tilting moment")
    share = tilt * away / total if total else 0 * away
    return np.maximum(force / len(at) + share, 0.0)


def resists(row: Fastener) -> BoltLoad:
    """Give what a bolt stands in shear alone, in the thread's root, and in pull alone, N."""
    return BoltLoad(
        IN_THREAD[row.grade] * row.ultimate * row.shear / PARTIAL, 0.9 * row.ultimate * row.tension / PARTIAL
    )


def used_up(load: BoltLoad, stood: BoltLoad) -> float:
    """Give the share of a bolt that is used up: F_v / F_v,Rd + F_t / (1.4 F_t,Rd), and at least F_t / F_t,Rd."""
    return max(load.shear / stood.shear + load.pull / (1.4 * stood.pull), load.pull / stood.pull)


def bearing(row: Fastener, thickness: float, edge: float, plate: Material) -> float:
    """Give what a plate stands where a bolt bears on it or tears out of it, N.

    Parameters
    ----------
    row : the bolt.
    thickness, edge : of the plate, and from the bolt's middle to its nearest edge, m.
    plate : what it is of; its yield counts where the ultimate strength is not known.

    Returns
    -------
    k1 ab fu d t / 1.25 with ab = e / 3 d0 and k1 = 2.8 e / d0 - 1.7, at most 1 and 2.5: EN 1993-1-8, table 3.4.
    """
    known = strengths().get(plate.name)
    ultimate = known.ultimate if known else plate.strength
    along = min(1.0, edge / (3 * row.hole), row.ultimate / ultimate)
    across = min(2.5, 2.8 * edge / row.hole - 1.7)
    return max(0.0, across) * along * ultimate * row.diameter * thickness / PARTIAL


def worst_bolt(
    places: Places, radial: float, thrust: float, arm: float, stood: BoltLoad, height: float = 0.0
) -> BoltLoad:
    """Give the load of the bolt nearest to failing where a force may come from any side.

    The force acts square to the first axis and may lie in the plate's plane, square to it, or between. It acts `arm`
    before the middle of the group, along the second axis, and `height` above the plate.

    Parameters
    ----------
    places : of the bolts, m.
    radial, thrust : force square to the first axis, and along it, N.
    arm, height : m, 0 or more.
    stood : what a bolt stands.
    """
    best = BoltLoad(0.0, 0.0)
    for way in np.linspace(0, 2 * math.pi, WAYS, endpoint=False):
        flat, lifted = radial * math.cos(way), radial * math.sin(way)
        sheared = np.linalg.norm(shears(places, (thrust, flat), thrust * arm), axis=1)
        # Lifting before the middle pulls most on the near bolts; a force above the plate pulls on the far ones.
        tilt = -lifted * arm - flat * height
        pulled = pulls(places, lifted, tilt) if tilt or lifted else 0 * sheared
        for shear, pull in zip(sheared.tolist(), pulled.tolist(), strict=True):
            found = BoltLoad(shear, pull)
            if used_up(found, stood) > used_up(best, stood):
                best = found
    return best


def bolt_checks(
    row: Fastener, load: BoltLoad, case: str, crank: float | None, note: str = ""
) -> tuple[Check, ...]:
    """Give what is asked of a bolt itself; the loads are design loads, the margin in them."""
    stood = resists(row)
    return (
        Check("shear and pull of the worst bolt together", used_up(load, stood), 1.0, "ratio", case,
              f"Fv / FvRd + Ft / 1.4 FtRd, threads in the shear plane: {TABLE}; shared by the {ELASTIC}", crank, note),
        Check("pull of the worst bolt against its proof load", load.pull, row.proof * row.tension, "force", case,
              f"proof stress times stress area: {row.source}", crank, note),
        Check("least thread that is not stripped by hand", LEAST, row.diameter, "length", "geometry",
              "M6 or 1/4 in; common practice, no source"),
    )  # fmt: skip


def bolt_circle(count: int, diameter: float) -> tuple[tuple[float, float], ...]:
    """Give the holes' centres on a circle, m: right and up from the axis, the first straight up, then clockwise.

    Parameters
    ----------
    count : of the holes.
    diameter : of the circle through their centres, m.
    """
    turn = (2 * math.pi * k / count for k in range(count))
    return tuple((diameter / 2 * math.sin(a), diameter / 2 * math.cos(a)) for a in turn)
