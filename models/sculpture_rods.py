"""Rods and rod ends: the schema of that part of a description."""

from typing import Annotated

from pydantic import Field

from models.fields import Angle, Mass, PositiveLength, PressureSpeed, Slack, Stock, WearRate
from models.rod_making import Ends, Kind, Series
from models.table import Table

# Below half a diameter a thread strips before it breaks in any metal; above four it is never cut.
Engagement = Annotated[float, Field(ge=0.5, le=4, allow_inf_nan=False, strict=True)]
Interval = Annotated[float, Field(gt=0, le=100, allow_inf_nan=False, strict=True)]


class Rods(Table):
    """The bars of the connecting rods, how their ends are made, and how far off their middle they are loaded."""

    diameter: PositiveLength | None = None
    material: Stock | None = None
    ends: Ends | None = None
    eccentric: Slack | None = None
    engagement: Engagement | None = None


class RodEnds(Table):
    """The rod ends, alike at both ends of every rod."""

    mass: Mass | None = None
    ball: PositiveLength | None = None
    clocking: Angle | None = None
    swivel: Angle | None = None
    kind: Kind | None = None
    series: Series | None = None
    material: Stock | None = None
    wear: WearRate | None = None
    pressure_speed: PressureSpeed | None = None
    interval: Interval | None = None
