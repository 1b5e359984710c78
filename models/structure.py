"""What carries a piece, settled: arms, body plate, how the post is made, a stand, and the site's wind.

None of it moves, and no run depends on it. What a description leaves out is None here: it is said to be not
described and left out, never guessed.
"""

from dataclasses import dataclass

from models.making import Weld
from models.materials import Material
from models.outline import Outline


@dataclass(frozen=True)
class Arm:
    """An arm that carries a crankshaft bearing out from the post.

    Attributes
    ----------
    outside, wall : of its tube, m; a wall of 0 is a solid bar.
    material : its stock.
    up, forward : of its axis from the crank's axis, m.
    bracket : width and thickness along the shaft, m, of the flat bar that reaches straight from its axis to the
        crank's and holds the bearing, its width along forward where it stands upright; None where none is described.
    weld : to the post.
    """

    outside: float
    wall: float
    material: Material
    up: float
    forward: float
    bracket: tuple[float, float] | None
    weld: Weld


@dataclass(frozen=True)
class Body:
    """The plate on the post that carries the inner hinges.

    Attributes
    ----------
    outline : first coordinate to the left from the post's axis, second up from `up`, m.
    thickness, material : of the plate.
    up : where its outline's origin lies over the crank's axis, m.
    """

    outline: Outline
    thickness: float
    material: Material
    up: float


@dataclass(frozen=True)
class BasePlate:
    """The plate under the post.

    Attributes
    ----------
    width, length, thickness : left to right, fore and aft, up, m.
    material : its stock.
    bolts, circle : how many, evenly on a circle of that diameter, m, about the post's axis.
    bolt : nominal diameter, m, or None.
    """

    width: float
    length: float
    thickness: float
    material: Material
    bolts: int
    circle: float
    bolt: float | None


@dataclass(frozen=True)
class PostMaking:
    """How the post is made, beside its tube.

    Attributes
    ----------
    material : its stock.
    cap : thickness, m, of a round plate that closes its top, or None.
    base : the plate under it, or None.
    weld : at its foot.
    """

    material: Material
    cap: float | None
    base: BasePlate | None
    weld: Weld


@dataclass(frozen=True)
class Stand:
    """A stand without a foundation.

    Attributes
    ----------
    feet : forward and left of each, m.
    mass, height : kg, and of its centre above the floor, m, or None where nobody says.
    """

    feet: tuple[tuple[float, float], ...]
    mass: float | None
    height: float | None


@dataclass(frozen=True)
class Structure:
    """What carries a piece.

    Attributes
    ----------
    arm, body, post, stand : as their classes say, or None where they are not described.
    pressure : the structural engineer's design wind pressure, Pa, gusts in it and force coefficients not, or None.
    """

    arm: Arm | None = None
    body: Body | None = None
    post: PostMaking | None = None
    stand: Stand | None = None
    pressure: float | None = None
