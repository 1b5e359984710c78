"""What the excess of a chain does: how it lies, hangs and gives, and what takes it up.

Lengths are metres, forces newtons. A strand is a flat parabola under its weight, or two straight halves under a push
at its middle. `excess` is chain length beyond what the loop needs, `span` the free length of a strand, `rigidity` its
force over elongation per length E A, `weight` its weight per length, N/m.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from scipy.optimize import brentq  # pyright: ignore[reportUnknownVariableType]

from sim.chain import centres_for_links, loop_length, sideways_from_excess, span


def hung_stretch(weight: float, length: float, rigidity: float) -> float:
    """Give how much a hung strand is longer by its own weight, m: w L^2 / (2 E A) (mechanics of materials).

    Parameters
    ----------
    weight : N/m.
    length : m.
    rigidity : N.
    """
    return weight * length**2 / (2 * rigidity)


def stretch(force: float, length: float, rigidity: float) -> float:
    """Give how much a strand is longer by a pull, m: T L / (E A)."""
    return force * length / rigidity


def flat_pull(weight: float, across: float, sag: float) -> float:
    """Give the level pull, N, in a level strand that sags under its weight: the parabola's w s^2 / (8 f)."""
    return weight * across**2 / (8 * sag)


def catenary_sag(excess: float, across: float) -> float:
    """Give the sag of a level hanging chain, m, exactly: a (cosh(s/2a) - 1) with 2 a sinh(s/2a) = s + excess.

    Parameters
    ----------
    excess : above 0.
    across : between two points at one height, m.
    """
    # u = s/2a: sinh(u)/u = 1 + e/s has one root above 0, and none beyond sqrt(6 e/s).
    ratio = excess / across
    u = _root(lambda x: math.sinh(x) / x - 1 - ratio, 1e-9, math.sqrt(6 * ratio) + 1e-6)
    return across / (2 * u) * (math.cosh(u) - 1)


def pushed(excess: float, across: float, length: float, rigidity: float, push: float) -> float:
    """Give how far the middle of a strand goes to one side under a light push, m.

    Two straight halves, 2 sqrt((s/2)^2 + y^2) = s + e + T L / (E A), with T = P / (2 sin) from the two halves' tilt.
    The strand takes the whole excess, and the push pulls the whole loop, as the sprockets can turn; the chain's weight
    is left out.

    Parameters
    ----------
    excess : m; below 0 where the chain is set tight, by what its tension stretches it, T L / (E A).
    across : span of the strand, m.
    length : of the loop, m.
    rigidity : N.
    push : square to the strand at its middle, N.
    """
    half = across / 2

    def over(y: float) -> float:
        slanted = math.hypot(half, y)
        return 2 * (slanted - half) - excess - stretch(push * slanted / (2 * y), length, rigidity)

    return _root(over, 1e-9, across + max(0.0, excess))


def lifting(aside: float, weight: float) -> float:
    """Give about how much of a push on a hung strand only lifts chain, N: 2 w y.

    Pushed aside by y it draws up 2 y^2 / s of the chain that hangs below; its lower half rises by three quarters of
    that on average, its upper half by a quarter, which is w y^2 of work.

    Parameters
    ----------
    aside : movement of the middle, m.
    weight : N/m.
    """
    return 2 * weight * aside


def _root(of: Callable[[float], float], low: float, high: float) -> float:
    return float(brentq(of, low, high, xtol=1e-14))  # pyright: ignore[reportUnknownArgumentType, reportArgumentType]


@dataclass(frozen=True)
class Slack:
    """What adds to the excess of one chain at one centre distance, m of chain length.

    Attributes
    ----------
    links : number of them.
    centres, span, length : of axes, of a strand, and of the nominal chain.
    per_centre : chain length that a metre of centre distance takes.
    left : what the choice of links leaves over at the nominal centres; below 0 where they do not reach.
    holes : what the centres' tolerance adds or takes.
    new : what a new chain at full tolerance adds.
    hung : stretch of both strands by their own weight; 0 for a level run.
    working : stretch of the taut strand by the working pull; what the other one gets.
    worn : what wear to its limit adds.
    """

    links: int
    centres: float
    span: float
    length: float
    per_centre: float
    left: float
    holes: float
    new: float
    hung: float
    working: float
    worn: float

    @property
    def nominal(self) -> float:
        """Excess as drawn: links alone, and the strands' own weight."""
        return self.left + self.hung

    @property
    def least(self) -> float:
        """A new chain of nominal length, and holes farther apart by all their tolerance."""
        return self.nominal - self.holes

    @property
    def half(self) -> float:
        """A new chain at half its tolerance."""
        return self.nominal + self.new / 2

    @property
    def most(self) -> float:
        """A new chain at full tolerance, and holes nearer by all of theirs."""
        return self.nominal + self.holes + self.new

    @property
    def old(self) -> float:
        """The same chain worn to its limit."""
        return self.most + self.worn

    def sideways(self, excess: float) -> float:
        """Give the movement at mid-span, m, when one strand takes an excess; 0 where there is none."""
        return float(sideways_from_excess(max(0.0, excess), self.span))

    def apart(self, excess: float) -> float:
        """Give how far the shafts have to go apart to take up an excess, m."""
        return excess / self.per_centre


def even_links(teeth: tuple[int, int], pitch: float, centres: float) -> int:
    """Give the even number of links whose tight centre distance is nearest to one, m."""
    return 2 * max(3, round(float(loop_length(*teeth, pitch, centres)) / pitch / 2))


def slack(
    teeth: tuple[int, int],
    pitch: float,
    links: int,
    centres: float | None = None,
    *,
    left: float | None = None,
    holes: float,
    overlength: float,
    wear: float,
    rigidity: float,
    weight: float,
    pull: float,
    upright: bool,
) -> Slack:
    """Give what adds to the excess of a chain.

    Parameters
    ----------
    teeth : of both sprockets.
    pitch : m.
    links : number of them.
    centres : m; those at which the links have no slack where None.
    left : excess at the nominal centres, m; what the links leave over where None.
    holes : how much the centres may be off, either way, m.
    overlength, wear : shares of the length.
    rigidity : E A, N.
    weight : N/m.
    pull : working pull of the taut strand, N.
    upright : whether the strands hang.

    Raises
    ------
    ChainFault
        If the sprockets do not clear each other with these links, or at these centres.
    """
    at = centres_for_links(*teeth, pitch, links) if centres is None else centres
    length, free = links * pitch, float(span(*teeth, pitch, at))
    step = 1e-6 * at
    rate = float(loop_length(*teeth, pitch, at + step) - loop_length(*teeth, pitch, at - step)) / (2 * step)
    if left is None:
        left = 0.0 if centres is None else length - float(loop_length(*teeth, pitch, at))
    return Slack(
        links=links,
        centres=at,
        span=free,
        length=length,
        per_centre=rate,
        left=left,
        holes=rate * holes,
        new=overlength * length,
        hung=2 * hung_stretch(weight, free, rigidity) if upright else 0.0,
        working=stretch(pull, free, rigidity),
        worn=wear * length,
    )
