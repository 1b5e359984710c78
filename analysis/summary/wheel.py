"""The summary's rows on the wheel: the hand, letting go, and what could hurt."""

from collections.abc import Sequence

import numpy as np

from analysis import feel, handle, safety
from analysis.finding import Finding, worst
from analysis.spreads import Range
from analysis.study import Study
from analysis.summary.layout import si, span
from analysis.summary.motion import Row, at
from models.people import ASSUMED, by_age, people
from models.shown import shown
from sim.friction_levels import LEVELS
from sim.run import Run

FORCE = "largest hand force"
KICK = "largest force with which the wheel drives the hand"
STIRS = 0.01
"""Rim speed, m/s, below which a wheel stands."""
DRIVEN = "longest unbroken angle of the wheel over which it drives the hand"
POWER = "mean power of the hand"
PEAK = "peak rim or grip speed after letting go"
BEYOND = "share of the turn beyond the strength of the "


def ranges(study: Study, run: Run) -> dict[str, Range]:
    """Give what depends on friction in a run, by what it is."""
    return {r.nominal.what: r for r in study.ranges if r.nominal.case == run.label}


def values(r: Range) -> list[float]:
    """Give a range's values, without what never came to be."""
    return [f.value for f in (r.low, r.nominal, r.high) if f is not None]


def between(r: Range) -> str:
    """Give a range in words."""
    return span(values(r), r.nominal.dimension)


def hand(study: Study) -> list[Row]:
    """Give what turning asks of a hand, and who has it."""
    own = ranges(study, study.turn)
    force, kick, driven = own[FORCE], own[KICK], own[DRIVEN]
    if max(values(kick)) > 0:
        kicks = f"{between(kick)}, on end for {between(driven)} of the wheel"
    else:
        kicks = "none, the hand pushes all the way round"
    starts = {way: [feel.start_of(study.linkage, level, way) for level in LEVELS] for way in (1, -1)}
    forces = {way: [s.force for s in found] for way, found in starts.items()}
    rows = [
        ("newtons at the rim", "or grip, over low to high friction:"),
        ("hand, slow turn", f"{between(force)}{at(force.nominal)}; mean power {si(between(own[POWER]))}"),
        ("kick: drives the hand", kicks),
        ("starts it", f"{span(forces[1], 'force')} at {np.degrees(starts[1][1].crank):.0f} deg; backward "
         f"{si(span(forces[-1], 'force'))}"),
        ("youngest strong enough", f"start: {youngest(forces[1])}; whole turn: {_all_round(own)}; {ASSUMED}"),
        ("youngest that reaches", _reaching(study)),
    ]  # fmt: skip
    return rows + [_cranked(run) for run in study.campaign.of("crank")]


def _reaching(study: Study) -> str:
    """Name who reaches the wheel, by statures where they differ."""
    verb, _, who = study.reach[0].note.removeprefix("youngest that ").partition(": ")
    parts = [part.split(" (") for part in who.removesuffix(" of stature)").split(" of stature), ")]
    if len({label for label, _ in parts}) == 1:
        return (
            f"{parts[0][0]}, short or tall, {verb.replace('reaches ', '').replace('follows it', 'follows')}"
        )
    words = ", ".join(f"{label} ({percentile})" for label, percentile in parts)
    return f"{words.replace(' percentile', '')} percentile of stature, {verb.replace('reaches ', '')}"


def youngest(forces: Sequence[float]) -> str:
    """Name the youngest that can push a force, with those at low and at high friction where they differ."""
    low, nominal, high = (feel.youngest(f) for f in forces)
    words = nominal if nominal != "none" else "nobody"
    return words if low == high else f"{words} ({low} to {high})"


def _all_round(own: dict[str, Range]) -> str:
    """Name the youngest with the strength for the whole slow turn, whatever the friction."""
    for person in by_age():
        r = own.get(f"{BEYOND}{person.label}")
        if r is not None and max(values(r)) == 0:
            return person.label
    return "nobody"


def _cranked(run: Run) -> Row:
    """Say what becomes of somebody who turns it."""
    found = {f.what: f for f in handle.findings(run)}
    who = people()[str(run.scenario["person"])].label
    if not found:
        return who, f"FAILED: {run.reason}"
    turns, fast, limit = (found[w] for w in ("turns of the crank made", "highest wheel speed", _LIMIT))
    done = f"STUCK after {turns.shown} turns" if turns.beyond else "gets it round"
    return who, (
        f"{done}: {si(found[FORCE].shown)}, {fast.shown.removesuffix(' rpm')} of {fast.note.removeprefix('wanted ')}, "
        f"at the limit {100 * limit.value:.0f} % of the time"
    )


_LIMIT = "share of the time at the limit of strength or power"


def let_go(study: Study) -> list[Row]:
    """Give what the wheel does after letting go at the worst angle, with its ranges."""
    if not study.gone:
        return []
    run = study.worst_let_go
    own = ranges(study, run)
    if PEAK not in own:
        return [("", f"FAILED: {run.label}: {run.reason}")]
    peak, energy = own[PEAK], own["largest kinetic energy"]
    back = own.get("largest backward wheel speed")
    release = np.degrees(float(str(run.scenario["release"]))) % 360
    turns = "" if back is None else (
        f"; turns back at up to {between(back)}" if max(values(back)) > handle.BACK else "; does not turn back"
    )  # fmt: skip
    return [
        (f"worst of {len(study.gone)} angle{'s' * (len(study.gone) > 1)}", f"{release:.0f} deg, at "
         f"{shown(float(str(run.scenario['speed'])), 'angular_speed')} of the wheel, over low to high friction:"),
        ("peak rim speed", f"{between(peak)}; " + ", ".join(_against(max(values(peak)), f) for f in _limits(own))
         + " (play equipment)"),
        ("largest energy", f"{between(energy)}{turns}"),
        ("comes to rest", _rest(own, study)),
    ]  # fmt: skip


def _limits(own: dict[str, Range]) -> list[Finding]:
    return [r.nominal for what, r in own.items() if r.nominal.limit and ", against " in what]


def _against(most: float, f: Finding) -> str:
    assert f.limit is not None
    verdict = "BEYOND" if most > f.limit.value else "ok"
    return f"{f.what.rsplit('against ', 1)[1]}: {verdict}"


def _rest(own: dict[str, Range], study: Study) -> str:
    rest, turns = own.get("time to rest"), own.get("turns of the wheel until rest")
    if rest is None or turns is None:
        still = own.get("still moving after")
        return "not followed so far" if still is None else f"still moving after {still.nominal.shown}"
    never = "" if rest.low is not None else "; with low friction it is still moving when no longer followed"
    longest = max((run.time[-1] for run in study.gone if run.rested), default=0.0)
    return (
        f"after {between(rest)}, {between(turns)} turns to and fro; from any angle within "
        f"{shown(float(max(longest, *values(rest))), 'time')}{never}"
    )


def hurts(study: Study) -> list[Row]:
    """Give gusts, the force that stops the wheel, hands on it, people on a wing and what falls."""
    rows = [*_gusts(study)]
    for kind, label, say in (
        ("stop", "stopping it", _stopping),
        ("grab", "grabbing the rim", _grabbing),
        ("hold-on", "keeping hold", _holding),
        ("broken", "a part breaks", _falling),
        ("hang", "people on a wing", _hanging),
        ("jam", "a part is blocked", _jammed),
    ):
        found = worst(f for run in study.campaign.of(kind) for f in handle.findings(run))
        if found:
            rows.append((label, say({f.what: f for f in found}, found)))
    held = [f for kind in ("gust-locked", "hang-locked") for run in study.campaign.of(kind)
            for f in handle.findings(run)]  # fmt: skip
    if held:
        f = max(held, key=lambda f: f.value)
        case = next(g.name for g in study.campaign.groups if any(r.label == f.case for r in g.runs))
        rows.append(("locked", f"{f.shown} at the rim{at(f)} holds it ({case})"))
    return rows


def _gusts(study: Study) -> list[Row]:
    runs = [run for run in study.campaign.of("gust") if len(run.time)]
    if not runs:
        return []
    away = next(f for f in study.safety if f.what == "gusts in which the wheel runs away")
    fast = max((f for run in runs for f in handle.findings(run) if f.what.startswith("peak rim")),
               key=lambda f: f.value)  # fmt: skip
    turned = max((f for run in runs for f in safety.findings(run) if f.what.startswith("turns")),
                 key=lambda f: f.value)  # fmt: skip
    words = (
        f"RUNS AWAY in {away.value:.0f} of {len(runs)}"
        if away.beyond
        else f"runs away in none of {len(runs)}"
    )
    if fast.value < STIRS:
        return [("free in gusts", f"{words}; the wheel does not stir")]
    return [("free in gusts", f"{words}; rim up to {fast.shown}, {turned.shown} turns at most")]


def _stopping(own: dict[str, Finding], found: list[Finding]) -> str:
    force = own["largest force of the hand that stops the wheel"]
    angle, within = own["angle of the wheel until it stands"], own["time in which the wheel is stopped"]
    then = own.get("largest force that then holds it")
    after = "" if then is None else f"; then {si(then.shown)} holds it"
    del found
    return f"{force.shown} at the rim within {within.shown}, {angle.shown}{after}"


def _grabbing(own: dict[str, Finding], found: list[Finding]) -> str:
    stand = own.get("time from the grab until the wheel stands")
    angle = own.get("angle of the wheel from the grab until it stands")
    force = own["largest force on the hand"]
    del found
    stops = "still turning" if stand is None or angle is None else (
        f"stands after {stand.shown}, {angle.shown}"
    )  # fmt: skip
    return f"{stops}; {force.shown} on the hand, grip assumed"


def _holding(own: dict[str, Finding], found: list[Finding]) -> str:
    del found
    fast, force = own["peak rim or grip speed with the hand on it"], own["largest force on the hand"]
    return f"{fast.shown} and {force.shown} on the hand, {fast.note.split(';')[0].removeprefix('the hand ')}"


def _falling(own: dict[str, Finding], found: list[Finding]) -> str:
    moving = [f for f in found if f.what == "largest speed of its centre of mass"]
    energy = own["largest kinetic energy"]
    f = max(moving, key=lambda f: f.value)
    first, second = (x.case.split(" breaks")[0] for x in (energy, f))
    also = "" if first == second else f" as {second} breaks"
    return f"{energy.shown} as {first} breaks; {f.where} at {si(f.shown)}{also}"


def _hanging(own: dict[str, Finding], found: list[Finding]) -> str:
    del found
    return f"the free wheel's rim reaches {own['peak rim or grip speed with people on the wing'].shown}"


def _jammed(own: dict[str, Finding], found: list[Finding]) -> str:
    del found
    energy = own["largest kinetic energy"]
    return f"{energy.shown} run into the drive; its torques are in the loads"
