"""Roller chains of one strand: ASME B29.1's numbers as the inch series, ISO 606's B series as the metric one."""

from dataclasses import dataclass

from models.parts.catalogue import Column, Family, catalogue

OTHER_TOLERANCE = 0.0016
"""Length of a new chain over nominal, at most, as a share, for a pitch that the catalogue lacks: about what half-inch
pitch has; assumption."""
SAME = 0.005
"""Share by which two pitches may differ and be one, as 12.7 mm and 1/2 in written with fewer digits."""


@dataclass(frozen=True)
class Chain:
    """A size of chain.

    Attributes
    ----------
    size, system, source : as of every part.
    pitch : m.
    roller : diameter of the rollers, or of the bushes where there are none, at most, m.
    width : between the inner plates, m.
    height : of the inner plates, at most, m.
    over_pins : width over the pins, at most, m.
    strength : least ultimate tensile strength, N.
    dynamic : least force that a sample stands in the standard's dynamic test, N, or None. It is no working load.
    mass : per length, kg/m.
    overlength : share by which a new chain may be longer than nominal under the measuring load; never shorter.
    measuring : load under which it is measured, N.
    """

    size: str
    system: str
    pitch: float
    roller: float
    width: float
    height: float
    over_pins: float
    strength: float
    dynamic: float | None
    mass: float
    overlength: float
    measuring: float
    source: str


CHAINS = Family(
    "chains",
    Chain,
    {
        "pitch": Column("length"),
        "roller": Column("length"),
        "width": Column("length"),
        "height": Column("length"),
        "over_pins": Column("length"),
        "strength": Column("force"),
        "dynamic": Column("force", open=True),
        "mass": Column("mass_per_length"),
        "overlength": Column("ratio"),
        "measuring": Column("force"),
    },
    "pitch",
)


def of_pitch(pitch: float, rows: tuple[Chain, ...] | None = None) -> tuple[Chain, ...]:
    """Give the chains of a pitch, m; of the project's own catalogue where no rows are given."""
    known = catalogue(CHAINS) if rows is None else rows
    return tuple(c for c in known if abs(c.pitch - pitch) <= SAME * pitch)


def overlength(pitch: float) -> tuple[float, str]:
    """Give the share by which a new chain of a pitch, m, may be longer than nominal, and its source."""
    found = max(of_pitch(pitch), key=lambda c: c.overlength, default=None)
    if found is None:
        return OTHER_TOLERANCE, "as about half-inch pitch; assumption"
    inch = found.overlength * 12
    return found.overlength, (
        f"+{inch:.2g} in/ft, {100 * found.overlength:.2g} %, never shorter, chain {found.size}; ASME B29.1 table, read"
        if found.system == "inch"
        else f"+{100 * found.overlength:.2g} %, never shorter, chain {found.size}; ISO 606, memory"
    )
