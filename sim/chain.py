"""Roller chain geometry on two sprockets: lengths, centres, slack, wrap.

Lengths are metres, angles radians, teeth and links counts. The chain is new, of nominal length and unloaded:
what its tolerance, wear and stretch add is for whoever asks. It lies on the pitch polygons of its sprockets,
one tooth holding exactly one pitch, and runs straight between them.

Arguments of one name mean the same everywhere: `teeth`, `teeth_a`, `teeth_b` numbers of teeth, in either
order; `pitch` the chain's pitch, m; `centres` the distance between the axes, m; `links` the pitches in the
loop. Where the type is `Real` a number gives a number, and an array of any shape an array of that shape.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.sprocket import Real, pitch_radius, sprocket_outside_diameter

AGREEMENT = 1e-4
"""How far (m) centres, links and excess given together may disagree: figures rounded on a drawing."""

_ROUNDING = 1e-9
"""Share of a pitch below which a difference is arithmetic, not chain."""

# Numpy's own signatures forget that for a number they give a number.
_sin: Callable[[Any], Any] = np.sin
_cos: Callable[[Any], Any] = np.cos
_sqrt: Callable[[Any], Any] = np.sqrt


class ChainFault(ValueError):
    """A chain that cannot be: `what` is wrong, with the figures, and what to write `instead`."""

    def __init__(self, what: str, instead: str):
        super().__init__(f"{what}; {instead}")
        self.what = what
        self.instead = instead


def loop_length(teeth_a: float, teeth_b: float, pitch: float, centres: Real) -> Real:
    """Chain length that just reaches round both sprockets, exact tangent form.

    Parameters
    ----------
    teeth_a, teeth_b : numbers of teeth, in either order.
    pitch : chain pitch, m.
    centres : distance between the axes, m; a number or an array.

    Returns
    -------
    p [2 C cos(a) + Na (1/2 - a/pi) + Nb (1/2 + a/pi)], m, shaped as `centres`, with C the centres in
    pitches and a the tilt of a strand to the line of centres, sin(a) = (Rb - Ra) / C.

    Raises
    ------
    ChainFault
        If the sprockets lie inside each other so that no strand is tangent to both.
    """
    tilt = _tilt(teeth_a, teeth_b, pitch, centres)
    arcs = teeth_a * (0.5 - tilt / np.pi) + teeth_b * (0.5 + tilt / np.pi)
    return 2 * centres * _cos(tilt) + pitch * arcs


def approximate_links(teeth_a: float, teeth_b: float, pitch: float, centres: Real) -> Real:
    """Handbook's approximate chain length in pitches, for comparison only.

    Returns
    -------
    2 C + (Na + Nb) / 2 + (Nb - Na)^2 / (4 pi^2 C), pitches, not rounded, shaped as `centres`, with C the
    centres in pitches. It drops what is of fourth order in the tilt and takes the travel radii for the
    pitch radii, so it is off by some thousandths of a pitch on short runs. Nothing here is computed from it.
    """
    c = centres / pitch
    return 2 * c + (teeth_a + teeth_b) / 2 + (teeth_b - teeth_a) ** 2 / (4 * np.pi**2 * c)


def span(teeth_a: float, teeth_b: float, pitch: float, centres: Real) -> Real:
    """Free length of a strand between its two points of tangency.

    Returns
    -------
    C cos(a), m, shaped as `centres`. Raises as `loop_length` does.
    """
    return centres * _cos(_tilt(teeth_a, teeth_b, pitch, centres))


def wrap_angles(teeth_a: float, teeth_b: float, pitch: float, centres: Real) -> tuple[Real, Real]:
    """Angles over which the chain lies on sprockets a and b, both strands taut.

    Returns
    -------
    (pi - 2 a, pi + 2 a), rad, each shaped as `centres`; together they are one turn. Raises as
    `loop_length` does.
    """
    tilt = _tilt(teeth_a, teeth_b, pitch, centres)
    return np.pi - 2 * tilt, np.pi + 2 * tilt


def centres_for_links(teeth_a: float, teeth_b: float, pitch: float, links: int) -> float:
    """Exact centre distance at which a chain just reaches round both sprockets.

    Parameters
    ----------
    teeth_a, teeth_b, pitch, links : two sprockets and their chain.

    Returns
    -------
    The distance between the axes, m, for which `loop_length` is links * pitch, to machine precision.

    Raises
    ------
    ChainFault
        If a count is no count, or the links are too few for the sprockets to clear each other.
    """
    _check_drive(teeth_a, teeth_b, pitch)
    _check_count("links", links, 1)
    return _centres_for_length(teeth_a, teeth_b, pitch, links * pitch)


def sideways_from_excess(excess: Real, span: float) -> Real:
    """Movement at the middle of a strand, straight to one side, when it takes all the excess.

    Parameters
    ----------
    excess : chain length beyond what the loop needs, m, not negative; a number or an array.
    span : free length of the strand, m.

    Returns
    -------
    sqrt(3 excess span / 8), m, shaped as `excess`: the strand as a flat parabola of rise f is longer than
    its chord by 8 f^2 / (3 span). In error by about 2.4 (f / span)^2 of the excess, .1 % where f is 2 %.
    Raises ChainFault if an excess is negative.
    """
    _check_excess(float(np.min(excess, initial=0.0)))
    return _sqrt(3 * excess * span / 8)


def excess_from_sideways(movement: Real, span: float) -> Real:
    """Excess chain length that lets the middle of one strand move sideways by so much.

    Parameters
    ----------
    movement : movement at mid-span from straight to one side, m; a number or an array.
    span : free length of the strand, m.

    Returns
    -------
    8 movement^2 / (3 span), m, shaped as `movement`: a flat parabola, the other strand straight. 2 % of the
    span is .107 % of it in length, 4 % is .427 %.
    """
    return 8 * movement**2 / (3 * span)


@dataclass(frozen=True)
class ChainFit:
    """A chain on its sprockets at fixed centres.

    Attributes
    ----------
    links : number of links (pitches) in the loop.
    centres : distance between the axes, m.
    length_needed : length that just reaches round both sprockets at these centres, m.
    excess : links * pitch less the length needed, m; never negative.
    span : free length of a strand, m.
    sideways : movement at mid-span, from straight to one side, when one strand takes all the excess, m.
    wrap_driver : angle over which the chain lies on the driver, rad.
    wrap_driven : the same on the driven sprocket, rad.
    offset_link : whether the count is odd, so that a cranked (offset) link, the weak one, is needed.
    """

    links: int
    centres: float
    length_needed: float
    excess: float
    span: float
    sideways: float
    wrap_driver: float
    wrap_driven: float
    offset_link: bool


def chain_fit(
    driver: int,
    driven: int,
    pitch: float,
    centres: float | None = None,
    links: int | None = None,
    excess: float | None = None,
) -> ChainFit:
    """Chain that fits, from any two of centres, links and excess, or from the centres alone.

    Parameters
    ----------
    driver, driven : numbers of teeth.
    pitch : chain pitch, m.
    centres : distance between the axes, m. Alone: the smallest even number of links that reaches is taken.
        With `excess`: the smallest even number that leaves at least that excess, and the real excess is
        reported, up to two pitches more than was asked for.
    links : number of links. With `centres`: the excess they leave; a chain too short by no more than
        `AGREEMENT` counts as just reaching, so that centres rounded on a drawing are not refused.
    excess : chain length beyond what the loop needs, m. With `links`: the centres that leave it.

    Returns
    -------
    The fit. Where all three are given they have to agree within `AGREEMENT`, and the excess that the
    centres and links leave is the one reported.

    Raises
    ------
    ChainFault
        If too little is given, what is given disagrees, the chain is too short, a count is no count, the
        excess is negative, or the sprockets do not clear each other.
    """
    _check_drive(driver, driven, pitch)
    if links is not None:
        _check_count("links", links, 1)
    if excess is not None:
        _check_excess(excess)
    if centres is not None:
        return _fit_at(driver, driven, pitch, centres, links, excess)
    if links is None or excess is None:
        raise ChainFault(
            "the chain is not determined", "give the centres, or any two of centres, links and excess"
        )
    centres = _centres_for_length(driver, driven, pitch, links * pitch - excess)
    return _fit(driver, driven, pitch, centres, links, excess)


def _fit_at(
    driver: int, driven: int, pitch: float, centres: float, links: int | None, excess: float | None
) -> ChainFit:
    """Fit at given centres."""
    least = _clearance(driver, driven, pitch)
    if not least < centres < math.inf:
        raise ChainFault(
            f"at centres of {_mm(centres)} the sprockets of {driver} and {driven} teeth touch",
            f"put the centres beyond {_mm(least)}",
        )
    needed = float(loop_length(driver, driven, pitch, centres))
    if links is None:
        links = _even_links(needed + (excess or 0.0), pitch)
        return _fit(driver, driven, pitch, centres, links, links * pitch - needed)
    left = links * pitch - needed
    if left < -AGREEMENT:
        raise ChainFault(
            f"{links} links make {_mm(links * pitch)} of chain, {_mm(-left)} less than the loop needs at"
            f" centres of {_mm(centres)}",
            f"use {_even_links(needed, pitch)} links{_nearer_centres(driver, driven, pitch, links * pitch)}",
        )
    if excess is not None and abs(left - excess) > AGREEMENT:
        raise ChainFault(
            f"centres of {_mm(centres)} and {links} links leave an excess of {_mm(left)}, not {_mm(excess)}",
            "leave one of the three out" + _nearer_centres(driver, driven, pitch, links * pitch - excess),
        )
    return _fit(driver, driven, pitch, centres, links, left)


def _fit(driver: int, driven: int, pitch: float, centres: float, links: int, excess: float) -> ChainFit:
    strand = float(span(driver, driven, pitch, centres))
    wrap_driver, wrap_driven = wrap_angles(driver, driven, pitch, centres)
    # A chain short by a rounding is a chain without slack.
    excess = max(0.0, float(excess))
    return ChainFit(
        links=int(links),
        centres=float(centres),
        length_needed=float(loop_length(driver, driven, pitch, centres)),
        excess=excess,
        span=strand,
        sideways=float(sideways_from_excess(excess, strand)),
        wrap_driver=float(wrap_driver),
        wrap_driven=float(wrap_driven),
        offset_link=links % 2 == 1,
    )


def _apart(teeth_a: float, teeth_b: float, pitch: float) -> float:
    """Pitch radius of sprocket b beyond that of a, m."""
    return pitch_radius(float(teeth_b), pitch) - pitch_radius(float(teeth_a), pitch)


def _tilt(teeth_a: float, teeth_b: float, pitch: float, centres: Real) -> Real:
    """Angle of a strand to the line of centres, rad, positive where sprocket b is the larger."""
    apart = _apart(teeth_a, teeth_b, pitch)
    if not np.all(np.asarray(centres) > abs(apart)):
        raise ChainFault(
            f"at centres of {_mm(float(np.min(centres)))} one sprocket of {teeth_a} and {teeth_b} teeth lies"
            " inside the other",
            f"put the centres beyond {_mm(_clearance(teeth_a, teeth_b, pitch))}",
        )
    tilt: Any = np.arcsin(apart / centres)
    return tilt


def _clearance(teeth_a: float, teeth_b: float, pitch: float) -> float:
    """Centre distance at which the tips of the two sprockets would touch, m."""
    return sum(float(sprocket_outside_diameter(float(teeth), pitch)) for teeth in (teeth_a, teeth_b)) / 2


def _centres_for_length(teeth_a: float, teeth_b: float, pitch: float, length: float) -> float:
    """Centres (m) at which the loop needs `length` (m): Newton, kept in its bracket by bisection."""
    # A loop holds both centres, so it is longer than twice their distance: length / 2 is an upper bound.
    low, high = _clearance(teeth_a, teeth_b, pitch), length / 2
    shortest = float(loop_length(teeth_a, teeth_b, pitch, low))
    if not length > shortest:
        raise ChainFault(
            f"{_mm(length)} of chain is too short for sprockets of {teeth_a} and {teeth_b} teeth to clear"
            f" each other: their tips touch at centres of {_mm(low)}, where the loop needs {_mm(shortest)}",
            f"add {max(2, _even_links(shortest - length, pitch))} links or more, or use smaller sprockets",
        )
    apart = _apart(teeth_a, teeth_b, pitch)
    turned = (teeth_b - teeth_a) * pitch / math.pi
    centres = low + (high - low) / 2
    while True:
        over = float(loop_length(teeth_a, teeth_b, pitch, centres)) - length
        low, high = (low, centres) if over > 0 else (centres, high)
        tilt = math.asin(apart / centres)
        slope = 2 * math.cos(tilt) + (2 * apart - turned) * math.tan(tilt) / centres
        step, least = over / slope, 2 * math.ulp(centres)
        # Ends always: Newton settles, or the bracket, narrowed every time, closes on neighbouring numbers.
        if abs(step) <= least or high - low <= least:
            return centres
        centres -= step
        if not low < centres < high:
            centres = low + (high - low) / 2


def _nearer_centres(driver: int, driven: int, pitch: float, length: float) -> str:
    """Advice to move the centres to where the loop needs `length`, or nothing where that is impossible."""
    try:
        return f", or put the centres at {_mm(_centres_for_length(driver, driven, pitch, length))}"
    except ChainFault:
        return ""


def _even_links(length: float, pitch: float) -> int:
    """Smallest even number of links not shorter than `length` (m)."""
    return 2 * math.ceil((length / pitch - _ROUNDING) / 2)


def _check_drive(teeth_a: float, teeth_b: float, pitch: float) -> None:
    # Below five teeth no sprocket is cut, and the formula for its tips means nothing.
    _check_count("teeth", teeth_a, 5)
    _check_count("teeth", teeth_b, 5)
    if not (math.isfinite(pitch) and pitch > 0):
        raise ChainFault(f"the pitch {pitch} m is no length", "write the chain's pitch, such as 0.0127 m")


def _check_count(name: str, count: float, least: int) -> None:
    if not (math.isfinite(count) and count == int(count) and count >= least):
        raise ChainFault(f"{name}: {count} is not a count", f"write a whole number, {least} or more")


def _check_excess(excess: float) -> None:
    if not 0 <= excess < math.inf:
        raise ChainFault(
            f"an excess of {_mm(excess)} is no slack",
            "write 0 or more; how tight a chain is set is its pretension, not its excess",
        )


def _mm(length: float) -> str:
    return f"{length * 1e3:.3f} mm"
