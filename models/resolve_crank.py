"""The crankshaft of a side, settled: bar, webs, bearings and counterweights."""

from itertools import pairwise

from models.mechanism import Cheek, Crankshaft, Panel, Station, Weight
from models.resolve_drive import coupling, post_radius, shaft_diameter
from models.resolve_making import making
from models.sculpture import Bearing
from models.sculpture_drive import APART
from models.settling import Settling

ELEMENTS = 8
"""Pieces into which the distance of two main bearings is cut for bending, at least."""
NEAR_POST = 0.06
"""How far beyond the post's wall its own plate still carries a bearing, m."""


def crankshaft(s: Settling, panels: tuple[Panel, ...], whole: bool) -> Crankshaft:
    """Settle a side's crankshaft.

    Parameters
    ----------
    s : takes the values.
    panels : the side's, whose throws are on it.
    whole : whether to check that nothing on it sits in the same place.
    """
    c = s.sculpture.crank
    shaft = shaft_diameter(s)
    pin = s.take(c.pin if c else None, "crank.pin", "12 mm", "length")
    stock = s.stock(c.material if c else None, "crank.material", "A36 steel")
    web = c.web if c else None
    cheek = Cheek(
        s.take(web.width if web else None, "crank.web.width", "50 mm", "length"),
        s.take(web.thickness if web else None, "crank.web.thickness", "10 mm", "length"),
        s.take(web.gap if web else None, "crank.web.gap", "40 mm", "length"),
        web.outline if web else None,
    )
    places = sorted(p.throw_out for p in panels) or [1.0]
    webs = (places[0] - cheek.half, places[-1] + cheek.half)
    stations = _stations(s, c.bearings if c else None, webs, shaft)
    bearings = tuple(x.out for x in stations)
    weights = tuple(Weight(w.mass, w.radius, w.angle, w.out) for w in (c.counterweight if c else ()))
    if whole and not s.lacking:
        s.faults.extend(_collisions(panels, cheek, bearings))
    return Crankshaft(
        shaft,
        pin,
        stock,
        stations,
        _ends(s, c.ends if c else None, bearings, webs),
        cheek,
        weights,
        coupling(s),
        s.take(c.runout if c else None, "crank.runout", "0 mm", "length", "assumption; measure it"),
        c.runout_angle or 0.0 if c else 0.0,
        bool(c.flexible) if c else False,
        c.elements or ELEMENTS if c else ELEMENTS,
        making(s, stock),
    )


def _stations(
    s: Settling, given: list[Bearing] | None, throws: tuple[float, float], shaft: float
) -> tuple[Station, ...]:
    """Give the bearings; `throws` is where the webs begin and end along the shaft, `shaft` its diameter."""
    if given is None:
        around = (max(0.03, throws[0] - 0.06), throws[1] + 0.06)
        for k, value in enumerate(around, 1):
            s.number(None, f"crank.bearings.{k}", value, "length", "60 mm beyond the webs; assumption")
        tables = [Bearing.at(place) for place in around]
    elif len(given) == 1:
        s.faults.append(
            "crank.bearings: a rigid shaft on 1 bearing has nothing to hold it; "
            "write two places or more, the locating one first"
        )
        tables = [given[0], Bearing.at(given[0].out + 1.0)]
    else:
        tables = given
    innermost = min((t.out for t in tables), key=abs)
    at_post = abs(innermost) <= post_radius(s) + NEAR_POST
    found: list[Station] = []
    for k, t in enumerate(tables, 1):
        usual = "post" if at_post and t.out == innermost else "arm"
        if t.on is None:
            s.note(f"crank.bearings.{k}.on", usual)
        off = t.misaligned
        if t.kind is None:
            s.note(f"crank.bearings.{k}.kind", "bush")
        found.append(
            Station(
                t.out,
                t.on or usual,
                t.stiffness,
                t.clearance or 0.0,
                off.forward or 0.0 if off else 0.0,
                off.up or 0.0 if off else 0.0,
                t.kind or "bush",
                _length(s, t, f"crank.bearings.{k}.length", shaft),
            )
        )
    return tuple(found)


def _length(s: Settling, given: Bearing, name: str, shaft: float) -> float:
    """Give a bearing's length; nothing but a bush's is asked for."""
    if given.kind not in (None, "bush"):
        return given.length or shaft
    return s.number(given.length, name, shaft, "length", "as long as the shaft is thick; assumption")


def _ends(
    s: Settling, given: list[float] | None, bearings: tuple[float, ...], throws: tuple[float, float]
) -> tuple[float, float]:
    """Give where the crankshaft's bar begins and ends; it reaches over its bearings and throws."""
    inner, outer = min(*bearings, throws[0]), max(*bearings, throws[1])
    if given is not None:
        if not s.lacking and not (given[0] <= inner and outer <= given[1]):
            s.faults.append(
                "crank.ends: the bar does not reach over its bearings and throws, from "
                f"{1000 * inner:.0f} to {1000 * outer:.0f} mm; write its two ends, inner first"
            )
        return given[0], given[1]
    # A side's bar begins on its own side of the post's axis.
    start = min(bearings) - 0.06
    start = max(0.0, start) if min(bearings) > 0 else start
    # Throws outside the bearings end the bar: without this it would stop short of their webs.
    around = (min(start, throws[0]), max(max(bearings) + 0.02, throws[1]))
    source = "60 mm before and 20 mm beyond the bearings, and over all throws; assumption"
    for k, value in enumerate(around, 1):
        s.number(None, f"crank.ends.{k}", value, "length", source)
    return around


def _collisions(panels: tuple[Panel, ...], cheek: Cheek, bearings: tuple[float, ...]) -> list[str]:
    """Name throws and bearings that would sit in the same place on the shaft."""
    half = cheek.half
    found: list[str] = []
    by_place = sorted(panels, key=lambda p: p.throw_out)
    for a, b in pairwise(by_place):
        if b.throw_out - a.throw_out < 2 * half:
            found.append(
                f"panel '{b.name}', throw.out: its webs run into those of panel '{a.name}'; "
                f"put the throws at least {2000 * half:.0f} mm apart"
            )
    for place in bearings:
        for p in panels:
            if abs(place - p.throw_out) < half:
                found.append(
                    f"crank.bearings: the bearing at {1000 * place:.0f} mm sits inside the throw of panel "
                    f"'{p.name}'; keep it {1000 * half:.0f} mm or more from {1000 * p.throw_out:.0f} mm"
                )
    if any(b - a < APART for a, b in pairwise(sorted(bearings))):
        found.append("crank.bearings: two bearings are in one place; put them at least 20 mm apart")
    return found
