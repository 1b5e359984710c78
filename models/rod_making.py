"""How rods are made and what their rod ends are, with everything settled: what choosing them hangs on."""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["lined", "greased"]
"""What a rod end's ball runs on: a dry liner with PTFE, or greased bronze."""
Series = Literal["standard", "wide swivel"]
"""Of rod ends."""
KINDS: tuple[Kind, ...] = ("lined", "greased")
SERIES: tuple[Series, ...] = ("standard", "wide swivel")
Ends = Literal["tapped", "threaded"]
"""Of a rod: tapped for rod ends with a threaded shank, or itself threaded for rod ends with a tapped one."""


@dataclass(frozen=True)
class RodMaking:
    """How rods are made.

    Attributes
    ----------
    kind, series : of the rod ends, as in `models.parts.rod_ends`.
    end_material : of the rod ends, by its name in `models.materials`.
    wear : specific wear rate of a liner, m3/(N m).
    interval : years of use between new rod ends.
    pressure_speed : what the rod ends stand lastingly, Pa m/s.
    material : of the rods, by its name in `models.materials`.
    ends : of the rods.
    eccentric : how far off the rod's middle line its load acts, m, friction left out.
    engagement : least length of engaged thread, in diameters.
    """

    kind: Kind = "lined"
    series: Series = "standard"
    end_material: str = "1045 steel"
    wear: float = 5.5e-15
    interval: float = 1.0
    pressure_speed: float = 0.3e6
    material: str = "A36 steel"
    ends: Ends = "tapped"
    eccentric: float = 0.001
    engagement: float = 1.5
