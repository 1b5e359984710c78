"""The thinnest bars in stock that will do for shaft and pins of a crankshaft, and what keeps them from being thinner.

A turn standing still, in closed form, with the piece's own loads on the pins; the shaft's and the pins' own weights
follow their diameters, while webs, welds, bearings, counterweights and all lengths stay as they are described. What
welding left and bearings off line count for stress and slopes, not for deflection: no diameter mends them.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache

import numpy as np

from analysis.finding import Finding
from analysis.shaft_limits import deflection_limit, slope_limit
from analysis.shaft_stations import Stressed, stations
from analysis.strength.stock import Choice, smallest
from models.bearing_kinds import bearing_kinds
from models.mechanism import Mechanism, Off, Side
from models.shown import shown
from models.stock import StockSize, System, shaft_stock
from sim.builders import Linkage
from sim.shaft.bending import Bent
from sim.shaft.crank import bearing, throw, web_width
from sim.shaft.loading import Loading, standing_still

TURN = np.linspace(0, 2 * np.pi, 120, endpoint=False)
"""Crank angles, rad: what peaks between two of them is missed by .04 % where it goes once a turn."""
SYSTEMS: tuple[System, ...] = ("metric", "inch")
ALIGNING = "self-aligning ball"
"""Kind of bearing that is tried where the shaft leans too much for those described."""
SLOPE = "slope in "
SHAFT = "thinnest stock for the shaft"
PIN = "thinnest stock for the pins"
NONE = "stock for shaft and pins"
CASE = "standing still"
SOURCE = "closed-form statics, the built-up crankshaft as a frame"
KEPT = "webs, welds and lengths as described"
PARTS = {"shaft": "shaft", "pin": "pins", "web": "webs"}


@dataclass(frozen=True)
class Bars:
    """Bars in stock for a crankshaft.

    Attributes
    ----------
    system : of measures.
    bearings : kind of bearing that the shaft is taken to run in everywhere, or "" for those described.
    shaft : the thinnest for the shaft, pins as described.
    pin : the thinnest for the pins, shaft as described.
    together : the thinnest pins with which any shaft will do; None where none of them will, not even the thickest.
    with_it : the shaft for those; for the thickest pins where none will do.
    governs : the limit that the next thinner pins break by most with the thickest shaft; "" where there are none.
    thinner : that choice of a shaft for the next thinner pins, or None.
    """

    system: System
    bearings: str
    shaft: Choice
    pin: Choice
    together: StockSize | None
    with_it: Choice
    governs: str
    thinner: Choice | None = None


def bars(closed: Linkage, system: System, bearings: str = "") -> Bars:
    """Choose the bars of a sculpture's crankshafts, alike on both sides.

    Parameters
    ----------
    closed : the sculpture.
    system : of measures.
    bearings : kind of bearing, by its name in `models.bearing_kinds`, to run in; those described by default.

    Raises
    ------
    ValueError
        When its webs are narrower than any bar in stock.
    """
    sizes, margins = _sizes(closed, system), _Margins(closed, bearings)
    c = closed.mechanism.sides[0].crank
    shaft = margins.thinnest(sizes, lambda d: (d, c.pin))
    pin = margins.thinnest(sizes, lambda d: (c.shaft, d))
    thickest = margins.thinnest(sizes, lambda d: (d, sizes[-1].diameter))
    if thickest.size is None:
        return Bars(system, bearings, shaft, pin, None, thickest, thickest.governs)
    thinner: Choice | None = None
    for size in sizes:
        found = margins.thinnest(sizes, lambda d, p=size.diameter: (d, p))
        if found.size is not None:
            return Bars(
                system, bearings, shaft, pin, size, found, thinner.governs if thinner else "", thinner
            )
        thinner = found
    raise AssertionError("the thickest pins did before")


def of_linkage(closed: Linkage) -> list[Finding]:
    """Give the thinnest bars in stock for shaft and pins, in metric and in inch sizes.

    Where the slope in the bearings is all that stands against any of them, they are given for bearings that align
    themselves.
    """
    found: list[Finding] = []
    for system in SYSTEMS:
        found += _findings(closed.mechanism, thinnest(closed, system))
    return found


@lru_cache(maxsize=16)
def thinnest(closed: Linkage, system: System) -> Bars:
    """Give the bars of `bars` for the bearings described, or else for such as align themselves.

    Kept, since it takes many seconds and the parts schedule asks for it again.

    Parameters
    ----------
    closed, system : as of `bars`.
    """
    chosen = bars(closed, system)
    if chosen.together is None and chosen.governs.startswith(SLOPE):
        return bars(closed, system, ALIGNING)
    return chosen


def described(closed: Linkage) -> Mapping[str, float]:
    """Give the margins of the crankshafts as they are described, by the limit's name; 0 or more holds.

    Parameters
    ----------
    closed : the sculpture.
    """
    c = closed.mechanism.sides[0].crank
    return _Margins(closed, "").all(c.shaft, c.pin)


def _findings(mechanism: Mechanism, chosen: Bars) -> list[Finding]:
    where, c = f"crankshafts, {chosen.system} bar", mechanism.sides[0].crank
    inside = ""
    if chosen.bearings:
        inside = f", in {bearing_kinds()[chosen.bearings].label}s, since no bar is stiff enough for those described"
    shaft, pins = chosen.with_it, chosen.together
    if pins is None or shaft.size is None:
        note = (
            f"no bar will do{inside}, not even the thickest: {_short(shaft.margins, chosen.governs)}; {KEPT}"
        )
        return [Finding(NONE, 1.0, "fault", where, CASE, source=SOURCE, note=note)]
    with_pins = f"with pins of {pins.label}{inside}"
    thinner = (
        f"too thin is {shaft.smaller.label}, {_short(shaft.smaller_margins, shaft.governs)}"
        if shaft.smaller
        else ""
    )
    alone = (_alone("shaft", chosen.shaft, f"pins of {shown(c.pin, 'length')}"),
             _alone("pins", chosen.pin, f"a shaft of {shown(c.shaft, 'length')}"))  # fmt: skip
    words = [w for w in (f"{shaft.size.label} {with_pins}", thinner, *alone, KEPT) if w]
    why = f"{pins.label}; what thinner ones lack is {chosen.governs}" if chosen.governs else pins.label
    return [
        Finding(SHAFT, shaft.size.diameter, "length", where, CASE, source=SOURCE, note="; ".join(words)),
        Finding(PIN, pins.diameter, "length", where, CASE, source=SOURCE, note=f"{why}{inside}; {KEPT}"),
    ]


def _alone(what: str, choice: Choice, beside: str) -> str:
    if choice.size is None:
        return f"with {beside} no {what} will do, {_short(choice.margins, choice.governs)}"
    return f"with {beside} {what} of {choice.size.label}"


def _short(margins: Mapping[str, float], limit: str) -> str:
    """Say how far what a limit allows is below what is there."""
    return f"{limit} {100 * -margins[limit]:.2g} % short"


def _sizes(closed: Linkage, system: System) -> tuple[StockSize, ...]:
    """Give the sizes that leave room for a weld all round on every web."""
    width = min(web_width(s.side, p) for s in closed.sides for p in s.side.panels)
    found = tuple(s for s in shaft_stock(system) if s.diameter < width)
    if not found:
        raise ValueError(
            f"no bar in stock is thinner than the webs are wide, {1000 * width:.3g} mm; widen them"
        )
    return found


class _Margins:
    """The margins of a sculpture's crankshafts by the diameters of shaft and pins; each is found once.

    A margin is what is allowed over what is there, less 1: 0 or more holds, 1 is twice as good as needed.
    """

    def __init__(self, closed: Linkage, bearings: str) -> None:
        self.mechanism = closed.mechanism
        alike: dict[Side, Loading] = {}
        for s in closed.sides:
            # A right side that mirrors the left one carries the same.
            loading = standing_still(s, closed.mechanism, TURN)
            alike.setdefault(
                replace(s.side, name="", sign=1), replace(loading, side=_running(s.side, bearings))
            )
        self.loadings = tuple(alike.values())
        self.stiff: Callable[[float, float], Mapping[str, float]] = cache(self._stiff)
        self.strong: Callable[[float, float], Mapping[str, float]] = cache(self._strong)

    def all(self, shaft: float, pin: float) -> Mapping[str, float]:
        """Give all margins by name of the limit."""
        return {**self.stiff(shaft, pin), **self.strong(shaft, pin)}

    def hold(self, shaft: float, pin: float) -> bool:
        """Say whether all hold: stiffness, which is quicker to know, is asked first."""
        return all(m >= 0 for m in self.stiff(shaft, pin).values()) and all(
            m >= 0 for m in self.strong(shaft, pin).values()
        )

    def thinnest(self, sizes: tuple[StockSize, ...], bar: Callable[[float], tuple[float, float]]) -> Choice:
        """Choose among sizes; `bar` gives the diameters of shaft and pins for one of them.

        Only at the size chosen and at the next thinner one is every margin found, however small the first ones are.
        """
        k = next((k for k, s in enumerate(sizes) if self.hold(*bar(s.diameter))), len(sizes) - 1)
        near = sizes[max(0, k - 1) : k + 1] if self.hold(*bar(sizes[k].diameter)) else sizes[k:]
        return smallest(near, lambda d: self.all(*bar(d)))

    def _stiff(self, shaft: float, pin: float) -> dict[str, float]:
        found: dict[str, float] = {}
        for loading in self.loadings:
            side = _with(loading.side, shaft, pin)
            _lower(found, _bending(self.mechanism, loading.shape(_straight(side))))
            _lower(found, _leaning(loading.shape(side)))
        return found

    def _strong(self, shaft: float, pin: float) -> dict[str, float]:
        found: dict[str, float] = {}
        for loading in self.loadings:
            shape = loading.shape(_with(loading.side, shaft, pin))
            for row in stations(loading, self.mechanism, slice(None), shape):
                _lower(found, _holding(row, self.mechanism.use.margin))
        return found


def _lower(found: dict[str, float], more: Mapping[str, float]) -> None:
    for name, margin in more.items():
        found[name] = min(found.get(name, np.inf), margin)


def _running(side: Side, bearings: str) -> Side:
    """Give a side in bearings of a kind, or as it is described for ""."""
    if not bearings:
        return side
    kept = tuple(replace(s, kind=bearings) for s in side.crank.stations)
    return replace(side, crank=replace(side.crank, stations=kept))


def _with(side: Side, shaft: float, pin: float) -> Side:
    return replace(side, crank=replace(side.crank, shaft=shaft, pin=pin))


def _straight(side: Side) -> Side:
    """Give a side whose crankshaft is straight, its bearings in line and without play: it bends by load alone."""
    true = tuple(replace(s, clearance=0.0, forward=0.0, up=0.0) for s in side.crank.stations)
    panels = tuple(replace(p, off=Off()) for p in side.panels)
    return replace(side, panels=panels, crank=replace(side.crank, stations=true, runout=0.0))


def _bending(mechanism: Mechanism, shape: Bent) -> dict[str, float]:
    """Give the margins of the deflection of the shaft, wherever along it, and of the throws."""
    side, nodes = shape.crank.side, shape.crank.frame.nodes

    def margin(node: int) -> float:
        moved = float(np.hypot(*shape.deflection(node)[:, [0, 2]].T).max())
        return _over(deflection_limit(mechanism, side, float(nodes[node, 1])).value, moved)

    on = (k for k, there in enumerate(shape.crank.on_shaft) if there)
    return {
        "deflection of the shaft": min(map(margin, on)),
        "deflection of the throws": min(margin(shape.crank.node(throw(p.name))) for p in side.panels),
    }


def _leaning(shape: Bent) -> dict[str, float]:
    side = shape.crank.side
    return {
        f"{SLOPE}{bearing(k)}": _over(
            slope_limit(side, station).value, float(shape.slope(shape.crank.node(bearing(k))).max())
        )
        for k, station in enumerate(side.crank.stations, 1)
    }


def _holding(row: Stressed, wanted: float) -> dict[str, float]:
    """Give the margins of a station, named by its part."""
    of = PARTS[row.part]
    found = {f"yielding of the {of}": row.yielding.factor / wanted - 1}
    if row.fatigue is not None:
        name = "fatigue of the keyseat" if row.kind == "keyseat" else f"fatigue of the {of}"
        found[name] = row.fatigue.factor / wanted - 1
    if row.weld is not None:
        found[f"welds on the {of}"] = row.weld.reserve - 1
    return found


def _over(allowed: float, there: float) -> float:
    return allowed / there - 1 if there > 0 else np.inf
