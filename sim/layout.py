"""Where the shafts of the drive lie, and how each chain runs between two of them.

A description gives heights and centre distances, not places; two centre distances and the distance between
wheel and crank close a triangle, and of its two solutions the one forward of the post's axis is taken. The
directions in which the chains pull at their shafts rest on it, the motion does not.
"""

import math
from dataclasses import dataclass

import numpy as np

from models.drive import Stage
from models.mechanism import Mechanism
from sim.arrays import Array
from sim.chain import ChainFault, ChainFit, chain_fit, excess_from_sideways, span
from sim.sprocket import pitch_radius, travel_radius

Place = tuple[float, float]
"""Forward and up from the crank's axis, m."""
AGREEMENT = 1e-3
"""How far (m) centre distances may miss each other before a note says so: drawings are rounded to 1 mm."""


@dataclass(frozen=True)
class ChainRun:
    """A chain as it runs between its two shafts.

    Strand a is the one that is taut when the driver drives the driven forward, strand b the other. On the
    driven shaft each strand pulls opposite to its direction on the driver's.

    Attributes
    ----------
    fit : links, centres and excess as `fit_of` gives them, or None where nothing fixes them.
    excess : chain length beyond what the loop needs, m; 0 where it is set tight or has a tensioner.
    span : free length of a strand, m.
    stiffness : of one strand, rigidity over span, N/m.
    travel : travel radii of driver and driven, m.
    directions : (2, 3) unit vectors in the world, of the pull of strands a and b on the driver's shaft.
    ends : (2, 2, 3) m from the crank's axis: where strands a and b leave the driver's and the driven pitch
        circle.
    weight : of each strand, kg: weight per length times span.
    """

    fit: ChainFit | None
    excess: float
    span: float
    stiffness: float
    travel: tuple[float, float]
    directions: Array
    ends: Array
    weight: float

    @property
    def weights(self) -> tuple[float, float]:
        """What of both strands' weight, kg, hangs on the driver's and on the driven shaft.

        Alike on both where the chain lies level; the more on the upper one the steeper it runs, all of it where it
        hangs (statics; a slack strand hangs from above).
        """
        rise = float(np.mean(self.directions[:, 2]))
        return self.weight * (1 - rise), self.weight * (1 + rise)


def chain_run(mechanism: Mechanism, number: int) -> ChainRun:
    """Give how the chain of a stage runs.

    Parameters
    ----------
    mechanism : the sculpture.
    number : of the stage, 1 at the wheel's end.

    Raises
    ------
    ChainFault
        If what is given of the chain disagrees, or its two shafts lie so near that no strand is tangent to
        both sprockets.
    ValueError
        If the stage is direct and has no chain.
    """
    stage = mechanism.stages[number - 1]
    if stage.kind == "direct":
        raise ValueError(f"stage {number} is direct: it has no chain")
    places, _ = shaft_places(mechanism)
    radii = (pitch_radius(float(stage.driver), stage.pitch), pitch_radius(float(stage.driven), stage.pitch))
    directions, ends = strands(places[number - 1], places[number], radii)
    fit = fit_of(stage)
    free = fit.span if fit is not None else float(np.linalg.norm(ends[0, 1] - ends[0, 0]))
    return ChainRun(
        fit=fit,
        excess=_excess(stage, fit, free),
        span=free,
        stiffness=stage.rigidity / free,
        travel=(travel_radius(stage.driver, stage.pitch), travel_radius(stage.driven, stage.pitch)),
        directions=directions,
        ends=ends + np.array([0.0, stage.out, 0.0]),
        weight=stage.weight * free,
    )


def chain_faults(mechanism: Mechanism) -> list[str]:
    """Say which chains cannot run as described: `stage.K: what is wrong; what to write instead`, a line each."""
    found: list[str] = []
    for k, stage in enumerate(mechanism.stages, 1):
        if stage.kind != "chain":
            continue
        try:
            chain_run(mechanism, k)
        except ChainFault as fault:
            found.append(f"stage.{k}: {fault}")
    return found


def strands(driver: Place, driven: Place, radii: tuple[float, float]) -> tuple[Array, Array]:
    """Give the two straight strands as the outer tangents of two pitch circles.

    Parameters
    ----------
    driver, driven : places of the two axes, m.
    radii : pitch radii of driver and driven, m.

    Returns
    -------
    directions : (2, 3) unit vectors from driver to driven, of strands a and b.
    ends : (2, 2, 3) m, strand by strand the tangent points on driver and driven, at y = 0.

    With u the unit vector from driver to driven, v square to it (u turned by -90 deg about +y) and
    cos(l) = (R1 - R2) / C, the points of tangency lie along n = cos(l) u -/+ sin(l) v from the axes and the
    strands along e = sin(l) u +/- cos(l) v, upper sign strand a: n x e is -y there, so that its pull works
    against a driver which turns positively.

    Raises
    ------
    ChainFault
        If one circle lies inside the other.
    """
    between = np.array([driven[0] - driver[0], 0.0, driven[1] - driver[1]])
    apart = float(np.linalg.norm(between))
    if not apart > abs(radii[0] - radii[1]):
        raise ChainFault(
            f"its shafts lie {_mm(apart)} apart, where one sprocket lies inside the other",
            "write centres that reach between the heights of wheel and crank",
        )
    along = between / apart
    across = np.array([-along[2], 0.0, along[0]])
    toward = (radii[0] - radii[1]) / apart
    aside = math.sqrt(1 - toward**2)
    normals = np.stack([toward * along - aside * across, toward * along + aside * across])
    directions = np.stack([aside * along + toward * across, aside * along - toward * across])
    axes = np.array([[driver[0], 0.0, driver[1]], [driven[0], 0.0, driven[1]]])
    ends = axes[None, :, :] + np.array(radii)[None, :, None] * normals[:, None, :]
    return directions, ends


def fit_of(stage: Stage) -> ChainFit | None:
    """Give the fit of a stage's chain from whatever of centres, links, slack and sideways is given.

    Centres alone take the smallest even number of links. Links alone are enough where the chain is set tight;
    where a tensioner takes up an excess that nobody knows they are not.

    Returns
    -------
    The fit, or None for a direct stage and where nothing fixes it.

    Raises
    ------
    ChainFault
        If what is given makes no chain or disagrees, as `sim.chain.chain_fit` says.
    """
    if stage.kind == "direct":
        return None
    if stage.centres is not None:
        free = float(span(stage.driver, stage.driven, stage.pitch, stage.centres))
        return _fit(stage, _said(stage, free))
    known = stage.slack is not None or stage.sideways is not None or stage.tight > 0
    return _fit_by_links(stage) if stage.links is not None and known else None


def excess_of(stage: Stage) -> float:
    """Give the excess length of a stage's chain, m.

    Returns
    -------
    As given by slack or sideways, else what the links leave at these centres; 0 where the chain is set tight,
    has a tensioner, where nothing fixes it, and for a direct stage. Slack given with centres and no links is
    kept as given: the fit's own excess, up to two pitches more, is what centres moved in the workshop remove.

    Raises
    ------
    ChainFault
        As `fit_of` does.
    """
    fit = fit_of(stage)
    return _excess(stage, fit, None if fit is None else fit.span)


def _excess(stage: Stage, fit: ChainFit | None, free: float | None) -> float:
    if stage.kind == "direct" or stage.tight > 0 or stage.tensioner is not None:
        return 0.0
    if fit is not None and stage.links is not None:
        return fit.excess
    said = stage.slack if free is None else _said(stage, free)
    if said is not None:
        return said
    return 0.0 if fit is None else fit.excess


def _fit(stage: Stage, excess: float | None) -> ChainFit:
    return chain_fit(stage.driver, stage.driven, stage.pitch, stage.centres, stage.links, excess)


def _fit_by_links(stage: Stage) -> ChainFit:
    """Fit links whose excess hangs on the span that it leaves: each round is about a hundredfold nearer."""
    fit = _fit(stage, 0.0)
    for _ in range(60):
        before, fit = fit, _fit(stage, _said(stage, fit.span) or 0.0)
        if abs(fit.excess - before.excess) <= 1e-12 * stage.pitch:
            return fit
    raise ChainFault(
        f"a strand of {_mm(fit.span)} cannot move {_mm(stage.sideways or 0.0)} sideways",
        "write less, or the slack itself",
    )


def _said(stage: Stage, free: float) -> float | None:
    """Give the slack that is given, in either way, for a strand of this free length; None where none is."""
    return stage.slack if stage.sideways is None else float(excess_from_sideways(stage.sideways, free))


def shaft_places(mechanism: Mechanism) -> tuple[tuple[Place, ...], str | None]:
    """Give the places of the wheel's shaft, the shafts between and the centre shaft.

    One stage: the wheel's shaft lies at its height and forward by what its centre distance leaves. Two: the
    wheel's shaft lies under (or over) the crank and the shaft between forward of it, where the triangle of
    centre distances closes. More: spread along the straight line, as the distances are in proportion.

    Returns
    -------
    places : one more than there are stages, wheel first, the centre shaft at (0, 0) last; forward and up from
        the crank's axis, m. Without a stage the wheel sits on the crankshaft, and there is its place alone.
    note : what does not close, or None.
    """
    up = mechanism.wheel.height - mechanism.crank_height
    stages = mechanism.stages
    if not stages:
        return ((0.0, up),), _without_stage(mechanism, up)
    centres = [centre_distance(s) for s in stages]
    known = [c for c in centres if c is not None]
    if len(known) < len(stages):
        lacking = centres.index(None) + 1
        return _line(up, [1.0] * len(stages)), (
            f"stage {lacking} has no centre distance: write centres, or links and slack; "
            "its shafts are drawn on a straight line"
        )
    if len(stages) == 1:
        return _one(up, known[0])
    if len(stages) == 2:
        return _two(up, known[0], known[1])
    return _line(up, known), _many(abs(up), known)


def centre_distance(stage: Stage) -> float | None:
    """Give a stage's centre distance, m, as given or from its links and slack; None where neither says."""
    if stage.centres is not None:
        return stage.centres
    try:
        fit = fit_of(stage)
    except ChainFault:
        return None
    return None if fit is None else fit.centres


def _without_stage(mechanism: Mechanism, up: float) -> str | None:
    if abs(up) <= AGREEMENT:
        return None
    return (
        f"no chain stage joins the wheel at {_mm(mechanism.wheel.height)} to the crank at "
        f"{_mm(mechanism.crank_height)}: write [[stage]], or the crank's height for wheel.height"
    )


def _one(up: float, centres: float) -> tuple[tuple[Place, ...], str | None]:
    if centres < abs(up) - AGREEMENT:
        return ((0.0, up), (0.0, 0.0)), (
            f"stage 1: centres of {_mm(centres)} do not reach the {_mm(abs(up))} between the heights of "
            "wheel and crank; drawn at those heights"
        )
    return ((math.sqrt(max(0.0, centres**2 - up**2)), up), (0.0, 0.0)), None


def _two(up: float, first: float, second: float) -> tuple[tuple[Place, ...], str | None]:
    """Close the triangle of wheel, shaft between and crank."""
    apart = abs(up)
    if apart <= AGREEMENT and abs(first - second) <= AGREEMENT:
        return ((0.0, up), (second, 0.0), (0.0, 0.0)), None
    short, long = apart - (first + second), abs(first - second) - apart
    if max(short, long) > AGREEMENT:
        words = f"{_mm(first)} and {_mm(second)} between shafts {_mm(apart)} apart in height"
        fault = "do not reach" if short > 0 else "are too unequal to close a triangle"
        return _line(up, [first, second]), f"centres of {words} {fault}; drawn on a straight line"
    # Law of cosines: the shaft between lies this far from the crank toward the wheel.
    along = (apart**2 + second**2 - first**2) / (2 * apart) if apart > 0 else 0.0
    along = max(-second, min(second, along))
    ahead = math.sqrt(max(0.0, second**2 - along**2))
    return ((0.0, up), (ahead, math.copysign(along, up * along)), (0.0, 0.0)), None


def _many(apart: float, centres: list[float]) -> str:
    reaches = sum(centres) >= apart - AGREEMENT
    words = f"the shafts between {len(centres)} stages are drawn on a straight line"
    if reaches:
        return f"{words}: heights and centre distances alone do not place them"
    total = _mm(sum(centres))
    return f"{words}: centres of {total} in all do not reach the {_mm(apart)} between wheel and crank"


def _line(up: float, shares: list[float]) -> tuple[Place, ...]:
    """Spread the shafts straight from the wheel to the crank in proportion to shares."""
    total = sum(shares)
    left = [sum(shares[k:]) / total for k in range(len(shares) + 1)]
    return tuple((0.0, up * share) for share in left)


def _mm(length: float) -> str:
    return f"{1000 * length:.0f} mm"
