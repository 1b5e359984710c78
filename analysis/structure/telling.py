"""All that is told of what carries a piece: lines for the schedule and tables."""

from analysis.parts.basis import Basis
from analysis.parts.choice import Line, Table
from analysis.structure import arms, body, post, tipping
from analysis.structure.base_loads import AXES, NOT_COVERED, WORDS, BaseLoad, base_loads
from analysis.structure.bolts import table as bolt_table
from analysis.structure.situations import Dead
from models.shown import shown
from sim.weights import lacking


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give the lines of arms, body plate, post and stand, as far as they are described."""
    return (*arms.lines(basis), *body.lines(basis), *post.lines(basis), *tipping.lines(basis))


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give the tables: weights, base loads, bolts, lean of a stand, and what is not covered."""
    m, rows = basis.mechanism, base_loads(basis.loads)
    found = [weights(basis), loads(rows)]
    if m.post is not None:
        found.append(bolt_table(m, rows))
    return (*found, *tipping.tables(basis), left_out(basis))


def weights(basis: Basis) -> Table:
    """Give every part's weight and the height of its centre over the ground, at crank angle 0."""
    dead = Dead(basis.linkage)
    rows = [("part", "mass", "centre over ground", "source")]
    for p in dead.parts:
        high = float(p.at[0, 2]) if p.at.ndim == 2 else float(p.at[2])
        rows.append((p.name, shown(p.mass, "mass"), shown(high, "length"), p.source))
    rows.append(("together", shown(dead.mass, "mass"), "", ""))
    return Table("Dead weight", tuple(rows), "not in it: " + "; ".join(lacking(basis.mechanism)))


def loads(rows: tuple[BaseLoad, ...]) -> Table:
    """Give base loads as a table."""
    head = (
        "case",
        "Fx, N",
        "Fy, N",
        "Fz, N",
        "Mx, N m",
        "My, N m",
        "Mz, N m",
        "sway at the crank",
        "how found",
    )
    told = [
        (
            r.case,
            *(str(round(x)) for x in (*r.force, *r.moment)),
            "" if r.sway is None else shown(r.sway, "length"),
            r.how,
        )
        for r in rows
    ]
    note = f"{WORDS} {AXES} Sway: the post as a tube clamped at the ground, which in truth gives."
    return Table("Loads on the base", (head, *told), note)


def left_out(basis: Basis) -> Table:
    """Give what is not covered, and load cases that came to nothing with the reason."""
    why = [(g.name, g.left_out) for g in basis.loads.campaign.groups if g.left_out]
    rows = [("what", "why"), *((x, "not covered by this program") for x in NOT_COVERED), *why]
    return Table("Not in the loads on the base", tuple(rows), WORDS)
