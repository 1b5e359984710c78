"""What still holds when a part fails, what comes down, and what would keep it up.

What breaks is each chain, rod and key in turn, as in the study's load cases; how far and how fast it falls is what the
runs of those cases say, where they were run.
"""

import numpy as np

from analysis.handle import KINETIC
from analysis.parts.basis import Basis
from analysis.parts.choice import Table
from models.mechanism import Mechanism, Side
from models.shown import shown
from sim import names
from sim.run import Run
from sim.scenarios.broken import parts

TITLE = "When a part fails"
BALL = "a washer wider than the ball on each rod end's pin: the eye stays on when the ball pulls out"
TETHER = "a tether of wire rope from the panel to its body that stops the swing short of anybody's head"
STOP = "a stop on either side of the hinge's travel"


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give a row for each part that can break."""
    m = basis.mechanism
    runs = {str(r.scenario.get("part")): r for r in basis.loads.campaign.of("broken")}
    rows: list[tuple[str, ...]] = [("fails", "set free", "still holds", "it falls", "keeps it up")]
    for part in parts(basis.linkage):
        freed, holding, keeps = fails(m, part)
        rows.append((part if not part.endswith("coupling") else f"key at the {part}", freed, holding,
                     falls(runs.get(part), m, part), keeps))  # fmt: skip
    note = (
        "Each by itself, the wheel held. A washer keeps an eye on its pin and helps nothing where the rod "
        "itself breaks. "
        "Retention is common practice, no source, and not sized here: whoever answers for the rigging and "
        "the structure "
        "sizes it for the fall, not for the weight. Until it is there, keep people out from below the wings."
    )
    return (Table(TITLE, tuple(rows), note),)


def fails(m: Mechanism, part: str) -> tuple[str, str, str]:
    """Say what a broken part sets free, what still holds, and what would keep it up.

    Parameters
    ----------
    m : the sculpture.
    part : a chain, a rod or a coupling, by its name.
    """
    count = len(m.stages)
    for k in range(1, count + 1):
        if part == names.stage(k):
            between = ", ".join(names.stage(j) for j in range(k + 1, count + 1))
            still = f"{between} and the couplings turn with the wings" if between else "nothing but friction"
            return (
                "all wings, which turn the crankshafts",
                f"hinges and rods; no brake: {still}",
                "a lock at the crankshafts, not at the wheel; a second strand or chain beside it",
            )
    for side in m.sides:
        if part == names.coupling(side.name):
            return (
                f"all wings of the {side.name} side, which turn their crankshaft",
                "hinges and rods" + ("; the other side stays with the wheel" if len(m.sides) > 1 else ""),
                f"a lock at the {side.name} crankshaft; a clamp beside the key",
            )
        for number, panel in enumerate(side.panels):
            if part == names.rod(side.name, panel.name):
                return _rod(side, number)
    raise ValueError(f"'{part}' is no chain, rod or coupling of this piece")


def _rod(side: Side, number: int) -> tuple[str, str, str]:
    panel, outer = side.panels[number], side.panels[number + 1 :]
    hinge = (
        "its hinge alone" if number == 0 else f"its hinge on the {side.panels[number - 1].name} panel alone"
    )
    freed = f"the {side.name} {panel.name} panel, which swings on its hinge"
    holding = hinge
    if outer:
        rides = " and ".join(p.name for p in outer)
        verb = "rides" if len(outer) == 1 else "ride"
        freed += f"; {rides} {verb} on it"
        holding += f"; the rod of {outer[0].name} holds part of it, beyond what it was chosen for"
    return freed, holding, f"{BALL}; {TETHER}; {STOP}"


def falls(run: Run | None, m: Mechanism, part: str) -> str:
    """Say how far and how fast what is set free moves in a run, or that none was made."""
    if run is None or len(run.time) == 0:
        return "not known: not among the cases that were run"
    said: list[str] = []
    for side in m.sides:
        for panel in side.panels:
            channel = f"panels/{side.name} {panel.name}/angle"
            if channel not in run.channels or not concerns(part, side, panel.name):
                continue
            swing = float(np.ptp(run[channel]))
            speed = f"bodies/{names.panel(side.name, panel.name)}/velocity"
            fast = float(np.max(run.channels[speed].size)) if speed in run.channels else None
            at = "" if fast is None else f", its middle at up to {shown(fast, 'speed')}"
            said.append(f"{side.name} {panel.name} swings through {shown(swing, 'angle')}{at}")
    if KINETIC in run.channels:
        said.append(f"energy up to {shown(float(np.max(run[KINETIC])), 'energy')}")
    return "; ".join(said) if said else "nothing that was recorded"


def concerns(part: str, side: Side, panel: str) -> bool:
    """Say whether a broken part sets a panel free: a chain all, a key its side, a rod its panel and those on it."""
    if part == names.coupling(side.name):
        return True
    own = [p.name for p in side.panels]
    for k, name in enumerate(own):
        if part == names.rod(side.name, name):
            return own.index(panel) >= k
    return part.endswith("chain")
