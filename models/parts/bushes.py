"""Plain bushes: wrapped dry ones with a PTFE lining, and oil-filled sintered bronze."""

from dataclasses import dataclass

from models.parts.catalogue import Column, Family

KINDS = ("dry", "oil-filled")


@dataclass(frozen=True)
class Bush:
    """A size of plain bush.

    Attributes
    ----------
    size, system, source : as of all families.
    kind : "dry" or "oil-filled".
    bore, outside, length : m.
    static, dynamic : pressure on bore times length that it stands at rest and turning, Pa.
    fastest : sliding speed, m/s.
    pv : pressure times sliding speed that it stands without end, Pa m/s.
    wear : depth worn per pressure and sliding way, m3/(N m); None where it is not known.
    depth : of wear at which it is worn out, m; None where that is not known.
    """

    size: str
    system: str
    kind: str
    bore: float
    outside: float
    length: float
    static: float
    dynamic: float
    fastest: float
    pv: float
    wear: float | None
    depth: float | None
    source: str


BUSHES = Family(
    "bushes",
    Bush,
    {
        "kind": Column("text", words=KINDS),
        "bore": Column("length"),
        "outside": Column("length"),
        "length": Column("length"),
        "static": Column("stress"),
        "dynamic": Column("stress"),
        "fastest": Column("speed"),
        "pv": Column("pressure_speed"),
        "wear": Column("wear", open=True),
        "depth": Column("length", open=True),
    },
    "length",
    ("kind", "bore"),
)
