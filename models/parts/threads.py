"""Screw threads of 60 degrees: the areas and diameters that strength is reckoned with."""

import math
from dataclasses import dataclass
from typing import Literal

MEAN = {"metric": 0.938194, "inch": 0.9743}
"""Pitches by which the diameter of the stress area is below the major one: ISO 898-1, and ASME B1.1 (memory)."""
ROOT = 1.226869
"""Pitches by which the diameter at the root is below the major one: ISO 724 and 898-1, d3 (memory)."""


@dataclass(frozen=True)
class Thread:
    """An external thread.

    Attributes
    ----------
    name : as the trade writes it, such as "M12" or "1/2-20 UNF".
    diameter : major, m.
    pitch : m.
    system : of measures: "metric" or "inch".
    """

    name: str
    diameter: float
    pitch: float
    system: Literal["metric", "inch"] = "metric"

    @property
    def stress_diameter(self) -> float:
        """Diameter of a round bar that is as strong in tension, m."""
        return self.diameter - MEAN[self.system] * self.pitch

    @property
    def stress_area(self) -> float:
        """Tensile stress area, m2: pi/4 (d - .9382 P)^2 of ISO 898-1, or with .9743 of ASME B1.1 (memory)."""
        return math.pi / 4 * self.stress_diameter**2

    @property
    def root(self) -> float:
        """Diameter at the root, m, where fatigue cracks begin."""
        return self.diameter - ROOT * self.pitch
