"""What a drive is: the schema of a description's wheel, stages, limiter and couplings.

Places `out` of the drive are along y from the post's axis, positive to the left: it has no two sides.
"""

import re
from typing import Annotated, Literal, cast

from pydantic import Field, field_validator, model_validator

from models.fields import (
    AtLeastOne,
    AtMostOne,
    ChainDamping,
    ChainWeight,
    Efficiency,
    FreeAngle,
    Lean,
    Length,
    Links,
    Mass,
    PositiveForce,
    PositiveLength,
    PositiveTorque,
    Rigidity,
    Slack,
    Stiffness,
    Stock,
    Teeth,
    TorsionalDamping,
    TorsionalStiffness,
    Yes,
    fault,
)
from models.table import Table

APART = 0.02
"""Least distance of two bearings of one shaft, m."""
Bolts = Annotated[int, Field(ge=2, le=48, strict=True)]


class Shaft(Table):
    """A straight shaft of the drive, and the places of its two bearings."""

    diameter: PositiveLength | None = None
    bearings: Annotated[list[Length], Field(min_length=2, max_length=2)] | None = None

    @field_validator("bearings")
    @classmethod
    def _apart(cls, places: list[float] | None) -> list[float] | None:
        if places is not None and abs(places[0] - places[1]) < APART:
            raise fault("the two bearings are in one place", "put them at least 20 mm apart")
        return places


class Rim(Table):
    """A round bar bent to the wheel's diameter."""

    bar: PositiveLength


class Hub(Table):
    """The wheel's hub as a solid disc, and the bolts that hold the wheel to it: how many, on which circle."""

    mass: Mass
    diameter: PositiveLength | None = None
    bolts: Bolts | None = None
    circle: PositiveLength | None = None

    @model_validator(mode="after")
    def _bolts_fit(self) -> "Hub":
        if self.bolts is not None and self.circle is None:
            raise fault(
                "the hub's bolts have no circle", 'write circle = "70 mm" too, the diameter through them'
            )
        if self.circle is not None and self.bolts is None:
            raise fault("the hub has a bolt circle without bolts", "write bolts = 6 too, or remove circle")
        if self.circle is not None and self.diameter is not None and self.circle >= self.diameter:
            raise fault("the hub's bolt circle lies outside the hub", "write a circle below its diameter")
        return self


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
    out: Length | None = None
    shaft: Shaft | None = None
    slip: PositiveTorque | None = None

    @model_validator(mode="after")
    def _fits_its_kind(self) -> "Wheel":
        if self.kind == "disc" and (any(x is not None for x in (self.radius, self.grip, self.arm))):
            raise fault("a disc has no radius, grip or arm of its own", 'write diameter, or kind = "handle"')
        if self.kind == "handle" and any(x is not None for x in (self.diameter, self.thickness, self.rim)):
            raise fault(
                "a handle has no diameter, thickness or rim", 'write radius = "250 mm", or kind = "disc"'
            )
        return self


class Tensioner(Table):
    """A sprung idler on the strand that is slack while the wheel drives forward."""

    force: PositiveForce
    rate: Stiffness
    travel: Slack
    lean: Lean | None = None


class Slips(Table):
    """The torques at which a stage's hubs slip on their shafts."""

    driver: PositiveTorque | None = None
    driven: PositiveTorque | None = None


CHAIN_ONLY = ("links", "slack", "sideways", "tight", "tensioner", "rigidity", "damping", "weight", "chordal",
              "holes", "adjustment", "overlength")  # fmt: skip
TENSIONS = ("slack", "sideways", "tight", "tensioner")


class Stage(Table):
    """A stage of the drive, from the wheel's end."""

    kind: Literal["chain", "direct"] | None = None
    teeth: tuple[Teeth, Teeth]
    pitch: PositiveLength | None = None
    centres: PositiveLength | None = None
    links: Links | None = None
    slack: Slack | None = None
    sideways: Slack | None = None
    tight: PositiveForce | None = None
    tensioner: Tensioner | None = None
    width: PositiveLength | None = None
    rigidity: Rigidity | None = None
    damping: ChainDamping | None = None
    weight: ChainWeight | None = None
    efficiency: Efficiency | None = None
    chordal: Yes | None = None
    out: Length | None = None
    shaft: Shaft | None = None
    slips: Slips | None = None
    holes: Slack | None = None
    adjustment: Slack | None = None
    overlength: AtMostOne | None = None

    @field_validator("slips", mode="before")
    @classmethod
    def _by_name(cls, value: object) -> object:
        """Give the table of two torques that are written as a list, the driver's first."""
        if not isinstance(value, list):
            return value
        pair = cast("list[object]", value)
        if len(pair) != 2:
            raise fault(f"slips has {len(pair)} entries",
                        'write ["40 N m", "60 N m"], the driver\'s first, or { driven = "60 N m" }')  # fmt: skip
        return {"driver": pair[0], "driven": pair[1]}

    @model_validator(mode="after")
    def _is_of_one_kind(self) -> "Stage":
        if self.kind == "direct":
            odd = next((f for f in CHAIN_ONLY if getattr(self, f) is not None), None)
            if odd is not None:
                raise fault(f"a direct stage has no {odd}", f'remove {odd}, or write kind = "chain"')
        given = [f for f in TENSIONS if getattr(self, f) is not None]
        if given == ["slack", "sideways"]:
            raise fault("slack and sideways say the same thing twice",
                        "write one of the two: excess length, or movement to one side")  # fmt: skip
        if len(given) > 1:
            raise fault(f"a chain with {given[-1]} leaves no room for {given[0]}",
                        f"write one of the two, {given[0]} or {given[-1]}")  # fmt: skip
        return self


class Limiter(Table):
    """A torque limiter: in the wheel's hub, or in the driven hub of a stage."""

    at: str
    torque: PositiveTorque

    @field_validator("at", mode="before")
    @classmethod
    def _is_a_hub(cls, at: object) -> object:
        if not (isinstance(at, str) and re.fullmatch(r"wheel|stage [1-9]", at)):
            raise fault(f"{at!r:.40} is no place for a limiter", 'write at = "wheel" or at = "stage 1"')
        return at

    @property
    def place(self) -> int:
        """Number of its stage, 0 at the wheel."""
        return 0 if self.at == "wheel" else int(self.at[-1])


class Coupling(Table):
    """What joins a crankshaft to the centre shaft: as mass and inertia a solid disc.

    `angular` and `parallel` are the misalignments that its maker allows, `length` is that between the two crosses of
    a double-cardan, of each of whose joints `angular` is the limit.
    """

    kind: Literal["clamp", "elastic", "double-cardan"] | None = None
    mass: Mass | None = None
    diameter: PositiveLength | None = None
    stiffness: TorsionalStiffness | None = None
    damping: TorsionalDamping | None = None
    backlash: FreeAngle | None = None
    rated: PositiveTorque | None = None
    service: AtLeastOne | None = None
    angular: FreeAngle | None = None
    parallel: Slack | None = None
    length: PositiveLength | None = None

    @model_validator(mode="after")
    def _is_of_one_kind(self) -> "Coupling":
        kind = self.kind or "clamp"
        if self.length is not None and kind != "double-cardan":
            article = "an" if kind == "elastic" else "a"
            raise fault(f"{article} {kind} coupling has no length between crosses",
                        'remove length, or write kind = "double-cardan"')  # fmt: skip
        if kind == "elastic" and self.stiffness is None:
            raise fault("an elastic coupling needs its stiffness", 'write stiffness = "900 N m/rad"')
        for name in ("stiffness", "damping", "backlash"):
            if kind == "clamp" and getattr(self, name) is not None:
                raise fault(f"a clamp has no {name}", f'remove {name}, or write kind = "elastic"')
            if self.stiffness is None and getattr(self, name) is not None:
                raise fault(f"{name} of a coupling that does not wind up says nothing",
                            f'write stiffness = "5 kN m/rad" too, or remove {name}')  # fmt: skip
        return self
