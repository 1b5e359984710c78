"""The summary's rows on motion, clearances, chains' fit and mass: what the geometry alone says."""

from collections.abc import Sequence

import numpy as np

from analysis.finding import Finding
from analysis.study import Study
from analysis.summary.layout import si
from sim import names

Row = tuple[str, str]
"""Label and words."""
GAP = "gap that closes, "
LEAST = "least clearance"
WEDGE = "length beside the hinge on which a finger is squeezed"
LOWEST_GAP = "lowest place above ground at which a gap closes on a part of the body"


def at(f: Finding) -> str:
    """Say at which crank angle."""
    return "" if f.crank_degrees is None else f" at {f.crank_degrees:.0f} deg"


def verdict(f: Finding) -> str:
    """Say a finding's limit and whether it is kept."""
    return f", {f.limit_words}" if f.limit else ""


def wanted(f: Finding) -> str:
    """Say a finding's limit without shop units and verdict."""
    return si(f.limit_words.rpartition(": ")[0])


def largest(findings: Sequence[Finding]) -> list[Finding]:
    """Give the one finding with the largest value, or none."""
    return sorted(findings, key=lambda f: -f.value)[:1]


def motion(study: Study) -> list[Row]:
    """Give every panel's range, and the worst swivel, transmission angle and difference of the sides."""
    rows: list[Row] = []
    by = {(f.where, f.what): f for f in study.motion}
    for (where, what), low in by.items():
        if what != "lowest panel angle":
            continue
        high = by[where, "highest panel angle"]
        lag = by.get((where, "lag behind the inner panel"))
        behind = (
            "" if lag is None else f", {np.degrees(lag.value):.0f} deg of the crank behind the innermost one"
        )
        rows.append((f"{where} panel", f"{np.degrees(low.value):.1f} to {high.shown}{behind}"))
    thin = [f for f in study.motion if f.what == "least transmission angle"]
    swivels = [f for f in study.motion if f.what == "largest swivel"]
    worst = (*sorted(thin, key=lambda f: f.value)[:1], *largest(swivels))
    rows += [(f.what.replace(" angle", ""), f"{f.shown}{at(f)}, {f.where}{verdict(f)}") for f in worst]
    apart = largest([f for f in study.motion if f.what.startswith("largest difference")])
    rows += [("left against right", f"{f.shown}, {f.where} panel{at(f)}") for f in apart]
    return rows


def clearances(study: Study) -> list[Row]:
    """Give the least clearance, what collides, and the gaps that close through published sizes."""
    near = [f for f in study.clearances if f.what.startswith((LEAST, "room along the pin"))]
    rows: list[Row] = []
    hit = [f for f in near if f.beyond]
    rows += [("COLLIDES", f"{f.where}, {f.shown}{at(f)}") for f in hit]
    if near and not hit:
        f = min(near, key=lambda f: f.value)
        rows.append(("least, less allowances", f"{f.shown}, {f.where}{at(f)}"))
    if not near:
        rows.append(("least", "nothing comes nearer than 100 mm (3.94 in)"))
    closing = [f for f in study.clearances if f.what.startswith(GAP)]
    lowest = next((f for f in study.clearances if f.what == LOWEST_GAP), None)
    if lowest is None:
        rows.append(("gaps that close", "none on a part of the body, by published sizes"))
    elif not closing:
        rows.append(
            (
                "gaps that close",
                f"none within reach; lowest {lowest.shown} up, {wanted(lowest)}{judged(lowest)}",
            )
        )
    else:
        kinds = ", ".join(f.what.removeprefix(GAP) for f in closing)
        rows.append(
            ("gaps that close", f"within reach, from {si(lowest.shown)} up, by published sizes: {kinds}")
        )
    squeezed = [f for f in study.clearances if f.what == WEDGE and f.beyond]
    if squeezed:
        words = ", ".join(dict.fromkeys(f.where.split(" ", 1)[1] for f in squeezed))
        rows.append(("squeezes fingers beside", words))
    return rows


def chains(study: Study) -> list[Row]:
    """Give the fit of every chain, what could jump, and where the chains run into something."""
    rows: list[Row] = []
    for name in dict.fromkeys(f.where for f in study.chains if f.where != names.WHEEL):
        own = {f.what: f for f in study.chains if f.where == name}
        rows += [(name, f"DOES NOT FIT: {f.note}") for f in own.values() if f.what == "does not fit"]
        if "links" in own:
            near = [f for f in study.paths if f.where == name]
            rows.append((name, "; ".join([*_fit(own), *_hung(own), *_path(near)])))
    return rows + [("paths", f"{f.what} {f.note}") for f in study.paths if f.where == "chains"]


def _fit(own: dict[str, Finding]) -> list[str]:
    words = [f"{own['links'].value:.0f} links at {1000 * own['centre distance'].value:.1f} mm"]
    excess = own.get("excess length from the choice of links")
    if excess is not None:
        words.append(f"excess {_mm(excess)}, {wanted(excess)}{judged(excess)}")
    return [*words, f"new it adds up to {_mm(own['excess length a new chain may add'])}"]


def _hung(own: dict[str, Finding]) -> list[str]:
    """Say what the least wrap is, and what could jump, bind or not pass the bore."""
    wraps = [f for what, f in own.items() if what.startswith("least wrap")]
    words = [f"least wrap {f.shown}{judged(f)}" for f in sorted(wraps, key=lambda f: f.value)[:1]]
    others = [f for what, f in own.items() if f.beyond and f not in wraps and not what.startswith("excess")]
    return words + [
        f"{f.what.split(',')[0].replace(' of the chain', '')} {si(f.shown)}: BEYOND"
        for f in others
        if f.dimension != "fault"
    ]


def _path(near: list[Finding]) -> list[str]:
    words = [f"{f.what.upper()} {f.note.split(',')[0]}" for f in near if f.dimension == "fault"]
    clear = sorted((f for f in near if f.dimension == "length"), key=lambda f: f.value)[:1]
    return words or [f"runs clear by {_mm(f)}" for f in clear]


def judged(f: Finding) -> str:
    """Give the verdict alone, where there is a limit."""
    return "" if f.limit is None else ": BEYOND" if f.beyond else ": ok"


def _mm(f: Finding) -> str:
    return f"{1000 * f.value:.1f} mm"


def mass(study: Study) -> list[Row]:
    """Give the mass of all that moves and of its heaviest parts."""
    parts = [f for f in study.masses if f.what.startswith("mass")]
    total = next(f for f in parts if f.where == "whole piece")
    heavy = sorted((f for f in parts if f is not total), key=lambda f: -f.value)[:3]
    words = ", ".join(f"{f.where} {f.value:.3g}" for f in heavy)
    return [("all that moves", f"{total.shown}: {words}")]
