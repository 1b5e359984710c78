"""What letting go at every angle and speed comes to, for one wheel or several."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from analysis.questions import closed
from models.loading import DescriptionError
from models.sculpture import Sculpture
from sim.arrays import Array
from sim.barrier import NEAR, swing
from sim.engines.base import EngineError, NotReduced
from sim.many import together
from sim.reduced.quick import Gone, let_go


@dataclass(frozen=True)
class ReleaseMap:
    """All releases of one sculpture.

    Attributes
    ----------
    label : what it is: the wheel's size.
    radius : of rim or grip, m.
    swing : of the potential energy over a turn, J.
    speeds, angles : (s,) wheel speeds, rad/s, and (a,) crank angles, rad, at the release.
    gone : (s * a) what came of each, the angles of the first speed first; a text where it could not be run.
    """

    label: str
    radius: float
    swing: float
    speeds: Array
    angles: Array
    gone: tuple[Gone | str, ...]

    def grid(self, of: Callable[[Gone], float]) -> Array:
        """Give a figure of every release (s, a); NaN where it could not be run."""
        values = [of(g) if isinstance(g, Gone) else float("nan") for g in self.gone]
        return np.array(values).reshape(len(self.speeds), len(self.angles))

    @property
    def rim(self) -> Array:
        """Peak speed of rim or grip (s, a), m/s, either way."""
        return self.grid(lambda g: max(g.peak, g.back) * self.radius)

    @property
    def kick(self) -> Array:
        """Force with which the wheel drives the hand at the release (s, a), N, without friction."""
        return self.grid(lambda g: g.kick / self.radius)

    @property
    def rest(self) -> Array:
        """Time to rest (s, a), s."""
        return self.grid(lambda g: g.rest)

    @property
    def nearest(self) -> Array:
        """How near each came to stalling at a top (s, a), J, negative where it failed it."""
        return self.grid(lambda g: g.nearest)

    @property
    def near(self) -> tuple[Gone, ...]:
        """Releases that all but stalled at a top, so that what came after is anybody's guess, the nearest first."""
        found = [g for g in self.gone if isinstance(g, Gone) and abs(g.nearest) < NEAR * self.swing]
        return tuple(sorted(found, key=lambda g: abs(g.nearest)))

    def joints(self) -> dict[str, tuple[float, Gone]]:
        """Give each joint's largest force, N, and the release that it comes from."""
        worst: dict[str, tuple[float, Gone]] = {}
        for g in (g for g in self.gone if isinstance(g, Gone)):
            for name, force in g.joints.items():
                if name not in worst or force > worst[name][0]:
                    worst[name] = (force, g)
        return worst


@dataclass(frozen=True)
class _Member:
    sculpture: Sculpture
    speed: float
    angles: tuple[float, ...]
    step: float | None


def release_maps(
    variants: Sequence[tuple[str, Sculpture]],
    speeds: Sequence[float],
    angles: int,
    *,
    step: float | None = None,
    done: Callable[[int, int], None] | None = None,
) -> list[ReleaseMap]:
    """Let every variant go at every angle and speed, by the reduced model.

    Parameters
    ----------
    variants : sculptures with what to call them.
    speeds : wheel speeds at the release, rad/s.
    angles : evenly over the crank's turn.
    step : s; by default each run's own.
    done : told how many speeds of how many, over all variants, are finished.

    Raises
    ------
    DescriptionError
        Where a linkage does not close or something is lacking.
    """
    release = tuple(np.linspace(0, 2 * np.pi, angles, endpoint=False).tolist())
    pieces = [closed(v) for _, v in variants]
    members = [_Member(v, s, release, step) for _, v in variants for s in speeds]
    # What is let go fastest takes longest to rest: begun last, it would keep everything waiting.
    found = together(_row, members[::-1], None if done is None else lambda n: done(n, len(members)))[::-1]
    rows = [found[k : k + len(speeds)] for k in range(0, len(found), len(speeds))]
    return [
        ReleaseMap(label, piece.mechanism.wheel.radius, swing(piece), np.array(speeds), np.array(release),
                   tuple(g for row in own for g in row))
        for (label, _), piece, own in zip(variants, pieces, rows, strict=True)
    ]  # fmt: skip


def _row(member: _Member) -> list[Gone | str]:
    piece = closed(member.sculpture)
    found: list[Gone | str] = []
    for angle in member.angles:
        try:
            found.append(let_go(piece, member.speed, angle, member.step))
        except NotReduced as error:
            raise DescriptionError([f"{member.sculpture.source.label}: release map: {error}"]) from None
        except EngineError as error:
            found.append(str(error))
    return found


def table(maps: Sequence[ReleaseMap]) -> list[list[str]]:
    """Give every release of every variant as a line of a table, headings first, in SI units and degrees.

    "Nearest to stalling" is what it had to spare at the top where it had least, or lacked before one: then negative.
    """
    rows = [["wheel", "speed [rad/s]", "crank angle [deg]", "peak rim speed [m/s]", "kick [N]", "time to rest [s]",
             "nearest to stalling [J]", "why not"]]  # fmt: skip
    for m in maps:
        places = [(s, a) for s in m.speeds for a in m.angles]
        figures = zip(places, m.gone, m.rim.flat, m.kick.flat, m.rest.flat, m.nearest.flat, strict=True)
        for (speed, angle), g, *values in figures:
            rows.append([m.label, f"{speed:.6g}", f"{np.degrees(angle):.6g}", *(f"{v:.6g}" for v in values),
                         g if isinstance(g, str) else ""])  # fmt: skip
    return rows
