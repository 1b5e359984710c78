"""Rolling bearings: deep-groove and self-aligning ball bearings, and inserts for pillow blocks and flange housings."""

from dataclasses import dataclass

from models.bearing_kinds import bearing_kinds
from models.parts.catalogue import Column, Family

BUSH = "bush"
"""Kind of bearing that does not roll."""


@dataclass(frozen=True)
class RollingBearing:
    """A size of rolling bearing.

    Attributes
    ----------
    size, system, source : as of all families; of an insert its bore says the system.
    kind : by its name in `models.bearing_kinds`.
    bore, outside, width : m; width of the inner ring.
    dynamic, static : basic ratings C and C0, N.
    fastest : speed limit, rad/s, or None where none is given.
    """

    size: str
    system: str
    kind: str
    bore: float
    outside: float
    width: float
    dynamic: float
    static: float
    fastest: float | None
    source: str


ROLLING_BEARINGS = Family(
    "rolling-bearings",
    RollingBearing,
    {
        "kind": Column("text", words=tuple(k for k in bearing_kinds() if k != BUSH)),
        "bore": Column("length"),
        "outside": Column("length"),
        "width": Column("length"),
        "dynamic": Column("force"),
        "static": Column("force"),
        "fastest": Column("angular_speed", open=True),
    },
    "dynamic",
    ("kind", "bore"),
)
