"""Counterweights against the wings' weight: what they can take off the wheel's torque, and what they cannot.

A counterweight of mass m at radius r and angle phi on a crankshaft keyed by kappa adds
-m g r sin(c + kappa + phi) to V'(c), the crank torque that holds the side at crank angle c: a first harmonic and
nothing else. So only the moment w = m r exp(i phi) counts, a complex number in kg m, alike on every crankshaft as a
description writes it, and at the wheel T(c) = T0(c) - Im(exp(i c) G w) with the gain G = g sum(exp(i kappa)) / N and
N turns of the wheel for one of the crank. All else here follows from this line.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import cast

import numpy as np
from scipy.optimize import linprog  # pyright: ignore[reportUnknownVariableType]

from models.mechanism import Mechanism, Weight
from sim.arrays import Array
from sim.beam import reactions
from sim.builders import Linkage
from sim.closed_form import gravity_torque, moving_parts
from sim.whole import holding_torque, unbalance

ANGLES = 1440
"""Crank angles over the turn at which peaks are taken. Between two of them a fifth harmonic rises by at most
(5 pi / ANGLES)^2 / 2 of itself: 6e-5."""
TANGENTS = 16
"""Half planes that the disc of allowed moments begins as; more are cut where a solution leaves the disc."""
ROUND = 1e-8
"""Share of the largest torque by which a solution may be out of the disc, and then is put back on its edge; wider than
the solver's own tolerance of 1e-10, so that every new tangent cuts something off."""
GONE = 1e-9
"""Gain, as a share of one crankshaft's, below which the counterweights of two sides undo each other."""


@dataclass(frozen=True)
class Unbalanced:
    """A piece without counterweights, and what one does to its torque at the wheel.

    Attributes
    ----------
    crank : (n,) crank angles over one turn, rad.
    torque : (n,) T0, N m: holds it still without friction.
    gain : G, N m at the wheel for a moment of 1 kg m; 0 where the sides' counterweights undo each other.
    drifting : amplitude, N m, of the wheel's own unbalance where it comes round at any crank angle; it is not in
        `torque`, and is added to every peak. Else 0.
    """

    crank: Array
    torque: Array
    gain: complex
    drifting: float

    def left(self, moment: complex) -> Array:
        """Give the torque (n,), N m at the wheel, that is left with a moment, kg m."""
        return self.torque - np.imag(np.exp(1j * self.crank) * (self.gain * moment))

    def peak(self, moment: complex) -> float:
        """Give the greatest torque, N m at the wheel, either way, with a moment, kg m."""
        return float(np.abs(self.left(moment)).max()) + self.drifting


def unbalanced(closed: Linkage) -> Unbalanced:
    """Take a piece's counterweights off.

    The wheel's own unbalance, such as a handle's, counts at its own angle where the wheel makes whole turns for one
    of the crank. Else it drifts against the crank from turn to turn, and its amplitude is a bound for what it adds.
    """
    m = closed.mechanism
    crank = np.linspace(0, 2 * np.pi, ANGLES, endpoint=False)
    bare = replace(
        closed,
        sides=tuple(
            replace(s, side=replace(s.side, crank=replace(s.side.crank, weights=()))) for s in closed.sides
        ),
    )
    keyed = complex(sum(np.exp(1j * s.side.key_angle) for s in closed.sides))
    gain = m.gravity * keyed / m.reduction if abs(keyed) > GONE else 0j
    if m.reduction.is_integer():
        return Unbalanced(crank, holding_torque(bare, crank), gain, 0.0)
    wings = np.sum([gravity_torque(moving_parts(s, crank), m.gravity) for s in bare.sides], axis=0)
    return Unbalanced(crank, wings / m.reduction, gain, float(np.hypot(*unbalance(m))))


def moment(weights: Sequence[Weight]) -> complex:
    """Give the sum of mass times radius, kg m, in the directions of the weights' angles."""
    return complex(sum(w.mass * w.radius * np.exp(1j * w.angle) for w in weights))


def first_harmonic(piece: Unbalanced) -> complex:
    """Give the moment, kg m, that takes away the torque's first harmonic, however large it is; 0 without a gain.

    With T0 = Im(exp(i c) h) + harmonics of other orders, h = (1/pi) int T0 (sin c + i cos c) dc over a turn
    (Fourier), and w = h / G. The mean over evenly spaced angles is that integral for all harmonics below n - 1.
    """
    if piece.gain == 0:
        return 0j
    h = 2 * np.mean(piece.torque * (np.sin(piece.crank) + 1j * np.cos(piece.crank)))
    return complex(h / piece.gain)


def best(piece: Unbalanced, most: float | None = None) -> complex:
    """Give the moment, kg m, that leaves the least peak torque.

    The least largest of linear functions of two unknowns: a linear programme, min t with |T(c)| <= t at every c
    (Boyd and Vandenberghe, Convex Optimization, 6.1.1; memory). A limit on the moment is a disc, which is cut out by
    tangents until the solution lies in it (Kelley's cutting planes; memory).

    Parameters
    ----------
    piece : as `unbalanced` gives it.
    most : largest moment allowed, kg m; None for any.

    Returns
    -------
    The moment, in the disc; exactly 0 where the piece is not worse off without one.

    Raises
    ------
    ArithmeticError
        If the solver finds nothing, which no piece should bring about.
    """
    scale = float(np.abs(piece.torque).max())
    if piece.gain == 0 or scale == 0 or most == 0:
        return 0j
    # Unknowns: G w over the scale as x + i y, and t over the scale.
    radius = None if most is None else most * abs(piece.gain) / scale
    s, c, one = np.sin(piece.crank), np.cos(piece.crank), np.ones(len(piece.crank))
    bound = piece.torque / scale
    rows = np.concatenate([np.stack([-s, -c, -one], -1), np.stack([s, c, -one], -1)])
    limits = np.concatenate([-bound, bound])
    if radius is not None:
        turns = np.linspace(0, 2 * np.pi, TANGENTS, endpoint=False)
        rows = np.concatenate([rows, np.stack([np.cos(turns), np.sin(turns), 0 * turns], -1)])
        limits = np.concatenate([limits, np.full(TANGENTS, radius)])
    z = _least(rows, limits)
    while radius is not None and abs(z) > radius + ROUND:
        rows = np.concatenate([rows, [[z.real / abs(z), z.imag / abs(z), 0.0]]])
        limits = np.append(limits, radius)
        z = _least(rows, limits)
    if radius is not None and abs(z) > radius:
        z *= radius / abs(z)
    found = complex(z * scale / piece.gain)
    return found if piece.peak(found) < piece.peak(0j) * (1 - ROUND) else 0j


def _least(rows: Array, limits: Array) -> complex:
    """Solve min t with rows @ (x, y, t) <= limits for x + i y."""
    found = linprog(
        (0, 0, 1), A_ub=rows, b_ub=limits, bounds=[(None, None), (None, None), (0, None)], method="highs-ds",
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )  # fmt: skip
    solved = cast("Array | None", found.x)  # pyright: ignore[reportUnknownMemberType]
    if solved is None:
        raise ArithmeticError("the least peak torque was not found")
    return complex(solved[0], solved[1])


def added_load(mechanism: Mechanism, weights: Sequence[Weight], wheel_speed: float) -> tuple[Array, Array]:
    """Give what counterweights put on the two bearings that hold a crankshaft, N.

    Shares by levers (`sim.beam.reactions`), each weight at its own place; at a steady speed w of the crankshaft the
    weights pull outwards with m r w^2, added as directions.

    Parameters
    ----------
    mechanism : whose first side's bearings they are; the other side's are alike.
    weights : the counterweights.
    wheel_speed : rad/s.

    Returns
    -------
    Standing (2,) and whirling (2,) loads: m g, with the sign of its share, and the size of the turning one. The
    greatest load over a turn is the sum of their sizes.
    """
    if not weights:
        return np.zeros(2), np.zeros(2)
    shares = reactions([w.out for w in weights], mechanism.sides[0].crank.bearings)
    still = mechanism.gravity * shares @ np.array([w.mass for w in weights])
    turning = shares @ np.array([moment([w]) for w in weights]) * (wheel_speed / mechanism.reduction) ** 2
    return still, np.abs(turning)
