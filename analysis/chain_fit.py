"""Do the chains fit? Links, exact centre distance, excess length and what adds to it, in millimetres.

Usage: python -m analysis.chain_fit RUN...
"""

import numpy as np

from analysis.finding import Finding, Limit
from analysis.script import script
from models.mechanism import PostTube, Stage, from_canonical
from sim import names
from sim.chain import ChainFault, ChainFit, centres_for_links, chain_fit, excess_from_sideways
from sim.run import Run
from sim.sprocket import with_chain_outside_diameter

CASE = "geometry"
EXACT = "exact tangent geometry"
NEW_CHAIN = 0.0015
"""Length over nominal of a new chain, at most: about +.15 %, ASME B29.1 (read in part; under-tolerance 0)."""
SLACK = 0.02
"""Sideways movement over span that is advised for vertical or reversing drives, at most (maker's guidance)."""
WEAR = 0.015
"""Elongation at which a chain on fixed centres is worn out (maker's guidance, read)."""
WRAP = Limit(np.radians(120), "least", "maker's guidance, read")


def findings(run: Run) -> list[Finding]:
    """Give the chain fit of a run's sculpture."""
    mechanism = from_canonical(run.description)
    return of_stages(mechanism.stages, mechanism.post)


def of_stages(stages: tuple[Stage, ...], post: PostTube | None) -> list[Finding]:
    """Give the fit of every stage, and whether its sprockets pass the post's bore."""
    found: list[Finding] = []
    for k, stage in enumerate(stages, 1):
        name = names.stage(k)
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
    given = [x for x in (stage.centres, stage.links, stage.slack) if x is not None]
    if len(given) < 2 and stage.centres is None:
        return None
    try:
        return chain_fit(stage.driver, stage.driven, stage.pitch, stage.centres, stage.links, stage.slack)
    except ChainFault as fault:
        return f"{fault.what}; {fault.instead}"


def _stage(stage: Stage, fit: ChainFit, name: str) -> list[Finding]:
    advised = float(excess_from_sideways(SLACK * fit.span, fit.span))
    length = fit.links * stage.pitch
    tight = centres_for_links(stage.driver, stage.driven, stage.pitch, fit.links)
    odd = "; odd: it needs an offset link" if fit.offset_link else ""
    return [
        Finding("links", fit.links, "count", name, CASE, source=EXACT,
                note=f"{1000 * length:.1f} mm of chain{odd}"),
        Finding("centre distance", fit.centres, "length", name, CASE, source="description or " + EXACT),
        Finding("centre distance at which these links have no slack", tight, "length", name, CASE,
                source=EXACT),
        Finding("excess length from the choice of links", fit.excess, "length", name, CASE,
                limit=Limit(advised, "most", "2 % of span sideways, for vertical or reversing drives; "
                            "maker's guidance"), source=EXACT,
                note=f"{1000 * fit.sideways:.1f} mm sideways on a span of {1000 * fit.span:.0f} mm"),
        Finding("excess length a new chain may add", NEW_CHAIN * length, "length", name, CASE,
                source="0 to +.15 % of length, ASME B29.1, read in part",
                note=f"half of it: {500 * NEW_CHAIN * length:.1f} mm"),
        Finding("excess length at the wear limit", WEAR * length, "length", name, CASE,
                source="1.5 % on fixed centres, maker's guidance, read"),
        Finding("least wrap", min(fit.wrap_driver, fit.wrap_driven), "angle", name, CASE, limit=WRAP,
                source=EXACT),
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


if __name__ == "__main__":
    script(findings, __doc__)
