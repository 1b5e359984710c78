"""The rigger's sheet: masses, centre of gravity, lift points, what is tied and what that takes, and dimensions."""

import math

import numpy as np

from analysis import bearing_loads
from analysis.finding import Finding
from analysis.parts.choice import Table
from analysis.sheets import poses
from analysis.sheets.elevations import Mark, elevations
from analysis.sheets.facts import GEOMETRY, HEADINGS, Facts, cautions, ending, row, source
from analysis.sheets.layout import Block, Listing, Sheet
from analysis.structure.situations import own_wind
from analysis.style import GREEN, VERMILION
from models.shown import shown
from sim import names
from sim.run import Run
from sim.weights import lacking

FIELDS = ("crank.*", "wheel.*", "stage.*.width", "stage.*.pitch", "stage.*.out", "stage.*.centres", "post.*", "panel.*",
          "material", "rods.*", "rod_ends.*", "site.*", "use.margin")  # fmt: skip
UNCOVERED = (
    "crane, slings, shackles and the lug itself; the ground under the crane; wind while it hangs or travels",
    "shocks of lifting and setting down: the loads here are of a piece that hangs still",
    "raising it from lying and carrying it on its side: wings and cranks then pull another way, and may pull harder",
)
MASSES = "Masses"
CENTRES = "Centre of gravity"
LIFTS = "Lift points"
SLINGS = "Two slings of equal length"
TIES = "What holding it still takes"
SIZES = "Overall dimensions"
HAND = f"torques/{names.HAND}/torque"
LEAN = "attitude/whole piece/lean"
STANDING = {"lifted": "hung", "gust-locked": "in the wind, wheel locked"}
"""Kinds of case in which it is held still, in words."""
STILL = "closed-form statics, no friction counted"
SLING_ANGLES = (90, 75, 60, 45, 30)
"""Degrees from level; below 30 nobody slings (ASME B30.9; memory)."""


def rigger(facts: Facts) -> Sheet:
    """Write the rigger's sheet."""
    blocks: tuple[Block, ...] = (
        cautions(),
        Listing("Before it is moved", _before(facts), ticked=True),
        _picture(facts),
        masses(facts),
        centres(facts),
        lifts(facts),
        slings(facts),
        ties(facts),
        sizes(facts),
    )
    return Sheet(
        "rigger",
        "Rigging sheet",
        facts.mechanism.name,
        "Masses, centres and holding loads for whoever lifts, moves and sets the piece. A competent "
        "rigger plans the lift.",
        (
            *blocks,
            *ending(facts, FIELDS, (*UNCOVERED, *(f"mass of {words}" for words in lacking(facts.mechanism)))),
        ),
    )


def _before(facts: Facts) -> tuple[str, ...]:
    m = facts.mechanism
    worst = max(
        (f for (_, what), f in facts.loads.bound.items() if what == bearing_loads.LARGEST),
        key=lambda f: f.value,
        default=None,
    )
    lines = [
        "Wheel tied so that it cannot turn: that holds cranks and panels "
        f"{'through the chains' if m.stages else ''}".strip()
        + ", with every chain, rod and key in place.",
        "Each panel tied to the post or a strongback as well: one link that parts lets its panel fall.",
        "Crankshafts tied separately before any chain, rod or coupling is taken off.",
        "Nobody under the piece or a panel, and no hand in the linkage, until the ties hold.",
        "All ties off again, and counted, before anybody turns the wheel.",
    ]
    if worst is not None:
        lines.append(
            f"Nobody turns the wheel while a panel is tied: the linkage then pulls up to {worst.shown} at "
            f"{_either(facts, worst.where)} (upper bound, {facts.loads.case(worst)})."
        )
    return tuple(lines)


def masses(facts: Facts) -> Table:
    """Give the masses of all that is described."""
    rows = [
        (name, str(count), shown(mass, "mass"), shown(count * mass, "mass"), where)
        for name, count, mass, where in poses.parts(facts.linkage)
    ]
    whole = poses.whole(facts.linkage).mass
    rows.append(("all of this", "", "", shown(whole, "mass"), "sum"))
    note = (
        "Weigh it: what the description does not say is not in it (see below), and sprockets count "
        "without their hubs. Load case: geometry."
    )
    return Table(MASSES, (("part", "how many", "each", "together", "source"), *rows), note)


def centres(facts: Facts) -> Table:
    """Give the centre of gravity with and without wings: where it rests, where it stands highest, and over the turn."""
    closed = facts.linkage
    whole, bare = poses.whole(closed), poses.without_wings(closed)
    rest, top = poses.resting(closed), poses.highest(closed)
    rows: list[tuple[str, ...]] = []
    for words, centre in (("whole piece", whole), ("without panels and rods", bare)):
        for pose, k in (("where it rests by itself", rest), ("where it stands highest", top)):
            rows.append(
                (
                    f"{words}, {shown(centre.mass, 'mass')}",
                    f"{pose}, crank at {k}°",
                    *_place(centre.places[k]),
                    GEOMETRY,
                )
            )
        low, high = centre.range
        rows.append((f"{words}, {shown(centre.mass, 'mass')}", "over the turn", *_span(low, high), GEOMETRY))
    head = ("of", "pose", "forward", "left", "above ground", "load case")
    return Table(
        CENTRES,
        (head, *rows),
        "Source: outlines, bars and discs as described, the post a steel tube from ground to top; from "
        "the post's axis. The wheel tied where the piece rests by itself is tied with the least pull on "
        "the tie.",
    )


def _place(at: np.ndarray) -> tuple[str, str, str]:
    return (
        shown(float(at[0]), "length"),
        shown(float(at[1]), "length"),
        shown(float(at[2]), "length"),
    )


def _span(low: np.ndarray, high: np.ndarray) -> tuple[str, str, str]:
    pairs = zip(_place(low), _place(high), strict=True)
    a, b, c = (x if x == y else f"{x} to {y}" for x, y in pairs)
    return a, b, c


def lifts(facts: Facts) -> Table:
    """Give the lift points with what hangs on each."""
    m = facts.mechanism
    head = (
        "point",
        "forward, left, above ground",
        "hangs on it alone",
        "post leans by at most",
        "load case",
        "source",
    )
    if not m.lifts:
        none = "none described: write [[lift]]"
        return Table(LIFTS, (head, (none, "", "", "", "", "")))
    whole = poses.whole(facts.linkage).mass
    runs = {r.label: r for r in facts.loads.campaign.of("lifted")}
    rows: list[tuple[str, ...]] = []
    for p in m.lifts:
        own = next((r for r in runs.values() if f"'{p.name}'" in r.label), None)
        lean = "not found: see the load cases left out"
        if own is not None:
            lean = shown(float(np.max(own[LEAN])), "angle")
        place = ", ".join(shown(x, "length") for x in (p.forward, p.out, p.up + m.crank_height))
        rows.append(
            (
                p.name,
                place,
                f"{shown(whole, 'mass')}, {shown(whole * m.gravity, 'force')}",
                lean,
                "" if own is None else facts.loads.names.get(own.label, own.label),
                "place: description; " + STILL,
            )
        )
    return Table(
        LIFTS,
        (head, *rows),
        "Mass of what is described, hanging still: add what is not, and the factor for lifting that the "
        "crane's rules ask for. Whether lug and post carry it is for the structural engineer.",
    )


def slings(facts: Facts) -> Table:
    """Give the pull in each of two slings by their angle from level."""
    weight = poses.whole(facts.linkage).mass * facts.mechanism.gravity
    rows = [
        (
            f"{a}°",
            f"{1 / (2 * math.sin(math.radians(a))):.3f}",
            shown(weight / (2 * math.sin(math.radians(a))), "force"),
        )
        for a in SLING_ANGLES
    ]
    return Table(
        SLINGS,
        (("each from level", "pull over weight", "pull in each"), *rows),
        "Weight / (2 sin angle), both sharing alike: statics. Not below 30° from level (ASME B30.9; "
        "memory). Load case: geometry, mass of what is described.",
    )


def ties(facts: Facts) -> Table:
    """Give the torque at the wheel and at the cranks, and the rods' forces, that hold it still, with margin."""
    m = facts.mechanism
    rows: list[tuple[str, ...]] = []
    for kind, words in STANDING.items():
        runs = [r for r in facts.loads.campaign.of(kind) if HAND in r.channels]
        if not runs:
            why = next(
                (g.left_out for g in facts.loads.campaign.groups if g.case.kind == kind and g.left_out),
                "not run",
            )
            rows.append((words, f"not found: {why}", "", "", kind, ""))
            continue
        rows += _tied(facts, runs, kind, words)
    head = ("held", "what", "takes", f"times {m.use.margin:g}", "load case", "source")
    return Table(
        TIES,
        (head, *rows),
        f"Margin {m.use.margin:g}: {source(m, 'use.margin')}. A tie at the rim pulls along it. One at a "
        "yoke pin, in place of its rod, pulls along the rod's line; elsewhere it pulls more. Where the "
        "sides are alike the worse of both." + "".join(f" Attention: {w}." for w in own_wind(facts.loads)),
    )


def _tied(facts: Facts, runs: list[Run], kind: str, words: str) -> list[tuple[str, ...]]:
    m = facts.mechanism
    case = ", ".join(dict.fromkeys(facts.loads.names.get(r.label, kind) for r in runs))
    torque = _largest(runs, HAND)
    radius = m.wheel.radius
    found = [
        ("torque at the wheel", torque, "torque"),
        (
            f"tie at the {'grip' if m.wheel.kind == 'handle' else 'rim'}, r {shown(radius, 'length')}",
            torque / radius,
            "force",
        ),
    ]
    for channel, name in (
        (f"torques/{names.coupling(s.name)}/torque", s.name) for s in m.sides[: _count(facts)]
    ):
        if channel in runs[0].channels:
            who = "each crankshaft" if _count(facts) == 1 and len(m.sides) > 1 else f"{name} crankshaft"
            found.append((f"torque at {who}, no chain or coupling on it", _largest(runs, channel), "torque"))
    found += [
        (f"tie at {_either(facts, f.where).replace('rod end at yoke', 'yoke pin')}", f.value, "force")
        for f in _yokes(facts, {facts.loads.names.get(r.label, kind) for r in runs})
    ]
    return [
        (words, what, shown(value, dim), shown(m.use.margin * value, dim), case, STILL)
        for what, value, dim in found
    ]


def _either(facts: Facts, joint: str) -> str:
    """Name a joint without its side where the sides are alike."""
    return joint.removeprefix("left ").removeprefix("right ") if facts.loads.mirrored else joint


def _count(facts: Facts) -> int:
    return 1 if facts.loads.mirrored else len(facts.mechanism.sides)


def _yokes(facts: Facts, cases: set[str]) -> list[Finding]:
    """Give the rods' forces at their yokes in some load cases: the worse of two sides that are alike."""
    best: dict[str, Finding] = {}
    for f in (f for case in sorted(cases) for f in facts.loads.envelope.by_case.get(case, ())):
        if f.what != bearing_loads.LARGEST or not f.where.endswith("rod end at yoke"):
            continue
        name = _either(facts, f.where)
        best[name] = max(best.get(name, f), f, key=lambda f: f.value)
    return [best[k] for k in sorted(best)]


def _largest(runs: list[Run], channel: str) -> float:
    """Give the largest size of a channel's value in some runs."""
    return max(abs(r.extreme(channel, kind).value) for r in runs for kind in ("max", "min"))


def sizes(facts: Facts) -> Table:
    """Give the dimensions that the piece sweeps, and those where it rests by itself."""
    closed = facts.linkage
    low, high = poses.reach(closed)
    rest = poses.resting(closed)
    swept, still = high.max(axis=0) - low.min(axis=0), high[rest] - low[rest]
    rows = [
        row(f"{words}, {name}", float(span[k]), "length", GEOMETRY, "closed loops, corners of panels")
        for words, span in (("swept over the turn", swept), (f"at rest, crank at {rest}°", still))
        for k, name in ((1, "from wing to wing"), (0, "forward and back"), (2, "ground to top"))
    ]
    return Table(
        SIZES,
        (HEADINGS, *rows),
        "Panels, rods' pins, wheel, crankshafts, post, body plate, arms and base plate or feet as far as they are "
        "described; not brackets, guards, bolts or what is underground.",
    )


def _picture(facts: Facts) -> Block:
    m, closed = facts.mechanism, facts.linkage
    whole, bare = poses.whole(closed), poses.without_wings(closed)
    marks = [Mark((p.forward, p.out, p.up), f"lift point '{p.name}'", GREEN) for p in m.lifts]
    for words, centre, color in (("centre of gravity", whole, VERMILION), ("without wings", bare, GREEN)):
        x, y, z = (float(v) for v in centre.places[0])
        marks.append(Mark((x, y, z - m.crank_height), f"{words}, {centre.mass:.0f} kg", color))
    return elevations(
        closed,
        "Centre of gravity and lift points, crank at 0°",
        tuple(marks),
        "Heights above ground in mm; not to scale.",
    )
