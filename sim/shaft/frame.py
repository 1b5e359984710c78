"""Frames in space: straight members with six elastic movements each, held at supports.

Members are Timoshenko beams: plane sections, small displacements, shear by a coefficient, no axial load that
stiffens. Between loads at nodes that is exact (Przemieniecki, Theory of Matrix Structural Analysis, ch. 5;
memory). A member's stiffness is diagonal in its six elastic movements: stretch, two shears, twist and two bends,
which an engine's elastic joint takes as they are, so that both ways to the bent shape rest on the same numbers.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from models.materials import POISSON
from sim.arrays import Array, cross_matrix


@dataclass(frozen=True)
class Section:
    """A member's cross-section; local x runs along the member, y and z across.

    Attributes
    ----------
    kind : "round" or "rectangle".
    height, width : along local y and z, m; both the diameter of a round.
    area : m2.
    about_y, about_z : second moments, m4.
    torsion : torsion constant, m4.
    shear : share of the area that carries shear, along y and z.
    """

    kind: str
    height: float
    width: float
    area: float
    about_y: float
    about_z: float
    torsion: float
    shear: tuple[float, float]


def round_section(diameter: float) -> Section:
    """Give a solid round section; shear coefficient 6 (1 + nu) / (7 + 6 nu) (Cowper 1966; read in published code)."""
    second = np.pi * diameter**4 / 64
    share = 6 * (1 + POISSON) / (7 + 6 * POISSON)
    area = float(np.pi * diameter**2 / 4)
    return Section("round", diameter, diameter, area, second, second, 2 * second, (share, share))


def rectangle_section(height: float, width: float) -> Section:
    """Give a solid rectangle, `height` along local y and `width` along local z, m.

    Torsion a b^3 (1/3 - .21 b/a (1 - b^4 / (12 a^4))), a >= b (Roark's formulas; read; within .5 % of
    Saint-Venant's series, the worst near a = 1.15 b); shear coefficient 10 (1 + nu) / (12 + 11 nu)
    (Cowper 1966; read in published code that cites it).
    """
    a, b = max(height, width), min(height, width)
    torsion = a * b**3 * (1 / 3 - 0.21 * b / a * (1 - b**4 / (12 * a**4)))
    share = 10 * (1 + POISSON) / (12 + 11 * POISSON)
    return Section(
        "rectangle", height, width, height * width, height * width**3 / 12, width * height**3 / 12, torsion,
        (share, share),
    )  # fmt: skip


@dataclass(frozen=True)
class Member:
    """A straight bar between two nodes.

    Attributes
    ----------
    name : what it is.
    a, b : numbers of its nodes.
    axes : (3, 3) local x, y, z as columns; x from a to b.
    length : m.
    section : its cross-section.
    modulus : Young's, Pa.
    """

    name: str
    a: int
    b: int
    axes: Array
    length: float
    section: Section
    modulus: float

    @cached_property
    def stiffness(self) -> Array:
        """The (6,) stiffnesses of stretch, shear y, shear z (N/m), twist, bend about y, bend about z (N m/rad)."""
        s, E, length = self.section, self.modulus, self.length
        G = E / (2 * (1 + POISSON))
        sideways: list[float] = []
        for second, share in ((s.about_z, s.shear[0]), (s.about_y, s.shear[1])):
            softer = 1 + 12 * E * second / (share * s.area * G * length**2)
            sideways.append(12 * E * second / (length**3 * softer))
        return np.array([E * s.area / length, *sideways, G * s.torsion / length, E * s.about_y / length,
                         E * s.about_z / length])  # fmt: skip

    @cached_property
    def movements(self) -> Array:
        """The (6, 12) matrix from displacements and turns of both ends, frame axes, to the elastic movements."""
        half = self.length / 2
        ends: list[Array] = []
        for sign in (-1.0, 1.0):
            # Stretch and shear are what the ends' places at mid-length, carried rigidly, are apart.
            place = np.hstack([np.eye(3), sign * cross_matrix(np.array([half, 0.0, 0.0]))])
            turn = np.hstack([np.zeros((3, 3)), np.eye(3)])
            ends.append(sign * np.vstack([place, turn]))
        local = np.kron(np.eye(2), self.axes.T)
        a, b = (ends[k] @ local for k in (0, 1))
        return np.hstack([a, b])


@dataclass(frozen=True)
class Support:
    """A support: it holds a node along some directions.

    Attributes
    ----------
    name : what holds.
    node : number of the node.
    directions : (k, 6) of displacement (3) and turn (3), each a unit vector.
    give : its own compliance, m/N or rad/(N m); 0 is rigid.
    """

    name: str
    node: int
    directions: Array
    give: float = 0.0


@dataclass(frozen=True)
class Frame:
    """Nodes (n, 3), m, joined by members."""

    nodes: Array
    members: tuple[Member, ...]

    @cached_property
    def stiffness(self) -> Array:
        """The (6 n, 6 n) stiffness of the free frame."""
        total = np.zeros((6 * len(self.nodes),) * 2)
        for m in self.members:
            at = _places(m)
            total[np.ix_(at, at)] += m.movements.T @ (m.stiffness[:, None] * m.movements)
        return total

    def end_loads(self, moved: Array) -> Array:
        """Give what each member carries at its ends, from elastic displacements.

        Parameters
        ----------
        moved : (..., 6 n) displacements from the frame's unstressed shape.

        Returns
        -------
        (..., m, 2, 6) in the member's axes: force along x, y, z, N, and moment about x, y, z, N m, that the
        part beyond puts on the part before, at end a and at end b: positive stretches, twists along x.
        """
        found: list[Array] = []
        for m in self.members:
            carried = (moved[..., _places(m)] @ m.movements.T) * m.stiffness
            force, middle = carried[..., :3], carried[..., 3:]
            arm = np.array([m.length / 2, 0.0, 0.0])
            # Shear changes the moment along the member: M(x) = M(middle) - (x - l/2) ex x V.
            ends = [np.concatenate([force, middle - sign * np.cross(arm, force)], -1) for sign in (-1.0, 1.0)]
            found.append(np.stack(ends, -2))
        return np.stack(found, -3)


@dataclass(frozen=True)
class Held:
    """A frame on its supports: what loads and settlements do to it.

    Attributes
    ----------
    frame, supports : what on what.
    by_load : (6 n, 6 n) displacements per load.
    by_settling : (6 n, s) displacements per settlement of each held direction.
    carried : (s, 6 n) what the supports put on the frame per load.
    forced : (s, s) the same per settlement.
    """

    frame: Frame
    supports: tuple[Support, ...]
    by_load: Array
    by_settling: Array
    carried: Array
    forced: Array

    def rows(self, name: str) -> slice:
        """Give which held directions are those of a support."""
        first = 0
        for s in self.supports:
            if s.name == name:
                return slice(first, first + len(s.directions))
            first += len(s.directions)
        raise KeyError(f"no support '{name}'; there are {', '.join(s.name for s in self.supports)}")

    def along(self, moved: Array) -> Array:
        """Give how far displacements (..., 6 n) go along each held direction (..., s)."""
        return np.concatenate(
            [moved[..., 6 * s.node : 6 * s.node + 6] @ s.directions.T for s in self.supports], axis=-1
        )


def held(frame: Frame, supports: Sequence[Support]) -> Held:
    """Hold a frame.

    With K the free stiffness, A the held directions, F their give, r what supports put on the frame and s their
    settlements: K u - A' r = f and A u + F r = s, solved once for all f and s.

    Raises
    ------
    ValueError
        When the supports leave it loose.
    """
    K = frame.stiffness
    n = len(K)
    rows: list[Array] = []
    gives: list[float] = []
    for s in supports:
        for direction in s.directions:
            row = np.zeros(n)
            row[6 * s.node : 6 * s.node + 6] = direction
            rows.append(row)
            gives.append(s.give)
    A = np.array(rows).reshape(len(rows), n)
    # Forces and turns differ in size by the stiffness; scaled alike the whole is well conditioned.
    scale = float(np.max(np.abs(np.diag(K))))
    whole = np.block([[K / scale, -A.T], [A, np.diag(gives) * scale]])
    rigid = A[np.array(gives) == 0]
    if len(rigid) > 0 and np.linalg.matrix_rank(rigid) < len(rigid):
        raise ValueError("two rigid supports hold the same movement; let one give")
    try:
        inverse: Array = np.asarray(np.linalg.inv(whole), dtype=float)
    except np.linalg.LinAlgError:
        raise ValueError("the supports leave the frame loose; hold all six of its movements") from None
    if not np.all(np.isfinite(inverse)) or np.max(np.abs(inverse[:n, :n])) > 1e12:
        raise ValueError("the supports leave the frame loose; hold all six of its movements")
    return Held(
        frame,
        tuple(supports),
        inverse[:n, :n] / scale,
        inverse[:n, n:],
        inverse[n:, :n],
        inverse[n:, n:] * scale,
    )


def _places(m: Member) -> NDArray[np.intp]:
    return np.concatenate([6 * k + np.arange(6) for k in (m.a, m.b)])
