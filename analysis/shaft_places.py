"""Where the shafts of the drive lie, from the heights of wheel and crank and the chains' centre distances.

A description gives heights and centre distances, not places; two centre distances and the distance between
wheel and crank close a triangle. Nothing in the mechanics rests on which of its two solutions is built.
"""

import math

from models.mechanism import Mechanism, Stage
from sim.chain import ChainFault, chain_fit

Place = tuple[float, float]
"""Forward and up from the crank's axis, m."""
AGREEMENT = 1e-3
"""How far (m) centre distances may miss each other before a note says so: drawings are rounded to 1 mm."""


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
        return chain_fit(stage.driver, stage.driven, stage.pitch, None, stage.links, stage.slack).centres
    except ChainFault:
        return None


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
