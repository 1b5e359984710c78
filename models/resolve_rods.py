"""How rods are made and what their rod ends are, settled."""

import math

from models.rod_making import Ends, Kind, RodMaking, Series
from models.sculpture_rods import RodEnds, Rods
from models.settling import PRACTICE, Settling

STANDARD_MOST = math.radians(17)
"""Swivel above which no standard rod end goes: series K has 13 to 15 deg, at most 17 (read second hand)."""
ROOM = 1.5
"""Diameter of a bar over that of the thread tapped into its end, at least: assumption."""
PRESSURE_SPEEDS: dict[Kind, tuple[str, str]] = {
    "lined": ("0.3 MPa m/s", "steel on fabric with PTFE: a maker's catalogue of spherical plain bearings (read)"),
    "greased": ("0.4 MPa m/s", "that of steel on greased steel in a maker's catalogue of spherical plain bearings "
                "(read); that bronze is no worse: assumption"),
}  # fmt: skip
WEAR = (
    "the worst of many liners with PTFE, .07e-6 to 5.5e-6 mm3/(N m) on steel at room temperature: Royal Aircraft "
    "Establishment, technical report 78063 (read); rain and grit come on top"
)


def rod_making(s: Settling, pin: float) -> RodMaking:
    """Settle how rods are made.

    Parameters
    ----------
    s : takes the values.
    pin : diameter of the crank pins, m, which the rod ends sit on.
    """
    rods, given, usual = s.sculpture.rods or Rods(), s.sculpture.rod_ends or RodEnds(), RodMaking()
    kind = given.kind or usual.kind
    if given.kind is None:
        s.note("rod_ends.kind", kind, "nobody greases a sculpture's rod ends every week; assumption")
    limit, limit_source = PRESSURE_SPEEDS[kind]
    material = s.stock(rods.material, "rods.material", "A36 steel").name
    return RodMaking(
        kind,
        _series(s, given),
        s.stock(given.material, "rod_ends.material", usual.end_material).name,
        s.take(given.wear, "rod_ends.wear", "5.5e-6 mm3/(N m)", "wear", WEAR),
        s.number(given.interval, "rod_ends.interval", usual.interval, "ratio",
                 "years of use between new rod ends; assumption"),
        s.take(given.pressure_speed, "rod_ends.pressure_speed", limit, "pressure_speed", limit_source),
        material,
        _ends(s, rods, pin),
        s.take(rods.eccentric, "rods.eccentric", "1 mm", "length",
               "threads cut a little off the middle and a bar a little bent; assumption"),
        s.number(rods.engagement, "rods.engagement", 2.0 if "aluminium" in material else usual.engagement,
                 "ratio", f"diameters of engaged thread: 1 to 1.5 in steel, 2 in aluminium; {PRACTICE}"),
    )  # fmt: skip


def _series(s: Settling, given: RodEnds) -> Series:
    if given.series is not None:
        return given.series
    wide = given.swivel is not None and given.swivel > STANDARD_MOST
    found: Series = "wide swivel" if wide else "standard"
    s.note(
        "rod_ends.series", found, "from rod_ends.swivel: standard ones have 13 to 17 deg (read second hand)"
    )
    return found


def _ends(s: Settling, rods: Rods, pin: float) -> Ends:
    if rods.ends is not None:
        return rods.ends
    thin = rods.diameter is not None and rods.diameter < ROOM * pin
    found: Ends = "threaded" if thin else "tapped"
    s.note("rods.ends", found, "threaded where the bar is too thin to be tapped for a thread as thick as the crank "
           f"pin, below {ROOM:g} of it; assumption")  # fmt: skip
    return found
