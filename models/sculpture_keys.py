"""What [keyways] of a description are: where the keys sit, as measured on the bench.

Every angle is positive by the right hand about +y, y pointing to the left wing, as all crank angles are. On the
bench: look along the shaft with its end that is nearer the left wing toward you (a left crankshaft's outer end, a
right one's coupling end, the centre shaft's left end); counter-clockwise is positive. Looked at from the other end,
clockwise is.
"""

from typing import Annotated

from pydantic import Field

from models.fields import Angle, FreeAngle
from models.table import Table


class Keyways(Table):
    """Angles of the keyways: on each crankshaft from the direction of throw angle 0, on the centre shaft from a mark.

    A keyway's angle is that of the line from the axis through the middle of the slot.
    """

    left: Angle
    right: Angle
    centre: Annotated[list[Angle], Field(min_length=2, max_length=2)] | None = None
    measured: FreeAngle | None = None
