"""What the command for wanted motion prints."""

from math import pi

from analysis.fit import DISTINCT, Fit, description
from analysis.summary.layout import columns, wrapped
from models.shown import shown
from sim.fit_family import WIDE


def lines(found: Fit) -> list[str]:
    """Give all that is said of the answers."""
    wanted = "; ".join(
        f"{name} {_angles(w.low, w.high)}" + ("" if w.lag is None else f", lag {shown(w.lag, 'angle')}")
        for name, w in found.wishes.items()
    )
    lagging = len(found.wishes) > 1
    step = f"lengths in steps of {shown(found.step.length, 'length')}, throws' angles of "
    said = [
        f"{found.sculpture}: dimensions that move it as wanted",
        *wrapped(
            f"wanted: {wanted}{'; lags are of the first harmonic behind the innermost panel' * lagging}"
        ),
        "  limits, each panel's:",
        *(
            "    " + line
            for line in columns([(b.name, shown(b.value, b.dimension), b.source) for b in found.bounds])
        ),
        *wrapped(
            f"{step}{shown(found.step.angle, 'angle')} (assumption); all that follows is after rounding"
        ),
        "",
    ]
    if not found.answers:
        return [
            *said,
            *wrapped(
                "NOT FOUND: nothing that was tried closes and keeps the limits; widen them, or write a finer --round"
            ),
        ]
    if found.found == 0:
        said += ["NOT FOUND within these limits. The nearest that was found:", *columns(_motion_table(found))]
        for p in found.answers[0].panels:
            said += wrapped(f"{p.name} is at its limit of: {', '.join(p.binding) or 'none'}")
        said += ["", "Its dimensions, which do not move it as wanted:"]
        return said + description(found.answers[0]).splitlines()
    count = (
        f"{len(found.answers)} of the {found.found} that were found" if found.found > 1 else "the one found"
    )
    said += [f"Answers: {count}", *columns(_motion_table(found)), "", *columns(_whole_table(found))]
    said += wrapped(
        f"each differs from every other by {DISTINCT:.0%} or more in some throw or rod, or in the place of a yoke pin "
        f"by as much of its arm, or by {DISTINCT * WIDE * 180 / pi:.0f} deg in a throw's angle; what lies between "
        "them is likely to do too: ask again within narrower limits"
    )
    astray = shown(max(a.astray for a in found.answers), "angle")
    said += wrapped(f"whole steps leave them off what is wanted by up to {astray}")
    for k, a in enumerate(found.answers, 1):
        said += ["", f"To write in for answer {k}:", *description(a).splitlines()]
    return [
        *said,
        *wrapped(
            "torque and forces hold the piece at rest without friction, with the described counterweights, which "
            "wingwright balance fits anew; all else is for wingwright check and study, after it is written in"
        ),
    ]


def _angles(low: float, high: float) -> str:
    return f"{shown(low, 'angle').removesuffix(' deg')} to {shown(high, 'angle')}"


def _motion_table(found: Fit) -> list[list[str]]:
    """Give what the panels of the answers do as lines of texts, headings first."""
    head = ["", "panel", "from", "to", "lag", "transmission", "swivel", "rod ends, standing"]
    lines = [head]
    for k, a in enumerate(found.answers, 1):
        for p in a.panels:
            texts = [
                "" if v is None else shown(v, "angle")
                for v in (p.low, p.high, p.lag, p.transmission, p.swivel)
            ]
            pull = "" if p.rod is None else shown(p.rod, "force")
            lines.append([str(k) if p is a.panels[0] else "", p.name, *texts, pull])
    return lines


def _whole_table(found: Fit) -> list[list[str]]:
    """Give what the answers come to as a whole as lines of texts, headings first."""
    lines = [["", "peak torque, wheel", "hand force", "parts", "of these the best at"]]
    for k, a in enumerate(found.answers, 1):
        torque = "" if a.torque is None else shown(a.torque, "torque")
        hand = "" if a.hand is None else shown(a.hand, "force")
        if a.touching is None:
            parts = "not looked at: not whole"
        else:
            parts = f"TOUCH: {a.touching[0].where}" if a.touching else "clear of each other"
        lines.append([str(k), torque, hand, parts, ", ".join(a.best)])
    return lines
