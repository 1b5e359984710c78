"""What a sculpture is: the schema of a description.

Distances are measured as on the floor: `out` from the post's axis (throws, bearings) or from a panel's own
hinge line (yoke pins), `up` from the crank's axis, `height` from the ground. A description may be partial;
`models.mechanism` says which question needs which field, and fills in what has a default.
"""

import math
from pathlib import Path
from typing import Annotated, Any, Literal, cast

from pydantic import (
    BaseModel,
    BeforeValidator,
    Field,
    PrivateAttr,
    ValidationInfo,
    field_validator,
    model_validator,
)

from models.fields import (
    Angle,
    AtLeastOne,
    AtMostOne,
    Coefficient,
    Elements,
    FreeAngle,
    Gravity,
    Length,
    Mass,
    Name,
    OutlineField,
    PositiveLength,
    PositiveMass,
    Sides,
    Slack,
    Stiffness,
    Stock,
    Torque,
    WindPressure,
    Yes,
    fault,
)
from models.making import Finish
from models.sculpture_drive import Coupling, Limiter, Stage, Wheel
from models.sculpture_fixing import Fasteners, Hinges, Lock
from models.sculpture_keys import Keyways
from models.sculpture_making import BearingKind, Keyseat, Use, Weld
from models.sculpture_rods import RodEnds, Rods
from models.sculpture_structure import Arm, Body, PostMaking, Stand
from models.table import Table

FARTHEST_GEARED = 100
"""Turns of the wheel for one flap, or the other way round, beyond which nobody cranks."""


class Lump(Table):
    """A mass fixed to a panel: a yoke, a bracket, an ornament."""

    mass: Mass
    forward: Length = 0.0
    out: Length = 0.0
    above: Length = 0.0


class HingeLine(Table):
    """Where a panel's hinge line is: from the crank's axis for the innermost, else on the panel before."""

    out: Length | None = None
    up: Length | None = None
    above: Length | None = None
    forward: Length | None = None


class YokePin(Table):
    """Where a rod meets its panel, from the panel's own hinge line, and which way its pin lies."""

    out: PositiveLength
    below: Length | None = None
    forward: Length | None = None
    axis: Literal["along", "across"] | None = None


class ThrowMisaligned(Table):
    """How the shaft beyond a throw runs off the line of the shaft before it, as welded: by an offset and an angle,
    both toward a direction that is measured as the throws' angles are.
    """  # noqa: D205

    offset: Slack | None = None
    angle: FreeAngle | None = None
    toward: Angle | None = None


class Throw(Table):
    """A throw of the crankshaft."""

    radius: PositiveLength
    out: Length
    angle: Angle | None = None
    misaligned: ThrowMisaligned | None = None


class Seen(Table):
    """A panel angle observed on a model or wanted, which says on which side the linkage folds."""

    panel: Angle
    crank: Angle = 0.0


class Panel(Table):
    """A wing panel, the rod that moves it and the throw that moves the rod."""

    name: Name
    outline: OutlineField
    thickness: PositiveLength
    material: Stock | None = None
    mass: PositiveMass | None = None
    hinge: HingeLine | None = None
    yoke_pin: YokePin | None = None
    throw: Throw | None = None
    rod: PositiveLength | None = None
    seen: Seen | None = None
    lump: list[Lump] = Field(default=[], max_length=50)


class Web(Table):
    """The cheeks of a throw: a bar from the shaft to the pin, or an outline with its origin on the shaft's
    axis, first coordinate to the right and second toward the pin.
    """  # noqa: D205

    width: PositiveLength | None = None
    thickness: PositiveLength | None = None
    gap: PositiveLength | None = None
    outline: OutlineField | None = None


class Counterweight(Table):
    """A mass on the crankshaft, its angle measured as the throws' angles are."""

    mass: Mass
    radius: PositiveLength
    angle: Angle
    out: Length


class BearingMisaligned(Table):
    """How far a bearing sits off the crank's axis."""

    forward: Length | None = None
    up: Length | None = None


class Bearing(Table):
    """A bearing of the crankshaft: its place, what holds it and how stiffly, how it fits the shaft, and its kind."""

    out: Length
    on: Literal["post", "arm"] | None = None
    stiffness: Stiffness | None = None
    clearance: Slack | None = None
    misaligned: BearingMisaligned | None = None
    kind: BearingKind | None = None
    length: PositiveLength | None = None

    @classmethod
    def at(cls, out: float) -> "Bearing":
        """Give a bearing at a place, m, with all else open."""
        return cls.model_construct(out=out)


def _placed(value: object) -> object:
    """Give the table of a bearing that is written as its place alone."""
    return cast("object", value) if isinstance(value, (dict, Bearing)) else {"out": value}


class Crank(Table):
    """The crankshaft of a side."""

    height: PositiveLength | None = None
    shaft: PositiveLength | None = None
    pin: PositiveLength | None = None
    material: Stock | None = None
    ends: Annotated[list[Length], Field(min_length=2, max_length=2)] | None = None
    bearings: (
        Annotated[list[Annotated[Bearing, BeforeValidator(_placed)]], Field(min_length=1, max_length=6)]
        | None
    ) = None
    web: Web | None = None
    counterweight: list[Counterweight] = Field(default=[], max_length=50)
    coupling: Coupling | None = None
    runout: Slack | None = None
    runout_angle: Angle | None = None
    flexible: Yes | None = None
    elements: Elements | None = None
    surface: Finish | None = None
    keyseat: Keyseat | None = None
    weld: Weld | None = None


class Post(PostMaking):
    """The tube that carries it all, and how it is made; height is that of its top."""

    outside: PositiveLength
    wall: PositiveLength
    height: PositiveLength | None = None

    @model_validator(mode="after")
    def _has_a_bore(self) -> "Post":
        if 2 * self.wall >= self.outside:
            raise fault("the post's wall leaves no bore", "write a wall below half the outside")
        return self


class Friction(Table):
    """Coefficients of friction, a drag that does not depend on load, and how far all of it may be off."""

    bush: Coefficient | None = None
    rod_end: Coefficient | None = None
    hinge: Coefficient | None = None
    bearing: Coefficient | None = None
    wheel_drag: Torque | None = None
    static: AtLeastOne | None = None
    low: AtMostOne | None = None
    high: AtLeastOne | None = None


class Lift(Table):
    """A point from which the piece is hung, from where the crank's axis meets the post's; out is to the left."""

    name: Name
    forward: Length = 0.0
    out: Length = 0.0
    up: Length


class Site(Table):
    """Where it stands, and the design wind pressure there, gusts in it and force coefficients not."""

    gravity: Gravity | None = None
    pressure: WindPressure | None = None


class YokePinDifference(Table):
    """Where one side's yoke pin is and its mirror image's is not."""

    out: PositiveLength | None = None
    below: Length | None = None
    forward: Length | None = None


class ThrowDifference(Table):
    """What one side's throw has that its mirror image has not."""

    radius: PositiveLength | None = None
    out: Length | None = None
    angle: Angle | None = None
    misaligned: ThrowMisaligned | None = None


class PanelDifference(Table):
    """What one panel, with its rod, throw and hinge, has that its mirror image has not: wanted, or as it was built."""

    thickness: PositiveLength | None = None
    mass: PositiveMass | None = None
    hinge: HingeLine | None = None
    yoke_pin: YokePinDifference | None = None
    throw: ThrowDifference | None = None
    rod: PositiveLength | None = None


class Difference(Table):
    """What one side has that the other has not."""

    key_angle: Angle | None = None
    panel: dict[str, PanelDifference] = Field(default={})


class Source(BaseModel):
    """Where a description came from."""

    label: str
    folder: Path | None
    text: str
    document: dict[str, Any]


class Sculpture(Table):
    """A description, in SI units."""

    name: Name
    material: Stock | None = None
    sides: Sides | None = None
    crank: Crank | None = None
    wheel: Wheel | None = None
    stage: list[Stage] = Field(default=[], max_length=6)
    limiter: Limiter | None = None
    panel: list[Panel] = Field(default=[], max_length=12)
    post: Post | None = None
    rods: Rods | None = None
    rod_ends: RodEnds | None = None
    hinges: Hinges | None = None
    friction: Friction | None = None
    lift: list[Lift] = Field(default=[], max_length=20)
    case: list[dict[str, Any]] = Field(default=[])
    site: Site | None = None
    left: Difference | None = None
    right: Difference | None = None
    keyways: Keyways | None = None
    use: Use | None = None
    catalogues: dict[str, str] = Field(default={})
    fasteners: Fasteners | None = None
    lock: Lock | None = None
    arm: Arm | None = None
    body: Body | None = None
    stand: Stand | None = None

    _source: Source = PrivateAttr()

    @property
    def source(self) -> Source:
        """Where the description came from, its text and the document as written."""
        return self._source

    @field_validator("panel", "lift")
    @classmethod
    def _named_once(cls, listed: list[Any], info: ValidationInfo) -> list[Any]:
        names = [x.name for x in listed]
        twice = sorted({n for n in names if names.count(n) > 1})
        if twice:
            what = info.field_name
            raise fault(f"{what} '{twice[0]}' is listed twice", f"give each {what} a name of its own")
        return listed

    @field_validator("stage")
    @classmethod
    def _gears_sensibly(cls, stages: list[Stage]) -> list[Stage]:
        ratio = math.prod((s.teeth[1] / s.teeth[0] for s in stages), start=1.0)
        if not 1 / FARTHEST_GEARED <= ratio <= FARTHEST_GEARED:
            raise fault(f"the chain stages make {ratio:.4g} turns of the wheel for one of the crank",
                        f"choose teeth for at most {FARTHEST_GEARED} : 1 either way")  # fmt: skip
        return stages

    @field_validator("limiter")
    @classmethod
    def _sits_somewhere(cls, limiter: Limiter | None, info: ValidationInfo) -> Limiter | None:
        stages: list[Stage] | None = info.data.get("stage")
        if limiter is None or stages is None or limiter.place <= len(stages):
            return limiter
        hubs = ['"wheel"', *(f'"stage {k}"' for k in range(1, len(stages) + 1))]
        raise fault(f"there is no {limiter.at} to sit at", f"write at = {' or '.join(hubs)}")

    @model_validator(mode="after")
    def _agrees(self) -> "Sculpture":
        names = [p.name for p in self.panel]
        for side in (self.left, self.right):
            for name in side.panel if side else ():
                if name not in names:
                    raise fault(f"a side differs in panel '{name}', which does not exist",
                                f"name one of: {', '.join(names) or 'none is listed'}")  # fmt: skip
        if self.sides == 1 and self.right is not None:
            raise fault("right is given but the sculpture has one side, the left", "remove [right]")
        if self.keyways is None:
            return self
        if self.sides == 1:
            raise fault("keyways are given but the sculpture has one side, which shares its phase with none",
                        "remove [keyways]")  # fmt: skip
        for name, side in (("left", self.left), ("right", self.right)):
            if self.keyways.centre is not None and side is not None and side.key_angle is not None:
                raise fault(f"{name}.key_angle is given beside keyways.centre, from which it follows",
                            f"remove {name}.key_angle, or remove keyways.centre to have it cut for that angle"
                            )  # fmt: skip
        return self
