"""Couplings between two shafts by kind, insert and size."""

from dataclasses import dataclass

from models.parts.catalogue import Column, Family

KINDS = {"spider": "elastic", "clamp": "clamp", "double cardan": "double-cardan"}
"""Kinds of the catalogue, and what a description calls them."""


@dataclass(frozen=True)
class CouplingSize:
    """A size of coupling.

    Attributes
    ----------
    size, system, source : as of every part.
    kind : "spider", "clamp" or "double cardan".
    insert : hardness of a spider's elastomer, in words; "none" where there is no insert.
    least_bore, largest_bore : diameters of shaft that it takes, m.
    outside : diameter, m.
    length : between the two crosses of a double cardan, m; else None.
    rated : nominal torque, N m; of a clamp what its friction holds.
    peak : torque that it stands now and then, N m.
    angular, parallel : misalignment that it allows, rad and m; None where the kind allows none, or where it follows
        from the length.
    """

    size: str
    system: str
    kind: str
    insert: str
    least_bore: float
    largest_bore: float
    outside: float
    length: float | None
    rated: float
    peak: float
    angular: float | None
    parallel: float | None
    source: str


COUPLINGS = Family(
    "couplings",
    CouplingSize,
    {
        "kind": Column("text", words=tuple(KINDS)),
        "insert": Column("text"),
        "least_bore": Column("length"),
        "largest_bore": Column("length"),
        "outside": Column("length"),
        "length": Column("length", open=True),
        "rated": Column("torque"),
        "peak": Column("torque"),
        "angular": Column("angle", open=True),
        "parallel": Column("length", open=True),
    },
    "largest_bore",
    ("kind", "insert"),
)
