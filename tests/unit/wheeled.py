"""Rows of wheels made by hand."""

from dataclasses import replace

from analysis.reach import RANGES
from analysis.wheel_place import Place
from analysis.wheel_row import Free, Gone, Started, Turned, WheelRow
from analysis.wheels import Comparison, LeftOut, label

NAN = float("nan")


def row(
    diameter: float, mass: float, *, rim: float = 3.0, force: float = 20.0, torque: float = 6.0
) -> WheelRow:
    """Give a disc of 12 mm that goes round by itself and fails at nothing."""
    turned = Turned(6.0, torque, force, 12.0)
    return WheelRow(
        label(diameter, 0.012), diameter, 0.012, mass, 2.5, replace(turned, speed=1.0), turned,
        Started((15.0, 18.0, 25.0), "child of 3"), Started((16.0, 19.0, 26.0), "child of 4"),
        Free(2.1, 73.8, 50.9, 5.7, 6.3, 7.2, 0.1, 3.1, (3.3, 3.6, 4.2), "goes round"),
        Gone(8.0, rim, 0.785, 61.0, 44.0, 66.0, 0.4),
        Place(0.5, 1.3, {name: 0.5 for name, _, _ in RANGES}, 0.107, "post", ()), 0.004,
    )  # fmt: skip


def comparison(*rows: WheelRow, left_out: tuple[LeftOut, ...] = ()) -> Comparison:
    """Give wheels side by side at 60 rpm."""
    return Comparison("Harbour manta", 6.283185307179586, 8, rows, left_out)
