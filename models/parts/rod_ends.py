"""Rod ends: a ball in an eye, with a threaded shank or a tapped hole.

Metric eyes, balls and threads are those of DIN ISO 12240-4, series K. No standard fixes what rod ends carry, nor the
dimensions of inch sizes and of wide-swivel types: the catalogue has cautious generic values, and whoever has a
maker's table should use that.
"""

from dataclasses import dataclass
from typing import Literal

from models.parts.catalogue import Column, Family
from models.parts.threads import Thread
from models.rod_making import KINDS, SERIES, Kind, Series


@dataclass(frozen=True)
class RodEnd:
    """A size of rod end.

    Attributes
    ----------
    size, system : what the trade calls it, by its bore; metric or inch.
    series : "standard" or "wide swivel".
    kind : "lined" or "greased".
    bore : for the pin, m.
    width : of the ball, m.
    housing : width of the eye, m, which is that of the liner.
    ball : its diameter, m.
    head : outside diameter of the eye, m.
    thread : its name.
    thread_diameter, pitch : m.
    thread_length : of a threaded shank, m.
    length : from the ball's middle to the end of a threaded shank, m.
    female_length : from the ball's middle to the face of a tapped shank, m; None where there is none.
    female_depth : usable depth of its thread, m.
    static : radial static rating, N, without any factor.
    dynamic : dynamic rating, N, or None.
    swivel : that the eye allows to either side, rad.
    mass : kg.
    wear_depth : of the liner when it is worn out, m; None where none is known.
    source : of its values.
    """

    size: str
    system: Literal["metric", "inch"]
    series: Series
    kind: Kind
    bore: float
    width: float
    housing: float
    ball: float
    head: float
    thread: str
    thread_diameter: float
    pitch: float
    thread_length: float
    length: float
    female_length: float | None
    female_depth: float | None
    static: float
    dynamic: float | None
    swivel: float
    mass: float
    wear_depth: float | None
    source: str

    @property
    def screw(self) -> Thread:
        """Its thread."""
        return Thread(self.thread, self.thread_diameter, self.pitch, self.system)

    @property
    def seat(self) -> float:
        """Projected area of the ball in its eye, m2."""
        return self.ball * self.housing


ROD_ENDS = Family(
    "rod-ends",
    RodEnd,
    {
        "series": Column("text", words=SERIES),
        "kind": Column("text", words=KINDS),
        "bore": Column("length"),
        "width": Column("length"),
        "housing": Column("length"),
        "ball": Column("length"),
        "head": Column("length"),
        "thread": Column("text"),
        "thread_diameter": Column("length"),
        "pitch": Column("length"),
        "thread_length": Column("length"),
        "length": Column("length"),
        "female_length": Column("length", open=True),
        "female_depth": Column("length", open=True),
        "static": Column("force"),
        "dynamic": Column("force", open=True),
        "swivel": Column("angle"),
        "mass": Column("mass"),
        "wear_depth": Column("length", open=True),
    },
    "bore",
    ("series", "kind"),
)
