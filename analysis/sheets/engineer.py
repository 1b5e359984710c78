"""The structural engineer's load sheet: what acts on what is not judged here, unfactored, with axes and cases."""

from collections.abc import Sequence

from analysis import bearing_loads
from analysis.finding import Finding
from analysis.parts.choice import Line, Table
from analysis.sheets import rigger
from analysis.sheets.elevations import Mark, elevations
from analysis.sheets.facts import Facts, cautions, ending, of_schedule
from analysis.sheets.layout import Blanks, Block, Drawing, Sheet, Words
from analysis.style import GREEN
from models.shown import shown

FIELDS = ("*",)
"""Loads rest on everything."""
UNCOVERED = (
    "factors and combinations of loads: the code's, chosen by the structural engineer",
    "ice and snow on the wings, earthquake, the site's own wind, vortex shedding, flutter of wings in a steady wind",
    "foundation, anchors, base plate and its welds beyond what a table here says",
    "fatigue of post and arms; dents and drillings in the post",
)
TITLES = ("dead weight", "loads on the base", "bolts of the base", "not in the loads", "lean at")
"""Beginnings of titles of the schedule's tables that are for the engineer."""
FAMILIES = ("bearing arm", "arm", "body", "post", "shop stand", "stand", "base")
"""Beginnings of the families of the schedule's lines that are for the engineer."""
BASE = "loads on the base"
BEARINGS = "Forces on post and arms"
CASES = "Load cases"


def engineer(facts: Facts, tables: Sequence[Table] | None = None) -> Sheet:
    """Write the engineer's sheet.

    Parameters
    ----------
    facts : what the sheets are written from.
    tables : base loads and what goes with them; by default those of the schedule.
    """
    given = of_schedule(facts, *TITLES) if tables is None else tuple(tables)
    blocks: list[Block] = [
        cautions(),
        Words(
            "For information",
            (
                "These are loads as the program finds them: unfactored, not combined. They are no design "
                "and no approval. The licensed structural engineer decides which of them count, adds "
                "those that are not covered, and judges post, base, anchors, foundation and every weld "
                "that holds the piece up.",
            ),
        ),
        Blanks(
            "Structural engineer of record",
            ("Name", "Licence, number and state", "Reviewed: date", "Remarks"),
        ),
        *given,
        axes(facts),
    ]
    if not any(t.title.lower().startswith(BASE) for t in given):
        blocks.append(Words("Base reactions", ("Not found: this schedule has no loads on the base.",)))
    lines = tuple(x for x in facts.schedule.lines if x.family.lower().startswith(FAMILIES))
    if lines:
        blocks.append(line_table("What carries the piece, for information", lines))
    blocks += [rigger.centres(facts), bearings(facts), cases(facts)]
    return Sheet(
        "engineer",
        "Load sheet for the structural engineer",
        facts.mechanism.name,
        "Dead, wind, people and operating loads, unfactored, on base, post and arms.",
        (*blocks, *ending(facts, FIELDS, UNCOVERED)),
    )


def axes(facts: Facts) -> Drawing:
    """Draw the piece with the axes that the loads on the base have."""
    m = facts.mechanism
    side = "left" if m.wheel.out > 0 else "right"
    where = f"on the {side} of the post, {shown(abs(m.wheel.out), 'length')} off its axis"
    where = where if m.wheel.out else "in the plane of the post's axis"
    foot = (0.0, 0.0, -m.crank_height)
    word = "wheel" if m.wheel.kind == "disc" else "handle"
    marks = [
        Mark((0.0, 0.0, 0.0), "crank's axis meets post's axis", GREEN),
        Mark((0.0, m.wheel.out, m.wheel.height - m.crank_height), f"{word}'s axis"),
    ]
    post = (
        ""
        if m.post is None
        else (
            f"Post Ø {shown(m.post.outside, 'length')}, wall {shown(m.post.wall, 'length')}, top "
            f"{shown(m.crank_height + m.post.above, 'length')} above ground. "
        )
    )
    note = (
        f"{post}The {word} is {where}. Axes at the foot of the post, at ground level: x forward, y to the "
        "left wing, z up; a weight is -z. Moments by the right hand: +Mx tips the top toward the right "
        "wing (-y), +My tips it forward, +Mz turns it against the clock seen from above. Forces on post "
        "and arms are in the same directions, each at its own bearing or hinge. Not to scale."
    )
    return elevations(facts.linkage, "Axes", tuple(marks), note, axes=foot)


def bearings(facts: Facts) -> Table:
    """Give what every bearing and the innermost hinges put on post and arms, blocked panels apart."""
    m = facts.mechanism
    inner = tuple(f"{s.name} {s.panels[0].name} hinge" for s in m.sides)
    on_panels = tuple(f"{s.name} {p.name} hinge" for s in m.sides for p in s.panels[1:])
    rows: list[tuple[str, ...]] = []
    for (joint, what), f in facts.loads.met.items():
        if what not in (bearing_loads.LARGEST, bearing_loads.MOMENT) or joint in on_panels:
            continue
        if not (joint in inner or joint.endswith(("bearing", "bearings")) or " bearing " in joint):
            continue
        rows.append(
            (
                joint,
                what,
                f.shown,
                _directions(facts, f),
                _bound(facts, joint, what),
                facts.loads.case(f),
                f.source,
            )
        )
    head = (
        "at",
        "what",
        "value",
        "forward, left, up",
        "with a panel blocked, upper bound",
        "load case",
        "source",
    )
    if not rows:
        rows.append(("nothing was run", "", "", "", "", "", ""))
    return Table(
        BEARINGS,
        (head, *rows),
        "What the moving part puts on the part nearer the ground, weights in it: unlike the loads on the base "
        "these are not in addition to the dead weight. The worst of each, which do not come at one time. "
        "Where the sides are alike, what is worst on one may happen on the other. In the upper bound only "
        "the blocked panel's rod gives: a torque limiter or a slipping hub bounds it.",
    )


def _directions(facts: Facts, f: Finding) -> str:
    vector = facts.loads.vector(f)
    return (
        ""
        if vector is None
        else ", ".join(f"{round(x)}" for x in vector) + (" N" if f.dimension == "force" else " N m")
    )


def _bound(facts: Facts, joint: str, what: str) -> str:
    f = facts.loads.bound.get((joint, what))
    return "not found" if f is None else f.shown


def cases(facts: Facts) -> Table:
    """Give all load cases with their figures, where these come from, and why a case was left out."""
    rows = [
        (
            g.name,
            g.case.kind,
            g.case.words,
            "left out: " + g.left_out if g.left_out else str(len(g.runs)),
            g.case.source,
        )
        for g in facts.loads.campaign.groups
    ]
    return Table(
        CASES,
        (("load case", "kind", "figures", "runs", "source"), *rows),
        "None of them replaces a load case of the code.",
    )


def line_table(title: str, lines: Sequence[Line]) -> Table:
    """Give lines of the schedule as a table: what is described, what would do, what governs and all that fails."""
    rows: list[tuple[str, ...]] = []
    for x in lines:
        checks = () if x.described is None else sorted(x.described.checks, key=lambda c: c.margin)
        told = [c for k, c in enumerate(checks) if k == 0 or not c.holds]
        rows.append(
            (
                f"{x.family}, {x.where}",
                "" if x.described is None else x.described.size,
                "; ".join(
                    f"{c.words} ({'; '.join(w for w in (c.case, c.source, c.note) if w)})" for c in told
                ),
                "" if x.chosen is None else f"{x.chosen.size} {x.system}".strip(),
                "; ".join(x.notes),
            )
        )
    return Table(
        title,
        (
            ("part", "described", "its tightest check, and all that fail", "smallest that would do", "notes"),
            *rows,
        ),
    )
