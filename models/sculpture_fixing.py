"""How what moves is held: the schema of a description's hinges, fasteners and lock."""

from typing import Annotated, Literal

from pydantic import Field, field_validator

from models.fields import AtMostOne, PositiveLength, Stock, WearRate, fault
from models.table import Table

Groups = Annotated[int, Field(ge=2, le=20, strict=True)]
Bolts = Annotated[int, Field(ge=2, le=24, strict=True)]


class Hinges(Table):
    """The panels' hinges, alike on every line: a round pin through knuckles, in groups along the line.

    `span` is the distance of the outermost groups' middles, `share` that distance over the hinge's edge; `knuckle` is
    the length of one knuckle, `gap` the play along the pin between two. Each group's two leaves are held by `bolts` in
    two rows along the line, the first row `reach` from the pin's axis, the second `rows` farther; `pitch` is between
    bolts of a row, `edge` from a bolt's middle to the nearest edge of what it goes through.
    """

    pin: PositiveLength | None = None
    material: Stock | None = None
    count: Groups | None = None
    span: PositiveLength | None = None
    share: AtMostOne | None = None
    knuckles: int | None = None
    knuckle: PositiveLength | None = None
    gap: PositiveLength | None = None
    wear: WearRate | None = None
    leaf: PositiveLength | None = None
    bolts: Bolts | None = None
    bolt: PositiveLength | None = None
    reach: PositiveLength | None = None
    rows: PositiveLength | None = None
    pitch: PositiveLength | None = None
    edge: PositiveLength | None = None

    @field_validator("knuckles")
    @classmethod
    def _ends_alike(cls, knuckles: int | None) -> int | None:
        if knuckles is not None and knuckles not in (3, 5, 7, 9):
            raise fault(f"a group of {knuckles} knuckles leaves an end of the pin without hold",
                        "write knuckles = 3, 5, 7 or 9, so that both ends are in the same leaf")  # fmt: skip
        return knuckles

    @field_validator("bolts")
    @classmethod
    def _in_two_rows(cls, bolts: int | None) -> int | None:
        if bolts is not None and bolts % 2:
            raise fault(f"{bolts} bolts make no two rows alike", "write an even number")
        return bolts


class Fasteners(Table):
    """What is common to the bolts of the piece: the property class of metric ones."""

    grade: Literal["8.8", "A2-70"] | None = None


class Lock(Table):
    """The pin that locks the wings: at the wheel, or at each crankshaft, at a radius from its axis.

    It goes through a plate that turns and through one that does not (single) or one on either side (double); `plate`
    is the thickness of each and `gap` the play between two.
    """

    at: Literal["wheel", "crank"]
    radius: PositiveLength | None = None
    pin: PositiveLength | None = None
    shear: Literal["single", "double"] | None = None
    plate: PositiveLength | None = None
    gap: PositiveLength | None = None
