"""Torsional modes of rotors joined by springs, chains and exact ratios, branches allowed.

Undamped and linear: (K - w^2 M) f = 0 with f the rotors' own angles. Nothing is referred to one shaft before: a spring
that acts through levers (a chain, on two travel radii) has them in its energy k (r f1 - s f2)^2 / 2, which is the same
as referring inertia and stiffness by the square of the ratio. What is rigid is eliminated, f = T q with T' K T and
T' M T left, so that no huge stiffness spoils the digits.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import cast

import numpy as np
from scipy.linalg import eigh  # pyright: ignore[reportUnknownVariableType]

from sim.arrays import Array

STILL = 1e-12
"""Share of the largest squared frequency below which one is rounding, of a rigid-body mode."""


@dataclass(frozen=True)
class Disc:
    """A rotor: its name and its inertia about its axis, kg m2."""

    name: str
    inertia: float


@dataclass(frozen=True)
class Link:
    """What winds up between two rotors: energy k (r f1 - s f2)^2 / 2.

    Attributes
    ----------
    name : what it is.
    a, b : rotors, or "" for b where it is held by the ground.
    stiffness : k, N m/rad; N/m where the levers are lengths.
    levers : r and s; 1 and 1 for a shaft, the travel radii, m, for a chain.
    """

    name: str
    a: str
    b: str
    stiffness: float
    levers: tuple[float, float] = (1.0, 1.0)


@dataclass(frozen=True)
class Fixed:
    """Two rotors that are one: a turns `ratio` times as far as b."""

    a: str
    b: str
    ratio: float = 1.0


@dataclass(frozen=True)
class Together:
    """Inertia that several rotors share, as wings on several throws do: f' M f / 2 of their speeds f.

    Attributes
    ----------
    rotors : names.
    inertia : M (n, n), symmetric, kg m2.
    """

    rotors: tuple[str, ...]
    inertia: Array


@dataclass(frozen=True)
class Line:
    """Rotors and what joins them.

    Attributes
    ----------
    discs : the rotors.
    links, fixed, together : what winds up, what is rigid, what inertia is shared.
    """

    discs: tuple[Disc, ...]
    links: tuple[Link, ...] = ()
    fixed: tuple[Fixed, ...] = ()
    together: tuple[Together, ...] = field(default_factory=tuple)

    def __post_init__(self) -> None:
        """Refuse names that repeat or do not exist, and springs that push apart."""
        known = [d.name for d in self.discs]
        twice = sorted({n for n in known if known.count(n) > 1})
        if twice:
            raise ValueError(f"rotors named twice: {', '.join(twice)}")
        asked = {n for x in (*self.links, *self.fixed) for n in (x.a, x.b)} | {
            n for t in self.together for n in t.rotors
        }
        lost = sorted(asked - set(known) - {""})
        if lost:
            raise ValueError(f"no such rotor: {', '.join(lost)}")
        soft = [x.name for x in self.links if not x.stiffness > 0]
        if soft:
            raise ValueError(f"stiffness not above zero: {', '.join(soft)}")

    def place(self, name: str) -> int:
        """Give the place of a rotor in shapes and matrices."""
        return [d.name for d in self.discs].index(name)

    def matrices(self) -> tuple[Array, Array]:
        """Give inertia and stiffness (n, n), kg m2 and N m/rad, in the rotors' own angles, ratios not yet heeded."""
        place = {d.name: k for k, d in enumerate(self.discs)}
        inertia = np.diag([d.inertia for d in self.discs])
        stiffness = np.zeros_like(inertia)
        for group in self.together:
            at = [place[n] for n in group.rotors]
            inertia[np.ix_(at, at)] += group.inertia
        for link in self.links:
            row = np.zeros(len(place))
            row[place[link.a]] = link.levers[0]
            if link.b:
                row[place[link.b]] -= link.levers[1]
            stiffness += link.stiffness * np.outer(row, row)
        return inertia, stiffness

    def freedoms(self) -> Array:
        """Give T (n, m): the rotors' angles for each free one, so that everything rigid holds.

        Raises
        ------
        ValueError
            Where exact ratios close a ring: they hold each other fast, or one says nothing.
        """
        place = {d.name: k for k, d in enumerate(self.discs)}
        t = np.eye(len(place))
        free = list(range(len(place)))
        for x in self.fixed:
            # f_a = ratio f_b as a row over the free angles: solve it for one of them.
            row = t[place[x.a]] - x.ratio * t[place[x.b]]
            among = [k for k in free if row[k] != 0]
            if not among:
                raise ValueError(f"'{x.a}' and '{x.b}' are joined rigidly already")
            # The angle of the rotor named first goes, or else the largest coefficient: never a division by little.
            gone = place[x.a] if place[x.a] in among else max(among, key=lambda k: abs(row[k]))
            share = -row / row[gone]
            share[gone] = 0.0
            t = t + np.outer(t[:, gone], share)
            t[:, gone] = 0.0
            free.remove(gone)
        return cast("Array", t[:, free])


@dataclass(frozen=True)
class Modes:
    """Modes of a line, slowest first, those without elastic energy among them.

    Attributes
    ----------
    rotors : names (n).
    frequencies : (m,) rad/s; 0 where everything turns without winding up.
    shapes : (m, n) angle of each rotor, each mode's largest one 1 and its first that moves positive.
    """

    rotors: tuple[str, ...]
    frequencies: Array
    shapes: Array

    @property
    def rigid(self) -> int:
        """The number of modes in which nothing winds up."""
        return int(np.sum(self.frequencies == 0))

    @property
    def elastic(self) -> Array:
        """The frequencies above zero, rad/s."""
        return self.frequencies[self.rigid :]

    def shape(self, mode: int, rotors: Sequence[str]) -> Array:
        """Give the angles of some rotors in an elastic mode, counted from 0."""
        return self.shapes[self.rigid + mode, [self.rotors.index(n) for n in rotors]]


def modes(line: Line) -> Modes:
    """Give the modes of a line.

    Raises
    ------
    ValueError
        Where a rotor, with what is joined to it rigidly, has no inertia, or exact ratios contradict each other.
    """
    inertia, stiffness = line.matrices()
    t = line.freedoms()
    mass, spring = t.T @ inertia @ t, t.T @ stiffness @ t
    if np.linalg.eigvalsh(mass)[0] <= 0:
        raise ValueError("a rotor without inertia: join it rigidly to its neighbour")
    squares, shapes = eigenpairs(spring, mass)
    squares = np.where(squares < STILL * max(float(squares[-1]), 0.0), 0.0, squares)
    if not line.links:
        squares = np.zeros_like(squares)
    turned = (t @ shapes).T
    for shape in turned:
        shape /= np.max(np.abs(shape))
        first = shape[np.flatnonzero(np.abs(shape) > 1e-9)[0]]
        shape *= np.sign(first)
    return Modes(tuple(d.name for d in line.discs), np.sqrt(squares), turned)


def eigenpairs(a: Array, b: Array) -> tuple[Array, Array]:
    """Give the values x (n,), rising, and vectors (n, n) as columns of a v = x b v, both symmetric, b above zero."""
    return cast("tuple[Array, Array]", eigh(a, b))


def shaft_stiffness(diameter: float, length: float, shear_modulus: float) -> float:
    """Give the torsional stiffness of a solid round shaft, G pi d^4 / 32 l, N m/rad (Saint-Venant).

    Parameters
    ----------
    diameter, length : m.
    shear_modulus : Pa.
    """
    return shear_modulus * np.pi * diameter**4 / 32 / length


def in_series(*compliances: float) -> float:
    """Give the stiffness of what winds up one after the other, from angle per torque of each, rad/N m."""
    return 1 / sum(compliances)
