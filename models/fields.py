"""The types of a description's fields: quantities with a dimension, counts, names and outlines."""

import math
from fractions import Fraction
from pathlib import Path
from typing import Annotated, Any, cast

from pydantic import AfterValidator, BeforeValidator, Field, InstanceOf, StringConstraints, ValidationInfo
from pydantic_core import PydanticCustomError

from models.dxf import read_outline
from models.materials import material
from models.outline import Outline, outline
from models.units import DescriptionFault, quantity, size_of


def fault(what: str, instead: str) -> PydanticCustomError:
    """Give the error that carries what is wrong and what to write instead."""
    return PydanticCustomError("description", "{what}; {instead}", {"what": what, "instead": instead})


def _dimensional(dimension: str, low: float, high: float, words: str) -> BeforeValidator:
    """Give a validator from text with a unit to an SI number within bounds."""

    def parse(value: object) -> float:
        try:
            number = quantity(value, dimension)
        except DescriptionFault as error:
            raise fault(error.what, error.instead) from None
        if not low <= number <= high:
            raise fault(f"{value!r} is out of range", words)
        return number

    return BeforeValidator(parse)


# The bounds are those of things a person can weld and a visitor can turn, with room to spare; they keep a
# slip of a unit or a zero from turning into a plausible page of numbers.
Length = Annotated[float, _dimensional("length", -100.0, 100.0, "write a length between -100 m and 100 m")]
PositiveLength = Annotated[
    float, _dimensional("length", 1e-4, 100.0, "write a length between 0.1 mm and 100 m")
]
Slack = Annotated[float, _dimensional("length", 0.0, 10.0, "write a length from 0 mm to 10 m")]
Mass = Annotated[float, _dimensional("mass", 0.0, 1e5, "write a mass from 0 kg to 100000 kg")]
PositiveMass = Annotated[float, _dimensional("mass", 1e-4, 1e5, "write a mass from 0.1 g to 100000 kg")]
Angle = Annotated[float, _dimensional("angle", -1e3, 1e3, "write an angle of fewer than 100 turns")]
Torque = Annotated[float, _dimensional("torque", 0.0, 1e5, "write a torque from 0 N m to 100000 N m")]
PositiveTorque = Annotated[
    float, _dimensional("torque", 1e-3, 1e5, "write a torque between 0.001 N m and 100000 N m")
]
PositiveForce = Annotated[
    float, _dimensional("force", 1e-3, 1e6, "write a force between 0.001 N and 1000 kN")
]
Rigidity = Annotated[
    float, _dimensional("force", 1.0, 1e9, "write the force for a strain of one, between 1 N and 1000000 kN")
]
Stiffness = Annotated[
    float, _dimensional("stiffness", 1.0, 1e10, "write a stiffness between 1 N/m and 10000000 kN/m")
]
TorsionalStiffness = Annotated[
    float,
    _dimensional(
        "torsional_stiffness", 1e-2, 1e8, "write a stiffness between 0.01 N m/rad and 100000 kN m/rad"
    ),
]
TorsionalDamping = Annotated[
    float, _dimensional("torsional_damping", 0.0, 1e6, "write a damping from 0 N m s/rad to 1000 kN m s/rad")
]
ChainDamping = Annotated[
    float, _dimensional("time_per_length", 0.0, 1e3, "write a damping from 0 s/m to 1000 s/m")
]
ChainWeight = Annotated[
    float, _dimensional("mass_per_length", 0.0, 100.0, "write a weight from 0 kg/m to 100 kg/m")
]
WearRate = Annotated[
    float, _dimensional("wear", 1e-18, 1e-11, "write a rate between 1e-9 mm3/(N m) and 0.01 mm3/(N m)")
]
PressureSpeed = Annotated[
    float, _dimensional("pressure_speed", 1e3, 1e8, "write a product between 0.001 MPa m/s and 100 MPa m/s")
]
FreeAngle = Annotated[float, _dimensional("angle", 0.0, 1.6, "write an angle from 0 deg to 90 deg")]
Lean = Annotated[float, _dimensional("angle", 0.01, 1.3, "write an angle between 1 deg and 74 deg")]
WheelSpeed = Annotated[
    float, _dimensional("angular_speed", 1e-3, 100.0, "write a speed between 0.01 rpm and 950 rpm")
]
Yes = Annotated[bool, Field(strict=True)]
Efficiency = Annotated[float, Field(gt=0, le=1, allow_inf_nan=False, strict=True)]
AtLeastOne = Annotated[float, Field(ge=1, le=20, allow_inf_nan=False, strict=True)]
AtMostOne = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False, strict=True)]
Gravity = Annotated[
    float, _dimensional("acceleration", 0.1, 100.0, 'write "9.81 m/s2" for anywhere on the ground')
]
Coefficient = Annotated[float, Field(ge=0, le=2, allow_inf_nan=False, strict=True)]
Sides = Annotated[int, Field(ge=1, le=2, strict=True)]
Teeth = Annotated[int, Field(ge=6, le=400, strict=True)]
Elements = Annotated[int, Field(ge=2, le=40, strict=True)]
Links = Annotated[int, Field(ge=10, le=100_000, strict=True)]
WindPressure = Annotated[float, _dimensional("stress", 1.0, 2e4, "write a pressure between 1 Pa and 20 kPa")]
# Names are part of dotted names, of paths in a recorded file, and of lines on a terminal.
Name = Annotated[
    str,
    Field(min_length=1, max_length=60, pattern=r"^[^\p{Cc}\p{Zl}\p{Zp}/.\\]+$"),
    StringConstraints(strip_whitespace=True),
]


def _stock(name: str) -> str:
    try:
        return material(name).name
    except DescriptionFault as error:
        raise fault(error.what, error.instead) from None


Stock = Annotated[str, AfterValidator(_stock)]


def _outline(value: object, info: ValidationInfo) -> Outline:
    """Read an outline from a table: a unit and points, or a DXF file beside the description."""
    if not isinstance(value, dict):
        raise fault(
            "an outline is a table", 'write { unit = "mm", points = [[0, 0], ...] } or { file = "wing.dxf" }'
        )
    table = cast("dict[str, Any]", value)
    unknown = sorted(set(table) - {"unit", "points", "holes", "file"})
    if unknown:
        raise fault(f"an outline has no '{unknown[0]}'", "it takes unit, points and holes, or file and unit")
    unit = table.get("unit")
    if unit is not None and not isinstance(unit, str):
        raise fault("the outline's unit is not a text", 'write unit = "mm"')
    try:
        if "file" in table:
            if "points" in table or "holes" in table:
                raise fault("an outline has both a file and points", "keep one of them")
            context = cast("dict[str, Any]", info.context or {})
            return _plate_sized(read_outline(_beside(table["file"], context.get("folder")), unit))
        if "points" not in table:
            raise fault("the outline has neither points nor a file", "write points = [[0, 0], ...]")
        if unit is None:
            raise fault("the outline does not say its unit", 'write unit = "mm" in front of the points')
        scale = size_of(unit, "length")
        holes = table.get("holes", [])
        if not isinstance(holes, list):
            raise fault("holes is not a list", "write holes = [[[10, 10], [20, 10], [20, 20]]]")
        rings = [_ring(ring, scale) for ring in cast("list[object]", holes)]
        return _plate_sized(outline(_ring(table["points"], scale), rings))
    except DescriptionFault as error:
        raise fault(error.what, error.instead) from None


def _beside(name: object, folder: object) -> Path:
    """Give the path of a file that must lie in the description's folder."""
    if not isinstance(name, str) or not name or "\x00" in name:
        raise fault("the outline's file is not a file name", 'write file = "wing.dxf"')
    if folder is None:
        raise fault("this description has no folder to find the file in", "load it from a file")
    base = Path(str(folder)).resolve()
    try:
        path = (base / name).resolve()
    except (OSError, RuntimeError):  # a link that leads to itself
        raise fault(f"'{name}' leads nowhere", "check the name") from None
    if not path.is_relative_to(base):
        raise fault(f"'{name}' lies outside the description's folder", "put the file beside the description")
    return path


def _ring(points: object, scale: Fraction) -> list[tuple[float, float]]:
    """Give the points of a ring in metres."""
    shape = "each point is two numbers; write [[0, 0], [400, 0], [400, 300]]"
    if not isinstance(points, list):
        raise fault("the points are not a list", shape)
    ring: list[tuple[float, float]] = []
    for k, point in enumerate(cast("list[object]", points), 1):
        pair = cast("list[object]", point) if isinstance(point, list) else []
        numbers = [x for x in pair if isinstance(x, (int, float)) and not isinstance(x, bool)]
        if len(pair) != 2 or len(numbers) != 2:
            raise fault(f"point {k} is not two bare numbers", shape)
        if not all(math.isfinite(n) if isinstance(n, float) else True for n in numbers):
            raise fault(f"point {k} is not two finite numbers", shape)
        # The decimal as written times the exact unit, rounded once: 7 mm and 0.7 cm are the same bits.
        x, y = (float(Fraction(repr(n)) * scale) if abs(n) < 1e9 else float("inf") for n in numbers)
        if not (abs(x) <= 100 and abs(y) <= 100):
            raise fault(f"point {k} is not within 100 m", "check the numbers and the outline's unit")
        ring.append((x, y))
    return ring


def _plate_sized(shape: Outline) -> Outline:
    """Refuse an outline that no shop could cut: its inertia would drown in rounding."""
    spans = [max(axis) - min(axis) for axis in zip(*shape.exterior, strict=True)]
    if min(spans) < 1e-3 or max(spans) > 200:
        size = " by ".join(f"{1000 * span:.3g}" for span in spans)
        raise fault(f"the outline is {size} mm in size", "check the numbers and the unit")
    return shape


OutlineField = Annotated[InstanceOf[Outline], BeforeValidator(_outline)]
