"""The sheet for those who keep the piece: when to look at what, what to measure, and when to take it out of use."""

import numpy as np

from analysis import chain_fit
from analysis.parts.choice import Table
from analysis.sheets.facts import GIVEN, Facts, cautions, ending, fine, of_schedule, size, source, turned
from analysis.sheets.layout import Blanks, Block, Listing, Sheet, Words
from analysis.sheets.wear import LONGEST, SHARE, lasting, spell
from models.shown import shown
from sim import names

FIELDS = (
    "use.*", "stage.*.kind", "stage.*.pitch", "stage.*.centres", "stage.*.slack", "crank.bearings.*", "crank.runout",
    "crank.coupling.kind", "crank.coupling.backlash", "rods.*", "rod_ends.*", "rod.*", "hinges.*", "friction.*",
    "keyways.*",
)  # fmt: skip
UNCOVERED = (
    "tightening torques of bolts: by the maker of bolt and part, and by who designed the joint",
    "corrosion, lubricants, paint; wear by dust, salt and weather beyond what a check here says",
    "anything a maker's sheet says of its part: that goes before this",
)
OFTEN = "How often, from wear"
MEASURED = "What to measure, and when it is out"
PITCHES = 20
"""Pitches over which a chain is measured, an even number of them: common practice, no source."""
PRACTICE = "common practice, no source"
UNKNOWN = "not known: take the maker's limit"
DAILY = (
    "Turn the wheel slowly once round, both ways: no knock, no stiff place, both sides alike.",
    "Look for what is bent, loose, cracked or missing: panels, rods, rod ends, guards, bolts' marks.",
    "Guards closed, no cord, wire or cloth near the linkage, no sharp edge that a hand can reach.",
)
MONTHLY = (
    "Measure what the table says, write it down, compare with the last time.",
    "Bolts' paint marks in line; retaining rings, keys and set screws in place.",
    "Webs' weld toes and the ends of hinges: clean, look with a lamp for cracks and rust that weeps.",
    "Rod ends: no play by hand, no rust, jam nuts tight, both eyes free to swivel at every crank angle.",
    "Chains: clean, oiled as their maker says, sprockets' teeth not hooked.",
    "Post's foot, anchor nuts, base: no gap, no crack, no standing water. Only look: judging is the engineer's.",
)
AFTER = (
    "Lock the wheel before anybody comes near; look from the ground first.",
    "Panels: bent, torn, or hanging otherwise than their twin on the other side at the same crank angle?",
    "Rods straight (roll a straight edge along), rod ends not cracked at the neck.",
    "Crankshaft: runout at the middle as written down; a change is a bent shaft.",
    "Keyways and coupling: both sides in phase, insert whole, no key sheared.",
    "Chains: on the sprockets, no stiff link, slack as written down.",
    "Post plumb, foot and anchors unmoved; else fence it off and call the structural engineer.",
    "Turn slowly by hand with nobody near; the pull at the rim is as written down.",
    "Anything not as before: keep it locked until who built it has judged it.",
)


def maintenance(facts: Facts) -> Sheet:
    """Write the sheet for those who keep the piece."""
    use, reduction = facts.mechanism.use, facts.mechanism.reduction
    counted = (
        f"Counted on: {use.hours:g} hours of turning a year at {shown(abs(use.speed), 'angular_speed')} of "
        f"the wheel, {use.turns(reduction):.0f} turns of the crank a year, for {use.years:g} years. With "
        "more use than that, every interval here is shorter in proportion."
    )
    origin = (
        f"Hours {source(facts.mechanism, 'use.hours')}; speed {source(facts.mechanism, 'use.speed')}; "
        f"years {source(facts.mechanism, 'use.years')}."
    )
    blocks: tuple[Block, ...] = (
        cautions(),
        Words("Use", (counted, origin)),
        Listing("Every day that it is open", DAILY, ticked=True),
        Listing("Every month, and after the first week", MONTHLY, ticked=True),
        often(facts),
        measured(facts),
        *of_schedule(facts, "wear", "lives", "life"),
        Listing("After a storm, a blow or vandalism", AFTER, ticked=True),
        Blanks(
            "Written down when it was new",
            (
                "Pull at the rim, turned slowly",
                "Runout at mid-span, left; right",
                "Chain over 20 pitches, each stage",
                "Bush clearance, each bearing",
                "Play of each rod end",
                "Date, name",
            ),
        ),
    )
    return Sheet(
        "maintenance",
        "Maintenance sheet",
        facts.mechanism.name,
        "When to look, what to measure, what its limit is. Whoever finds something beyond a limit locks the wheel.",
        (*blocks, *ending(facts, FIELDS, UNCOVERED)),
    )


def often(facts: Facts) -> Table:
    """Give when to look at what wears, from the schedule's checks of wear."""
    rows = [
        (
            x.part,
            spell(x.years),
            spell(x.interval),
            f"{x.check.what}: {shown(x.check.demand, x.check.dimension)} of "
            f"{shown(x.check.allowed, x.check.dimension)}",
            x.check.case,
            x.check.source,
        )
        for x in sorted(lasting(facts.schedule.lines), key=lambda x: x.years)
    ]
    if not rows:
        rows = [("no part of the schedule has a wear that is known", "not known", "every month", "", "", "")]
    head = ("part", "lasts, by its wear", "look every", "check", "load case", "source")
    return Table(
        OFTEN,
        (head, *rows),
        f"Wear is taken to grow evenly with use. Interval: {SHARE:g} of the life, at most {spell(LONGEST)} "
        "(assumptions: coefficients of wear scatter tenfold). A part that is not here is looked at every "
        "month.",
    )


def measured(facts: Facts) -> Table:
    """Give what is measured, its figure when new, and its limit."""
    m = facts.mechanism
    rows = [*_chains(facts), *_rod_ends(facts), *_bushes(facts)]
    for s in m.sides[:1]:
        c, word = s.crank, source(m, "crank.runout")
        rows.append(
            (
                "runout of each crankshaft at mid-span, on an indicator",
                f"{fine(c.runout)} ({word})",
                "any change of it: a bent or cracked shaft",
                PRACTICE,
            )
        )
        if c.coupling.kind != "clamp":
            rows.append(
                (
                    f"free angle of each coupling ({c.coupling.kind})",
                    turned(c.coupling.backlash),
                    "insert cracked, hard, "
                    + ("or twice as free as new" if c.coupling.backlash > 0 else "or free at all by hand")
                    + " (assumption)",
                    "new: " + source(m, "crank.coupling.backlash"),
                )
            )
    rows += _wheel(facts)
    rows.append(
        (
            "bolts: paint marks",
            "in line",
            "any that has turned",
            f"{PRACTICE}; tightening torques are not judged",
        )
    )
    return Table(
        MEASURED,
        (("what", "new", "out at", "source"), *rows),
        "Load case: geometry, but where a row says another.",
    )


def _chains(facts: Facts) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for k, s in enumerate(facts.mechanism.stages, 1):
        if s.kind != "chain":
            continue
        new = PITCHES * s.pitch
        rows.append(
            (
                f"stage {k} chain, {PITCHES} pitches, taut, between alike edges of two rollers",
                size(new),
                f"{size(new * (1 + chain_fit.WEAR))}: {100 * chain_fit.WEAR:g} % longer",
                "1.5 % on fixed centres, maker's guidance, read",
            )
        )
        fit = chain_fit.fitted(s)
        if fit is not None and not isinstance(fit, str) and s.tight == 0 and s.tensioner is None:
            most = chain_fit.SLACK * fit.span
            already = (
                "; beyond it from the start: choose other links or centres" if fit.sideways > most else ""
            )
            rows.append(
                (
                    f"stage {k} chain, sideways movement of a strand's middle, from straight",
                    size(fit.sideways),
                    f"{size(most)}: {100 * chain_fit.SLACK:g} % of the span{already}",
                    "for vertical or reversing drives; maker's guidance; take up slack by shaft or idler",
                )
            )
    return rows


def _rod_ends(facts: Facts) -> list[tuple[str, ...]]:
    limits = [
        x
        for x in lasting(facts.schedule.lines)
        if x.part.startswith("rod end") and x.check.dimension == "length"
    ]
    if not limits:
        return [("play of each rod end, pushed and pulled along the rod", "none by hand", UNKNOWN, "")]
    worst = min(limits, key=lambda x: x.check.allowed)
    return [
        (
            "play of each rod end, pushed and pulled along the rod",
            "none by hand",
            f"{fine(worst.check.allowed)}: wear of the liner",
            worst.check.source,
        )
    ]


def _bushes(facts: Facts) -> list[tuple[str, ...]]:
    m = facts.mechanism
    rows: list[tuple[str, ...]] = []
    limits = [x for x in lasting(facts.schedule.lines) if "bush" in x.part and x.check.dimension == "length"]
    for k, s in enumerate(m.sides[0].crank.stations, 1):
        if s.kind != "bush":
            rows.append((f"crankshaft bearing {k} ({s.kind})", "turns without noise", UNKNOWN, ""))
            continue
        new = fine(s.clearance) if s.clearance > 0 else "not described: write it down when new"
        worst = min(limits, key=lambda x: x.check.allowed, default=None)
        if worst is None:
            out = UNKNOWN
        elif s.clearance > 0:
            out = f"{fine(s.clearance + worst.check.allowed)}: new and the wear of its lining"
        else:
            # Nobody said what it has when new: a limit that leaves it out would condemn a good bush.
            out = f"{fine(worst.check.allowed)} more than when new: the wear of its lining"
        rows.append(
            (
                f"crankshaft bush {k}, clearance on the diameter, lifting the shaft",
                new,
                out,
                GIVEN if worst is None else worst.check.source,
            )
        )
    return rows


def _wheel(facts: Facts) -> list[tuple[str, ...]]:
    """Give the pull that turns it slowly, from the slow turn, and the torque limiter's."""
    m = facts.mechanism
    rows: list[tuple[str, ...]] = []
    turns = [r for r in facts.loads.campaign.of("turn") if f"torques/{names.HAND}/torque" in r.channels]
    if turns:
        run = turns[0]
        most = float(np.max(run.channels[f"torques/{names.HAND}/torque"].values))
        word = "grip" if m.wheel.kind == "handle" else "rim"
        rows.append(
            (
                f"largest pull at the {word}, turned slowly forward, on a spring balance",
                f"{shown(most / m.wheel.radius, 'force')} computed; write down the true one",
                "a quarter more or less than when new (assumption)",
                f"simulated run, load case {facts.loads.names.get(run.label, run.label)}",
            )
        )
    if m.limiter is not None:
        rows.append(
            (
                "torque at which the limiter slips",
                shown(m.limiter.torque, "torque"),
                "a tenth off (assumption)",
                GIVEN,
            )
        )
    free = next((f for f in chain_fit.lost_motion(m) if f.dimension == "angle"), None)
    if free is not None:
        rows.append(
            (
                "free angle of the wheel on reversing, cranks held",
                f"{free.shown} of new chains",
                "more than as written down when new: measure chains, couplings and keys",
                free.source,
            )
        )
    return rows
