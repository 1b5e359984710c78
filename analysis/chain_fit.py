"""Do the chains fit? Links, exact centre distance, excess length and what adds to it, in millimetres.

And what the excess does: the wheel's free angle, and chain hanging off the lower sprocket of an upright run.

Usage: python -m analysis.chain_fit RUN...
"""

import math

import numpy as np

from analysis.finding import Finding, Limit
from analysis.script import script
from models.drive import Stage, Tensioner
from models.mechanism import Mechanism, PostTube, from_canonical
from models.shown import shown
from sim import names
from sim.chain import AGREEMENT, ChainFault, ChainFit, centres_for_links, chain_fit, excess_from_sideways
from sim.layout import ChainRun, chain_run, excess_of, fit_of, shaft_places
from sim.run import Run
from sim.sprocket import (
    pitch_radius,
    sprocket_outside_diameter,
    travel_radius,
    with_chain_outside_diameter,
)

CASE = "geometry"
EXACT = "exact tangent geometry"
SLACK = 0.01
"""Movement of a strand's middle from straight to one side, over its span, at most, for vertical or reversing drives.

Half of the 2 % that makers advise at the least: they mean the whole movement from side to side (read)."""
WEAR = 0.015
"""Elongation at which a chain on fixed centres is worn out (maker's guidance, read)."""
WRAP = Limit(np.radians(120), "least", "maker's guidance, read")


def findings(run: Run) -> list[Finding]:
    """Give the chain fit of a run's sculpture."""
    return of_mechanism(from_canonical(run.description))


def of_mechanism(mechanism: Mechanism) -> list[Finding]:
    """Give the fit of every stage, what hangs below its lower sprocket, and the wheel's lost motion."""
    found = of_stages(mechanism.stages, mechanism.post)
    for k in range(1, len(mechanism.stages) + 1):
        found += _hanging(mechanism, k)
    return found + lost_motion(mechanism)


def of_stages(stages: tuple[Stage, ...], post: PostTube | None) -> list[Finding]:
    """Give the fit of every stage, and whether its sprockets pass the post's bore."""
    found: list[Finding] = []
    for k, stage in enumerate(stages, 1):
        name = names.stage(k)
        if stage.kind == "direct":
            found.append(Finding("no chain: turns of the driver for one of the driven",
                                 stage.driven / stage.driver, "ratio", name, CASE, source="tooth counts",
                                 note="an exact ratio without slack"))  # fmt: skip
            continue
        if post is not None:
            found.append(_bore(stage, post, name))
        fit = fitted(stage)
        if isinstance(fit, str):
            # A fault of the figures is a finding beyond its limit, in the words of the fault.
            found.append(Finding("does not fit", 1.0, "fault", name, CASE,
                                 limit=Limit(0, "most", "it must fit"), source=EXACT, note=fit))  # fmt: skip
        elif fit is not None:
            found += _stage(stage, fit, name)
    return found


def fitted(stage: Stage) -> ChainFit | str | None:
    """Give the fit of a stage, the words of what does not fit, or None when nothing fixes its length."""
    try:
        return fit_of(stage)
    except ChainFault as fault:
        return f"{fault.what}; {fault.instead}"


def _stage(stage: Stage, fit: ChainFit, name: str) -> list[Finding]:
    length = fit.links * stage.pitch
    tight = centres_for_links(stage.driver, stage.driven, stage.pitch, fit.links)
    odd = "; odd: it needs an offset link" if fit.offset_link else ""
    return [
        Finding("links", fit.links, "count", name, CASE, source=EXACT,
                note=f"{1000 * length:.1f} mm of chain{odd}"),
        Finding("centre distance", fit.centres, "length", name, CASE, source="description or " + EXACT),
        Finding("centre distance at which these links have no slack", tight, "length", name, CASE,
                source=EXACT),
        *_left_over(stage, fit, tight, name),
        Finding("excess length a new chain may add", stage.overlength * length, "length", name, CASE,
                source=f"0 to +{100 * stage.overlength:.3g} % of length: the description, or ASME B29.1's table (read)",
                note=f"half of it: {500 * stage.overlength * length:.1f} mm"),
        Finding("excess length at the wear limit", WEAR * length, "length", name, CASE,
                source="1.5 % on fixed centres, maker's guidance, read"),
        Finding("least wrap", min(fit.wrap_driver, fit.wrap_driven), "angle", name, CASE, limit=WRAP,
                source=EXACT),
    ]  # fmt: skip


def _left_over(stage: Stage, fit: ChainFit, tight: float, name: str) -> list[Finding]:
    """Give what is done with the length that the links leave over."""
    if stage.tight > 0:
        return _set_tight(stage, fit, tight, name)
    if stage.tensioner is not None:
        return _tensioned(stage.tensioner, fit, name)
    advised = float(excess_from_sideways(SLACK * fit.span, fit.span))
    found = [
        Finding("excess length from the choice of links", fit.excess, "length", name, CASE,
                limit=Limit(advised, "most", "2 % of span from side to side, half of it to one side, for "
                            "vertical or reversing drives; maker's guidance, read"), source=EXACT,
                note=f"{1000 * fit.sideways:.1f} mm sideways on a span of {1000 * fit.span:.0f} mm")
    ]  # fmt: skip
    said = excess_of(stage)
    if abs(said - fit.excess) > AGREEMENT:
        as_said = chain_fit(stage.driver, stage.driven, stage.pitch, None, fit.links, said)
        found.append(
            Finding("centre distance at which these links leave the slack given", as_said.centres, "length",
                    name, CASE, source=EXACT,
                    note=f"{1000 * as_said.centres:.2f} mm; motion and loads are computed with the slack given, "
                    f"{1000 * said:.1f} mm")
        )  # fmt: skip
    return found


def _set_tight(stage: Stage, fit: ChainFit, tight: float, name: str) -> list[Finding]:
    return [
        Finding("tension of both strands at rest", stage.tight, "force", name, CASE, source="description"),
        Finding("movement of the shafts apart that takes up what the links leave over", tight - fit.centres,
                "length", name, CASE, source=EXACT,
                note=f"or a locked idler takes up the {1000 * fit.excess:.1f} mm of chain"),
    ]  # fmt: skip


def _tensioned(idler: Tensioner, fit: ChainFit, name: str) -> list[Finding]:
    give = 2 * math.sin(idler.lean)
    return [
        Finding("tension of both strands at rest", idler.force / give, "force", name, CASE,
                source="F / (2 sin lean)"),
        Finding("excess length from the choice of links, for the tensioner to take up", fit.excess, "length",
                name, CASE, source=EXACT),
        Finding("chain length that the tensioner gives back before its stop", idler.travel * give, "length",
                name, CASE, source="2 sin lean times its travel, for a travel that is small beside the span",
                note="reversed, the wheel turns back by as much before the driven shaft follows fully"),
    ]  # fmt: skip


def _bore(stage: Stage, post: PostTube, name: str) -> Finding:
    largest = max(stage.driver, stage.driven)
    size = float(with_chain_outside_diameter(largest, stage.pitch))
    return Finding(
        f"diameter of the {largest}-tooth sprocket with its chain on", size, "length", name, CASE,
        limit=Limit(post.bore, "most", "the post's bore"),
        source="pitch diameter plus the link plates' height, about .95 pitch; memory",
        note="only matters for a stage inside the post",
    )  # fmt: skip


def tooth_height(teeth: int, pitch: float) -> float:
    """Give how far a sprocket's tips stand above its pitch circle.

    Returns
    -------
    p/2 (0.6 - tan(pi / 2N)), m: half the outside diameter of ASME B29.1 less the pitch radius, about .3 pitch
    for many teeth.
    """
    outside = sprocket_outside_diameter(float(teeth), pitch) / 2
    return float(outside - pitch_radius(float(teeth), pitch))


def wrap_in_gear(wrap: float, drop: float, height: float) -> float:
    """Give the angle over which a chain that hangs off the lower sprocket is still between its teeth.

    Parameters
    ----------
    wrap : angle over which it lies on the sprocket when taut, rad.
    drop : distance by which it hangs below the pitch circle at the bottom, m.
    height : of the tips above the pitch circle, m.

    Returns
    -------
    wrap - 2 acos(height / drop), rad, at least 0; the whole wrap where the drop is less than the height. The
    chain moved straight down by d stands d cos(phi) off the pitch circle at phi from the bottom.
    """
    return wrap if drop <= height else max(0.0, wrap - 2 * math.acos(height / drop))


def _hanging(mechanism: Mechanism, number: int) -> list[Finding]:
    """Give how the excess hangs below the lower sprocket of a run that is more upright than level."""
    stage, run = mechanism.stages[number - 1], _run(mechanism, number)
    if run is None or run.fit is None or stage.tight > 0 or stage.tensioner is not None:
        return []
    driver, driven = shaft_places(mechanism)[0][number - 1 : number + 1]
    if abs(driven[1] - driver[1]) <= abs(driven[0] - driver[0]):
        return []
    below = driver[1] < driven[1]
    teeth = stage.driver if below else stage.driven
    wrap = run.fit.wrap_driver if below else run.fit.wrap_driven
    drop, height = run.excess / 2, tooth_height(teeth, stage.pitch)
    name = names.stage(number)
    return [
        Finding(f"drop of the chain below the lower sprocket, {teeth} teeth", drop, "length", name, CASE,
                limit=Limit(height, "most", "its teeth above the pitch circle, p/2 (.6 - tan(pi / 2N)), "
                            "ASME B29.1's outside diameter; beyond it the chain can jump: assumption"),
                source="half the excess, both strands hanging straight; assumption",
                note="of a new chain of nominal length; tolerance and wear add to it"),
        Finding("least wrap still between the teeth of the lower sprocket", wrap_in_gear(wrap, drop, height),
                "angle", name, CASE, limit=WRAP,
                source="wrap less 2 acos(tooth height / drop), the chain moved straight down; assumption"),
    ]  # fmt: skip


def lost_motion(mechanism: Mechanism) -> list[Finding]:
    """Give how far the wheel turns free when it reverses, as an angle and along the rim or grip's circle.

    Each chain adds its excess over the driver's travel radius, times the reduction of the stages before it;
    the couplings the larger of the two backlashes, times the whole reduction. Nothing where there is neither
    chain nor backlash.
    """
    angle, turns = 0.0, 1.0
    parts: list[str] = []
    for k, stage in enumerate(mechanism.stages, 1):
        if stage.kind != "direct":
            run = _run(mechanism, k)
            own = 0.0 if run is None else run.excess / travel_radius(stage.driver, stage.pitch) * turns
            parts.append(f"{names.stage(k)} {_free(stage, run, own)}")
            angle += own
        turns *= stage.driven / stage.driver
    backlash = max((s.crank.coupling.backlash for s in mechanism.sides), default=0.0) * turns
    if backlash > 0:
        parts.append(f"coupling {shown(backlash, 'angle')}")
    if not parts:
        return []
    angle += backlash
    words = (
        "excess over the driver's travel radius, and the couplings' backlash, times the reduction before it"
    )
    return [
        Finding("lost motion on reversing", angle, "angle", names.WHEEL, CASE, source=words,
                note=", ".join(parts) + "; without the new chain's tolerance, wear and what gives under load"),
        Finding("lost motion on reversing, along its circle", angle * mechanism.wheel.radius, "length",
                names.WHEEL, CASE, source=words),
    ]  # fmt: skip


def _free(stage: Stage, run: ChainRun | None, angle: float) -> str:
    """Say what a chain adds to the lost motion."""
    if run is None:
        return "does not fit and is not counted"
    if stage.tight > 0:
        return "none, it is tight"
    if stage.tensioner is not None:
        return "none free, but its tensioner gives"
    if run.fit is None and stage.slack is None and stage.sideways is None:
        return "not counted, nothing fixes its slack"
    return shown(angle, "angle")


def _run(mechanism: Mechanism, number: int) -> ChainRun | None:
    """Give a stage's chain as it runs, or None where there is none or it does not fit."""
    if mechanism.stages[number - 1].kind == "direct":
        return None
    try:
        return chain_run(mechanism, number)
    except ChainFault:
        return None


if __name__ == "__main__":
    script(findings, __doc__)
