"""What the parts of a built-up crankshaft stand, how far it may bend and lean, and where all that comes from."""

from dataclasses import dataclass
from itertools import pairwise

from analysis.finding import Limit
from analysis.shaft_cuts import Part
from analysis.strength.endurance import Endurance, Factor, endurance, equivalent_diameter
from analysis.strength.goodman import Limits
from analysis.strength.notches import PLAIN, Notch, keyseat
from analysis.strength.slopes import BEND, allowed_slope
from analysis.strength.weld_curves import curves
from analysis.strength.welds import CAUTIOUS, PARTIAL
from models.bearing_kinds import bearing_kinds
from models.mechanism import Mechanism, Side, Station
from models.strengths import Strength, strengths
from models.weld_classes import WeldClass, weld_classes
from sim.shaft.crank import web_width

PLAY = Factor(
    "running clearance of a bush over the shaft's diameter", 0.001, "no clearance is given; assumption"
)
WEB_FINISH = "hot rolled"
"""Surface of the flat bar that webs are made of: as it comes; assumption."""


@dataclass(frozen=True)
class Ground:
    """A value that a verdict on a crankshaft rests on.

    Attributes
    ----------
    of : the part.
    name : in words.
    value, dimension : SI.
    source : where it comes from, and how it was seen.
    """

    of: str
    name: str
    value: float
    dimension: str
    source: str


def strength(side: Side) -> Strength | None:
    """Give what a crankshaft's material stands in fatigue, or None where that is not known."""
    return strengths().get(side.crank.material.name)


def stands(side: Side, part: Part) -> Endurance | None:
    """Give the endurance of a part, of bars by their diameter and of webs by that which stands for them."""
    known = strength(side)
    if known is None:
        return None
    c = side.crank
    if part == "web":
        width = min(web_width(side, p) for p in side.panels)
        return endurance(known, equivalent_diameter(width, c.cheek.thickness), WEB_FINISH)
    return endurance(known, c.shaft if part == "shaft" else c.pin, c.making.surface)


def limits(side: Side, part: Part) -> Limits | None:
    """Give what a part stands, or None where its fatigue strength is not known."""
    known, found = strength(side), stands(side, part)
    if known is None or found is None:
        return None
    return Limits(found.limit, known.ultimate, side.crank.material.strength)


def notch(side: Side) -> Notch:
    """Give the notch that the keyseat of a crankshaft is; plain where there is none."""
    known, form = strength(side), side.crank.making.keyseat
    return PLAIN if known is None or form == "none" else keyseat(form, side.crank.shaft, known)


def partial(side: Side) -> Factor:
    """Give the factor by which the classes of a crankshaft's welds are divided."""
    return partial_factor(side.crank.making.weld.partial)


def partial_factor(value: float) -> Factor:
    """Give a factor by which weld classes are divided, with its source."""
    known = {f.value: f for f in PARTIAL.values()} | {CAUTIOUS.value: CAUTIOUS}
    return known.get(value, Factor(CAUTIOUS.name, value, "description"))


def toe(side: Side) -> WeldClass | None:
    """Give the class of the welds' toes, or None where none is known."""
    name = side.crank.making.weld.toe
    return None if name is None else weld_classes()[name]


def root(side: Side) -> WeldClass | None:
    """Give the class of the welds' roots, or None where none or no throat is known."""
    weld = side.crank.making.weld
    return None if weld.root is None or weld.throat is None else weld_classes()[weld.root]


# --- Bending and leaning ---


def slope_limit(side: Side, station: Station) -> Limit:
    """Give the slope of the shaft that a bearing allows, rad.

    A bush whose clearance is not given is taken to have a thousandth of the shaft's diameter.
    """
    given = station.clearance > 0
    clearance = station.clearance if given else PLAY.value * side.crank.shaft
    found = allowed_slope(bearing_kinds()[station.kind], clearance, station.length)
    bush = bearing_kinds()[station.kind].allowed is None
    note = "" if given or not bush else f", {PLAY.value:g} of the diameter: {PLAY.source}"
    return Limit(found.value, "most", f"{bearing_kinds()[station.kind].label}: {found.source}{note}")


def span(side: Side, out: float) -> float:
    """Give the distance, m, of the two bearings next to a place along the shaft; of the nearest two beyond them."""
    places = sorted(s.out for s in side.crank.stations)
    pairs = list(pairwise(places))
    a, b = min(pairs, key=lambda p: max(p[0] - out, out - p[1], 0.0))
    return b - a


def deflection_limit(mechanism: Mechanism, side: Side, out: float) -> Limit:
    """Give how far a crankshaft may bend sideways at a place along it, m."""
    share = mechanism.use.deflection
    source = BEND[1].source if share == BEND[1].value else "description"
    return Limit(share * span(side, out), "most", f"{share:g} of the distance of its bearings; {source}")


# --- Grounds ---


def grounds(mechanism: Mechanism) -> tuple[Ground, ...]:
    """Give every value that verdicts on strength rest on, those of the left side."""
    side = mechanism.sides[0]
    material, known = side.crank.material, strength(side)
    found = [Ground("material", "yield strength", material.strength, "stress", material.source)]
    if known is not None:
        found.append(Ground("material", "ultimate strength", known.ultimate, "stress", known.ultimate_source))
        parts: tuple[Part, ...] = ("shaft", "pin")
        for part in parts:
            found += _endurance(side, part)
        seat = notch(side)
        if seat is not PLAIN:
            found += [Ground(seat.name, f.name, f.value, "ratio", f.source)
                      for f in (*seat.grounds, seat.bending, seat.torsion)]  # fmt: skip
    found += _welds(side)
    use = mechanism.use
    found += [
        Ground("use", "turns of the crank in a year", use.turns(mechanism.reduction), "count",
               f"{use.hours:g} hours of turning"),
        Ground("use", "years", use.years, "ratio", "wanted"),
        Ground("use", "safety factor", use.margin, "ratio", "wanted"),
    ]  # fmt: skip
    for k, station in enumerate(side.crank.stations, 1):
        limit = slope_limit(side, station)
        found.append(Ground(f"bearing {k}", "slope allowed", limit.value, "angle", limit.source))
    bend = deflection_limit(mechanism, side, sum(side.crank.bearings) / 2)
    found.append(Ground("shaft", "deflection allowed at mid-span", bend.value, "length", bend.source))
    return tuple(found)


def _endurance(side: Side, part: Part) -> list[Ground]:
    found = stands(side, part)
    if found is None:
        return []
    s = found.specimen
    cycles = "without end" if found.cycles == float("inf") else f"for {found.cycles:.3g} cycles"
    return [
        Ground(part, s.name, s.value, "stress", s.source),
        *(Ground(part, f.name, f.value, "ratio", f.source) for f in found.factors),
        Ground(part, f"amplitude that it stands {cycles}", found.limit, "stress",
               "the product of these; dry or painted: metal that rusts has no limit"),
    ]  # fmt: skip


def _welds(side: Side) -> list[Ground]:
    factor = partial(side)
    found: list[Ground] = []
    for place, weld in (("toe", toe(side)), ("root", root(side))):
        if weld is None:
            continue
        normal, shear = curves(weld)
        found += [
            Ground(f"weld's {place}", f"{weld.code} class for normal stress, slope {normal.slope:g} and beyond "
                   f"{normal.knee:.3g} cycles {normal.beyond:g}", weld.normal, "stress", weld.source),
            Ground(f"weld's {place}", f"{weld.code} class for shear stress, slope {shear.slope:g}", weld.shear,
                   "stress", weld.source),
        ]  # fmt: skip
    if found:
        found.append(Ground("welds", factor.name, factor.value, "ratio", factor.source))
    return found
