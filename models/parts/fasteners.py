"""Bolts and screws of coarse thread, by property class: areas that carry, and what their material stands."""

from dataclasses import dataclass

from models.parts.catalogue import Column, Family


@dataclass(frozen=True)
class Fastener:
    """A bolt or screw.

    Attributes
    ----------
    size, system, source : as of all families.
    grade : property class, "8.8" (ISO 898-1), "A2-70" (ISO 3506-1) or "grade 5" (SAE J429).
    diameter : nominal, m.
    pitch : of the thread, m.
    tension : tensile stress area, m2: pi/4 (d - .9382 P)^2.
    shear : area at the thread's root, m2, for shear in the thread: pi/4 (d - 1.2269 P)^2 for metric threads.
    proof, ultimate : proof stress (of A2-70 the .2 % strength) and tensile strength, Pa.
    """

    size: str
    system: str
    source: str
    grade: str
    diameter: float
    pitch: float
    tension: float
    shear: float
    proof: float
    ultimate: float

    @property
    def hole(self) -> float:
        """Diameter of its usual hole, m: 1 mm more up to 14 mm, else 2 mm (EN 1090-2, memory); inch sizes alike."""
        return self.diameter + (0.001 if self.diameter < 0.0145 else 0.002)


GRADES = ("8.8", "A2-70", "grade 5")
METRIC_GRADES = ("8.8", "A2-70")
FASTENERS = Family(
    "fasteners",
    Fastener,
    {
        "grade": Column("text", words=GRADES),
        "diameter": Column("length"),
        "pitch": Column("length"),
        "tension": Column("area"),
        "shear": Column("area"),
        "proof": Column("stress"),
        "ultimate": Column("stress"),
    },
    order="diameter",
    groups=("grade",),
)
