"""The shapes in which a crankshaft bends, few enough for an engine to follow.

A shaft's pins, bearings, weight and spin load it in a handful of ways. Its shapes under each of them, held at the
inner end, with its slowest swings beside them, bend exactly as the whole frame does while it moves slowly against
its own swings (component mode synthesis: R. R. Craig, M. C. C. Bampton, AIAA Journal 6:1313, 1968; memory).
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from models.mechanism import Side
from sim.arrays import Array, cross_matrix
from sim.shaft.bending import Bent, supports
from sim.shaft.crank import CrankFrame, bearing, crank_frame, throw
from sim.shaft.shape import unstressed

SWINGS = 4
"""Slowest swings that are taken beside the shapes under load."""
ALIKE = 1e-9
"""Share of a shape's own size below which what it adds to those before counts as rounding."""
AXES = np.array([[1.0, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]])


@dataclass(frozen=True)
class ShaftModes:
    """A crankshaft in axes that ride on its inner end.

    Attributes
    ----------
    crank : its frame.
    shapes : (6 n, k) movements and turns of the nodes per unit amplitude, none of the inner end's; of mass 1.
    stiffness : (k,) of each, N/m: the squares of their frequencies, rad/s.
    points : (p, 3) m, from the inner end, unstressed: the nodes themselves, then six points about each that carry
        its mass, so that mass, centre and inertia are the node's.
    masses : (p,) kg; none of the nodes themselves.
    moves : (p, 3, k) movement of the points.
    """

    crank: CrankFrame
    shapes: Array
    stiffness: Array
    points: Array
    masses: Array
    moves: Array

    def amplitudes(self, shape: Bent) -> Array:
        """Give the amplitudes (k,) of a bent shaft at its first instant: those of the least difference in energy."""
        away = relative(self.crank, shape.moved[0] - shape.own)
        return self.shapes.T @ (self.crank.frame.stiffness @ away) / self.stiffness


@lru_cache(maxsize=64)
def shaft_modes(side: Side) -> ShaftModes:
    """Give the shapes of a side's crankshaft, in the side's coordinates."""
    crank = crank_frame(side)
    K, M, L = crank.frame.stiffness[6:, 6:], mass_matrix(crank)[6:, 6:], _loads(crank)[6:]
    basis: Array = np.asarray(np.linalg.solve(K, L), dtype=float)
    swings = swinging(K, M)[1][:, :SWINGS]
    basis = _apart(np.asarray(np.hstack([basis, swings]), dtype=float), K)
    squares, mixed = swinging(basis.T @ K @ basis, basis.T @ M @ basis)
    shapes = np.vstack([np.zeros((6, len(squares))), basis @ mixed])
    points, masses, moves = _points(crank, shapes)
    return ShaftModes(crank, shapes, squares, points, masses, moves)


@lru_cache(maxsize=64)
def slowest(side: Side, hung: tuple[float, ...] = ()) -> float:
    """Give the slowest natural frequency, rad/s, of a crankshaft on its bearings, its inner end kept from turning.

    Parameters
    ----------
    side : whose crankshaft.
    hung : by panel, what rides on its throw across the shaft, kg; nothing where none is given.
    """
    crank = crank_frame(side)
    K, M = crank.frame.stiffness.copy(), mass_matrix(crank)
    for panel, mass in zip(side.panels, hung or (0.0,) * len(side.panels), strict=True):
        at = 6 * crank.node(throw(panel.name))
        for row in (at, at + 2):
            M[row, row] += mass
    held: list[int] = []
    for support in supports(side):
        for direction in support.directions:
            at = 6 * support.node + int(np.argmax(np.abs(direction)))
            if support.give > 0:
                K[at, at] += 1 / support.give
            else:
                held.append(at)
    free = np.setdiff1d(np.arange(len(K)), held)
    return float(np.sqrt(swinging(K[np.ix_(free, free)], M[np.ix_(free, free)])[0][0]))


def swinging(K: Array, M: Array) -> tuple[Array, Array]:
    """Give the squares of natural frequencies (k,), 1/s2, slowest first, and shapes (n, k) of mass 1.

    Parameters
    ----------
    K, M : (n, n) stiffness, positive, and mass; shapes without mass are left out.
    """
    lower = np.linalg.cholesky(K)
    half = np.linalg.solve(lower, np.linalg.solve(lower, M).T)
    slowness, shapes = np.linalg.eigh((half + half.T) / 2)
    heavy = slowness > 1e-13 * slowness[-1]
    found = np.linalg.solve(lower.T, shapes[:, heavy]) / np.sqrt(slowness[heavy])
    return np.asarray(1 / slowness[heavy][::-1]), np.asarray(found[:, ::-1])


def relative(crank: CrankFrame, moved: Array) -> Array:
    """Give movements (6 n,) of the nodes against axes that ride on the first one."""
    found = moved.reshape(-1, 6).copy()
    first = found[0].copy()
    arms = crank.frame.nodes - crank.frame.nodes[0]
    found[:, :3] -= first[:3] + np.cross(first[3:], arms)
    found[:, 3:] -= first[3:]
    return found.ravel()


def mass_matrix(crank: CrankFrame) -> Array:
    """Give the (6 n, 6 n) mass matrix of the nodes' lumps, kg, kg m and kg m2."""
    size = 6 * len(crank.masses)
    found = np.zeros((size, size))
    for k, (piece, at) in enumerate(zip(crank.masses, crank.frame.nodes, strict=True)):
        aside = piece.mass * cross_matrix(piece.com - at)
        about = piece.inertia - aside @ cross_matrix(piece.com - at)
        rows = slice(6 * k, 6 * k + 6)
        found[rows, rows] = np.block([[piece.mass * np.eye(3), -aside], [aside, about]])
    return found


def _loads(crank: CrankFrame) -> Array:
    """Give the loads (6 n, m) under which the shapes are taken: at pins and bearings, of weight and of spin."""
    side = crank.side
    pins = [(crank.node(throw(p.name)), axis) for p in side.panels for axis in (0, 1, 2)]
    bearings = [(crank.node(bearing(1)), 1)]
    bearings += [
        (crank.node(bearing(k)), axis) for k in range(1, len(side.crank.stations) + 1) for axis in (0, 2)
    ]
    at = [6 * node + axis for node, axis in (*pins, *bearings) if node > 0]
    return np.hstack([crank.weight, crank.spinning, np.eye(6 * len(crank.masses))[:, at]])


def _apart(basis: Array, K: Array) -> Array:
    """Give a basis of the same shapes, square to each other in energy, what repeats others left out."""
    kept: list[Array] = []
    for column in basis.T:
        size = np.sqrt(column @ K @ column)
        if size == 0:
            continue
        left = column / size
        for _ in range(2):  # once more, as the first round leaves rounding of the large parts
            for other in kept:
                left = left - (other @ K @ left) * other
        remains = np.sqrt(max(left @ K @ left, 0.0))
        if remains > ALIKE:
            kept.append(left / remains)
    return np.array(kept).T


def _points(crank: CrankFrame, shapes: Array) -> tuple[Array, Array, Array]:
    """Give points, masses and movements; each lump is six points on its principal axes."""
    own = relative(crank, unstressed(crank)).reshape(-1, 6)
    places: list[Array] = []
    masses: list[float] = []
    moves: list[Array] = []
    by_node = shapes.reshape(len(crank.masses), 6, -1)
    start = crank.frame.nodes - crank.frame.nodes[0]

    def add(k: int, aside: Array, mass: float) -> None:
        places.append(start[k] + own[k, :3] + aside + np.cross(own[k, 3:], aside))
        masses.append(mass)
        moves.append(by_node[k, :3] - cross_matrix(aside) @ by_node[k, 3:])

    for k in range(len(crank.masses)):
        add(k, np.zeros(3), 0.0)
    for k, piece in enumerate(crank.masses):
        if piece.mass == 0:
            continue
        about, axes = np.linalg.eigh(piece.inertia)
        # Six points of m/6 at +-a on each axis: I_x = m/3 (a_y^2 + a_z^2), and so round.
        squares = np.maximum(1.5 / piece.mass * (np.sum(about) - 2 * about), 0.0)
        for way in AXES * np.sqrt(squares):
            add(k, piece.com - crank.frame.nodes[k] + axes @ way, piece.mass / 6)
    return np.array(places), np.array(masses), np.array(moves)
