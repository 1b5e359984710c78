"""What a sculpture is: the schema of a description.

Distances are measured as on the floor: `out` from the post's axis (throws, bearings) or from a panel's own
hinge line (yoke pins), `up` from the crank's axis, `height` from the ground. A description may be partial;
`models.mechanism` says which question needs which field, and fills in what has a default.
"""

import math
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, PrivateAttr, field_validator, model_validator

from models.fields import (
    Angle,
    Coefficient,
    Gravity,
    Length,
    Links,
    Mass,
    Name,
    OutlineField,
    PositiveLength,
    PositiveMass,
    Sides,
    Slack,
    Stock,
    Teeth,
    Torque,
    fault,
)

FARTHEST_GEARED = 100
"""Turns of the wheel for one flap, or the other way round, beyond which nobody cranks."""


class Table(BaseModel):
    """A table of a description: nothing unknown in it, nothing changed after loading."""

    model_config = ConfigDict(extra="forbid", frozen=True)


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


class Throw(Table):
    """A throw of the crankshaft."""

    radius: PositiveLength
    out: Length
    angle: Angle | None = None


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
    lump: Annotated[list[Lump], Field(max_length=50)] = []


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


class Coupling(Table):
    """What joins a crankshaft to the centre shaft, as mass and inertia (a solid disc)."""

    mass: Mass
    diameter: PositiveLength | None = None


class Crank(Table):
    """The crankshaft of a side."""

    height: PositiveLength | None = None
    shaft: PositiveLength | None = None
    pin: PositiveLength | None = None
    material: Stock | None = None
    ends: Annotated[list[Length], Field(min_length=2, max_length=2)] | None = None
    bearings: Annotated[list[Length], Field(min_length=1, max_length=6)] | None = None
    web: Web | None = None
    counterweight: Annotated[list[Counterweight], Field(max_length=50)] = []
    coupling: Coupling | None = None
    runout: Slack | None = None


class Rim(Table):
    """A round bar bent to the wheel's diameter."""

    bar: PositiveLength


class Hub(Table):
    """The wheel's hub as a solid disc."""

    mass: Mass
    diameter: PositiveLength | None = None


class Grip(Table):
    """The grip of a handle."""

    mass: Mass


class Arm(Table):
    """The arm of a handle, as a straight bar from the axis to the grip."""

    mass: Mass


class Wheel(Table):
    """What the visitor turns."""

    kind: Literal["disc", "handle"]
    diameter: PositiveLength | None = None
    thickness: PositiveLength | None = None
    radius: PositiveLength | None = None
    material: Stock | None = None
    height: PositiveLength | None = None
    rim: Rim | None = None
    hub: Hub | None = None
    grip: Grip | None = None
    arm: Arm | None = None

    @model_validator(mode="after")
    def _fits_its_kind(self) -> "Wheel":
        if self.kind == "disc" and (any(x is not None for x in (self.radius, self.grip, self.arm))):
            raise fault("a disc has no radius, grip or arm of its own", 'write diameter, or kind = "handle"')
        if self.kind == "handle" and any(x is not None for x in (self.diameter, self.thickness, self.rim)):
            raise fault(
                "a handle has no diameter, thickness or rim", 'write radius = "250 mm", or kind = "disc"'
            )
        return self


class Stage(Table):
    """A chain stage, from the wheel's end."""

    teeth: tuple[Teeth, Teeth]
    pitch: PositiveLength | None = None
    centres: PositiveLength | None = None
    links: Links | None = None
    slack: Slack | None = None
    width: PositiveLength | None = None


class Post(Table):
    """The tube that carries it all."""

    outside: PositiveLength
    wall: PositiveLength

    @model_validator(mode="after")
    def _has_a_bore(self) -> "Post":
        if 2 * self.wall >= self.outside:
            raise fault("the post's wall leaves no bore", "write a wall below half the outside")
        return self


class Rods(Table):
    """The bars of the connecting rods."""

    diameter: PositiveLength | None = None
    material: Stock | None = None


class RodEnds(Table):
    """The rod ends, alike at both ends of every rod."""

    mass: Mass | None = None
    ball: PositiveLength | None = None
    clocking: Angle | None = None
    swivel: Angle | None = None


class Friction(Table):
    """Coefficients of friction, and a drag that does not depend on load."""

    bush: Coefficient | None = None
    rod_end: Coefficient | None = None
    hinge: Coefficient | None = None
    wheel_drag: Torque | None = None


class Hinges(Table):
    """The panels' hinges."""

    pin: PositiveLength | None = None


class Site(Table):
    """Where it stands."""

    gravity: Gravity | None = None


class PanelDifference(Table):
    """What one panel has that its mirror image has not."""

    thickness: PositiveLength | None = None
    mass: PositiveMass | None = None


class Difference(Table):
    """What one side has that the other has not."""

    key_angle: Angle | None = None
    panel: dict[str, PanelDifference] = {}


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
    stage: Annotated[list[Stage], Field(max_length=6)] = []
    panel: Annotated[list[Panel], Field(max_length=12)] = []
    post: Post | None = None
    rods: Rods | None = None
    rod_ends: RodEnds | None = None
    hinges: Hinges | None = None
    friction: Friction | None = None
    site: Site | None = None
    left: Difference | None = None
    right: Difference | None = None

    _source: Source = PrivateAttr()

    @property
    def source(self) -> Source:
        """Where the description came from, its text and the document as written."""
        return self._source

    @field_validator("panel")
    @classmethod
    def _named_once(cls, panels: list[Panel]) -> list[Panel]:
        names = [p.name for p in panels]
        twice = sorted({n for n in names if names.count(n) > 1})
        if twice:
            raise fault(f"panel '{twice[0]}' is listed twice", "give each panel a name of its own")
        return panels

    @field_validator("stage")
    @classmethod
    def _gears_sensibly(cls, stages: list[Stage]) -> list[Stage]:
        ratio = math.prod((s.teeth[1] / s.teeth[0] for s in stages), start=1.0)
        if not 1 / FARTHEST_GEARED <= ratio <= FARTHEST_GEARED:
            raise fault(f"the chain stages make {ratio:.4g} turns of the wheel for one of the crank",
                        f"choose teeth for at most {FARTHEST_GEARED} : 1 either way")  # fmt: skip
        return stages

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
        return self
