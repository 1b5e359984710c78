"""How a crankshaft is made and how much it is used: the schema of that part of a description."""

from typing import Annotated

from pydantic import AfterValidator, Field, model_validator

from models.bearing_kinds import bearing_kinds
from models.fields import AtLeastOne, PositiveLength, Sides, WheelSpeed, fault
from models.making import Keyseat as KeyseatKind
from models.table import Table
from models.weld_classes import weld_classes


def _bearing_kind(name: str) -> str:
    known = bearing_kinds()
    if name not in known:
        raise fault(f"there is no bearing of kind '{name[:60]}'", f"write one of: {', '.join(known)}")
    return name


def _weld_class(name: str, place: str) -> str:
    fitting = [w.name for w in weld_classes().values() if w.place == place]
    if name not in fitting:
        raise fault(f"'{name[:60]}' is no weld class of the {place}", f"write one of: {', '.join(fitting)}")
    return name


BearingKind = Annotated[str, AfterValidator(_bearing_kind)]
ToeClass = Annotated[str, AfterValidator(lambda name: _weld_class(name, "toe"))]
RootClass = Annotated[str, AfterValidator(lambda name: _weld_class(name, "root"))]
# More hours than a year has, or centuries, are a slip of the pen; a shaft that sags by a tenth is a spring.
Hours = Annotated[float, Field(gt=0, le=8784, allow_inf_nan=False, strict=True)]
Visits = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False, strict=True)]
Days = Annotated[float, Field(gt=0, le=366, allow_inf_nan=False, strict=True)]
Years = Annotated[float, Field(gt=0, le=200, allow_inf_nan=False, strict=True)]
Sag = Annotated[float, Field(gt=0, le=0.1, allow_inf_nan=False, strict=True)]


class Keyseat(Table):
    """The keyseat at a crankshaft's inner end, for its coupling."""

    kind: KeyseatKind | None = None


class Weld(Table):
    """The welds between webs, shaft and pins: classes of toe and root, thickness of the fillet, how cautiously."""

    toe: ToeClass | None = None
    root: RootClass | None = None
    throat: PositiveLength | None = None
    faces: Sides | None = None
    partial: AtLeastOne | None = None


class Use(Table):
    """How much it is turned, and how far it shall stay from failing: hours a year, or visits a day, days a year and
    turns of the wheel a visit; years, speed of the wheel, safety factor, factor for shock on bought parts, and
    deflection as a share of the distance of two bearings.
    """  # noqa: D205

    hours: Hours | None = None
    visits: Visits | None = None
    turns: Visits | None = None
    days: Days | None = None
    years: Years | None = None
    speed: WheelSpeed | None = None
    margin: AtLeastOne | None = None
    shock: AtLeastOne | None = None
    deflection: Sag | None = None

    @model_validator(mode="after")
    def _says_it_once(self) -> "Use":
        if self.hours is not None and self.visits is not None:
            raise fault("hours a year and visits a day say the same thing twice", "write one of the two")
        if self.days is not None and self.visits is None:
            raise fault("days say nothing without visits a day", "write visits, or remove days")
        return self
