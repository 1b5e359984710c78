"""What carries a piece: the schema of a description's arms, body plate, post, stand and site wind."""

import math
from typing import Annotated

from pydantic import Field, model_validator

from models.fields import (
    AtLeastOne,
    Length,
    Mass,
    OutlineField,
    PositiveLength,
    Slack,
    Stock,
    fault,
)
from models.sculpture_making import RootClass, ToeClass
from models.table import Table

BoltCount = Annotated[int, Field(ge=3, le=24, strict=True)]
FEWEST_FEET = 3


class TubeWeld(Table):
    """A fillet all round a tube or bar: classes of toe and root, its throat, and how cautiously."""

    toe: ToeClass | None = None
    root: RootClass | None = None
    throat: PositiveLength | None = None
    partial: AtLeastOne | None = None


class Bracket(Table):
    """A flat bar from an arm straight to its bearing: width across it (along forward where it stands), thickness
    along the shaft.
    """  # noqa: D205

    width: PositiveLength
    thickness: PositiveLength


class Arm(Table):
    """What carries a crankshaft bearing out from the post: a tube, or with a wall of 0 a solid bar.

    `up` and `forward` are the place of its axis from the crank's axis; it runs level, along the crankshaft.
    """

    outside: PositiveLength
    wall: Slack | None = None
    material: Stock | None = None
    up: Length | None = None
    forward: Length | None = None
    bracket: Bracket | None = None
    weld: TubeWeld | None = None

    @model_validator(mode="after")
    def _has_a_bore(self) -> "Arm":
        if self.wall is not None and 2 * self.wall >= self.outside:
            raise fault(
                "the arm's wall leaves no bore", 'write a wall below half the outside, "0 mm" for a bar'
            )
        return self


class Body(Table):
    """The plate that stands on the post, its face forward, and carries the inner hinges at its edges.

    Width and height of a rectangle about the post's axis, or an outline whose first coordinate counts to the left and
    whose second counts up. `up` is where its lower edge, or the outline's origin, lies over the crank's axis.
    """

    width: PositiveLength | None = None
    height: PositiveLength | None = None
    outline: OutlineField | None = None
    thickness: PositiveLength
    material: Stock | None = None
    up: Length | None = None

    @model_validator(mode="after")
    def _has_one_shape(self) -> "Body":
        sizes = [self.width, self.height]
        if self.outline is None and None in sizes:
            raise fault("the body plate has no shape", "write width and height, or an outline")
        if self.outline is not None and sizes != [None, None]:
            raise fault("the body plate has both a width or height and an outline", "keep one of them")
        return self


class BasePlate(Table):
    """The plate under the post, on its bolts: sides along forward and left, bolts on a circle about the axis."""

    width: PositiveLength
    length: PositiveLength | None = None
    thickness: PositiveLength
    material: Stock | None = None
    bolts: BoltCount
    circle: PositiveLength
    bolt: PositiveLength | None = None

    @model_validator(mode="after")
    def _holds_its_bolts(self) -> "BasePlate":
        if not _fit(self.bolts, self.circle, self.length or self.width, self.width):
            raise fault(
                "the bolt circle is larger than the base plate", "write the diameter of the bolts' circle"
            )
        return self


def _fit(bolts: int, circle: float, length: float, width: float) -> bool:
    """Say whether bolts evenly on a circle all stand on a plate of two sides, turned about as they fit best."""
    steps = 90
    return any(
        all(
            abs(circle * math.cos(math.tau * (k + turn / steps) / bolts)) < length
            and abs(circle * math.sin(math.tau * (k + turn / steps) / bolts)) < width
            for k in range(bolts)
        )
        for turn in range(steps)
    )


class PostMaking(Table):
    """How a post is made, beside its tube."""

    material: Stock | None = None
    cap: PositiveLength | None = None
    base: BasePlate | None = None
    weld: TubeWeld | None = None


class Foot(Table):
    """A foot of a stand: where it meets the floor, from the post's axis or the crankshaft's middle."""

    forward: Length
    out: Length


class Stand(Table):
    """A stand without a foundation: its feet one by one, or the width (left to right) and length (fore and aft)
    over four of them; its mass and how high its centre lies.
    """  # noqa: D205

    foot: list[Foot] = Field(default=[], max_length=24)
    width: PositiveLength | None = None
    length: PositiveLength | None = None
    mass: Mass | None = None
    height: PositiveLength | None = None

    @model_validator(mode="after")
    def _stands_on_something(self) -> "Stand":
        sizes = [self.width, self.length]
        if self.foot and sizes != [None, None]:
            raise fault("the stand has both feet and a width or length", "keep one of them")
        if not self.foot and None in sizes:
            raise fault("nobody says what the stand stands on", "write width and length, or [[stand.foot]]")
        if self.foot and len(self.foot) < FEWEST_FEET:
            raise fault(f"the stand has {len(self.foot)} feet", "write three or more")
        if self.foot and not _encloses([(f.forward, f.out) for f in self.foot]):
            raise fault("the stand's feet lie in one line", "write feet that enclose an area")
        return self


def _encloses(points: list[tuple[float, float]]) -> bool:
    """Say whether some three of the points enclose an area."""
    (x0, y0), *rest = points
    crosses = [(ax - x0) * (by - y0) - (bx - x0) * (ay - y0) for ax, ay in rest for bx, by in rest]
    return max(map(abs, crosses), default=0.0) > 1e-6
