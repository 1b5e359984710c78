"""Castigliano's second theorem on a chain of straight bars, apart from `sim`.

The chain is cut and the free body beyond the cut gives what the cut carries; the complementary energy of normal
force, both shears, twist and both bending moments, integrated over every bar, gives displacements by the
unit-load form of the theorem. Supports are six reactions found by statics; more are unknowns of the force method.
The section constants are written out here from the textbook, the rectangle's twist as Saint-Venant's series.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

POISSON = 0.3


@dataclass(frozen=True)
class Bar:
    """A straight bar from one point to another.

    Attributes
    ----------
    start, end : (3,).
    across : (3,) unit vector of its section's first axis; the second is along x across.
    soft : (6,) per length, of normal force, shears along both axes, twist, moments about both axes.
    """

    start: np.ndarray
    end: np.ndarray
    across: np.ndarray
    soft: np.ndarray


@dataclass(frozen=True)
class Push:
    """A unit load: force (3,) and moment (3,) at the chain's point of that number."""

    at: int
    force: tuple[float, float, float] = (0.0, 0.0, 0.0)
    moment: tuple[float, float, float] = (0.0, 0.0, 0.0)


def round_softness(diameter: float, E: float) -> np.ndarray:
    """Give a round section's softness per length; shear by Cowper's coefficient."""
    area, second = np.pi * diameter**2 / 4, np.pi * diameter**4 / 64
    G = E / 2 / (1 + POISSON)
    shear = 6 * (1 + POISSON) / (7 + 6 * POISSON) * G * area
    return 1 / np.array([E * area, shear, shear, 2 * G * second, E * second, E * second])


def rectangle_softness(high: float, wide: float, E: float, torsion: float | None = None) -> np.ndarray:
    """Give a rectangle's, `high` along the first axis; twist by Saint-Venant's series unless it is given."""
    area, G = high * wide, E / 2 / (1 + POISSON)
    shear = 10 * (1 + POISSON) / (12 + 11 * POISSON) * G * area
    twist = G * (saint_venant(high, wide) if torsion is None else torsion)
    return 1 / np.array([E * area, shear, shear, twist, E * high * wide**3 / 12, E * wide * high**3 / 12])


def saint_venant(a: float, b: float) -> float:
    """Give a rectangle's torsion constant (Timoshenko & Goodier, Theory of Elasticity, art. 109; memory)."""
    a, b = max(a, b), min(a, b)
    odd = np.arange(1, 200, 2)
    series = np.sum(np.tanh(odd * np.pi * a / (2 * b)) / odd**5)
    return float(a * b**3 / 3 * (1 - 192 / np.pi**5 * b / a * series))


def flexibility(bars: Sequence[Bar], six: Sequence[Push], pushes: Sequence[Push]) -> np.ndarray:
    """Give (n, n): how far the place of push i moves its own way under push j, held by six reactions."""
    points = [*(b.start for b in bars), bars[-1].end]
    held = np.array([_about_origin(points, p) for p in six]).T
    total = np.zeros((len(pushes), len(pushes)))
    all_loads: list[list[tuple[int, np.ndarray, np.ndarray]]] = []
    for push in pushes:
        sizes = np.linalg.solve(held, -_about_origin(points, push))
        parts = [(push, 1.0), *zip(six, sizes, strict=True)]
        all_loads.append([(p.at, s * np.array(p.force), s * np.array(p.moment)) for p, s in parts])
    # Products of straight lines: two Gauss points a bar are exact.
    for k, bar in enumerate(bars):
        along = bar.end - bar.start
        length = float(np.linalg.norm(along))
        axes = np.array([along / length, bar.across, np.cross(along / length, bar.across)])
        for share in (0.5 - 0.5 / np.sqrt(3), 0.5 + 0.5 / np.sqrt(3)):
            cut = bar.start + share * along
            carried = np.array([_beyond(points, loads, k, cut, axes) for loads in all_loads])
            total += length / 2 * (carried * bar.soft) @ carried.T
    return total


def statics(bars: Sequence[Bar], six: Sequence[Push], push: Push) -> np.ndarray:
    """Give the six reactions (6,) to a unit load."""
    points = [*(b.start for b in bars), bars[-1].end]
    held = np.array([_about_origin(points, p) for p in six]).T
    return np.linalg.solve(held, -_about_origin(points, push))


def forced(flexible: np.ndarray, redundant: int, give: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Give the first pushes' flexibility once the last `redundant` ones are supports, and those' reactions.

    The force method: what the released structure moves at the supports, their forces take back, but for the
    `give` of each.
    """
    n = len(flexible) - redundant
    back = np.linalg.solve(flexible[n:, n:] + give * np.eye(redundant), flexible[n:, :n])
    return flexible[:n, :n] - flexible[:n, n:] @ back, -back


def _about_origin(points: Sequence[np.ndarray], p: Push) -> np.ndarray:
    force = np.array(p.force)
    return np.concatenate([force, np.array(p.moment) + np.cross(points[p.at], force)])


def _beyond(
    points: Sequence[np.ndarray],
    loads: Sequence[tuple[int, np.ndarray, np.ndarray]],
    bar: int,
    cut: np.ndarray,
    axes: np.ndarray,
) -> np.ndarray:
    """Give what the part beyond a cut puts on the part before it (6,), in the bar's axes."""
    force, moment = np.zeros(3), np.zeros(3)
    for at, f, m in loads:
        if at > bar:
            force = force + f
            moment = moment + m + np.cross(points[at] - cut, f)
    return np.concatenate([axes @ force, axes @ moment])


@dataclass(frozen=True)
class Throw:
    """A crank throw: the middle of its pin along the shaft, radius, angle from up towards forward."""

    out: float
    radius: float
    angle: float


@dataclass(frozen=True)
class Built:
    """A built-up crankshaft's measures: diameters, the webs' width, thickness and gap, and Young's modulus."""

    shaft: float
    pin: float
    width: float
    thickness: float
    gap: float
    E: float
    web_torsion: float | None = None

    def chain(self, throws: Sequence[Throw], stops: Sequence[float]) -> tuple[list[Bar], dict[float, int]]:
        """Give its bars from the first to the last of `stops`, and the numbers of points.

        Throws are sorted outwards. Points are known by their place along the shaft: a stop's is on the shaft,
        a throw's in the middle of its pin, and two before and two after it are the middles of its webs.
        """
        half = (self.gap + self.thickness) / 2
        along = np.array([0.0, 1.0, 0.0])
        shaft, pin = round_softness(self.shaft, self.E), round_softness(self.pin, self.E)
        web = rectangle_softness(self.thickness, self.width, self.E, self.web_torsion)
        bars: list[Bar] = []
        number = {stops[0]: 0}
        here = stops[0] * along
        path: list[tuple[np.ndarray, np.ndarray, np.ndarray, float | None]] = []
        for t in throws:
            radial = np.array([np.sin(t.angle), 0.0, np.cos(t.angle)])
            for y in (y for y in stops if here[1] < y < t.out - half):
                path.append((y * along, radial, shaft, y))
            up, (near, far) = t.radius * radial, ((t.out - half) * along, (t.out + half) * along)
            path += [(near, radial, shaft, None), (near + up / 2, along, web, None), (near + up, along, web, None),
                     (t.out * along + up, radial, pin, t.out), (far + up, radial, pin, None),
                     (far + up / 2, along, web, None), (far, along, web, None)]  # fmt: skip
            here = far
        last_across = np.array([1.0, 0.0, 0.0])
        path += [(y * along, last_across, shaft, y) for y in stops if y > here[1]]
        here = stops[0] * along
        for end, across, soft, name in path:
            bars.append(Bar(here, end, across, soft))
            here = end
            if name is not None:
                number[name] = len(bars)
        return bars, number
