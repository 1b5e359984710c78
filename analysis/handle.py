"""What happens at the wheel: while a hand turns, holds, stops or grabs it, and while it turns by itself.

What a hand feels in turning it is in `analysis.feel`.

Usage: python -m analysis.handle RUN...
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from analysis import feel
from analysis.finding import Finding, Limit
from analysis.script import script
from models.mechanism import from_canonical
from models.people import ASSUMED, Person, by_age, people
from sim import names
from sim.operators.grabbing import CLOSING, Stop, stop
from sim.run import Extreme, Run

Flags = NDArray[np.bool_]

SPEED = f"angles/{names.WHEEL}/speed"
ANGLE = f"angles/{names.WHEEL}/angle"
TORQUE = f"torques/{names.HAND}/torque"
KINETIC = "energy/kinetic/energy"
RUN = "simulated run"
CLOSED = "closed-form statics"
WHOLE = "whole piece"
BACK = 1e-2
"""Wheel speed, rad/s, from which it counts as turning back: half a degree a second."""
LOCAL = "rotating play equipment; whether it applies is for the local authority"
RIM_LIMITS = (
    ("13 ft/s", 3.96, "CPSC and ASTM, playground merry-go-rounds, 13 ft/s (read in part)"),
    ("5 m/s", 5.0, "EN 1176-5, 5 m/s (read second hand)"),
)
"""Rim speeds of standards for rotating play equipment: in words, m/s, source."""
DOORS = "a comparison, not a limit: low-energy power-operated doors are held to 1.69 J (BHMA, read)"
WHEN = {
    "let-go": "after letting go",
    "grab": "after letting go",
    "hold-on": "after the push ends",
    "gust": "in the gust",
    "hang": "with people on the wing",
    "jam": "with a part blocked",
}
"""What the wheel turns freely after or under, by case."""
RESTING = ("let-go", "hold-on", "hang")
"""Cases that are followed until the piece rests."""


def findings(run: Run) -> list[Finding]:
    """Give the findings that suit the run's case; a case without words of its own counts as free motion."""
    if len(run.time) == 0:
        return []
    cases: dict[str, Callable[[Run], list[Finding]]] = {
        "turn": feel.findings,
        "crank": _cranked,
        "stop": _stopped,
        "hold-on": _held_on,
        "grab": _grabbed,
        "broken": _broken,
        "blocked": _pushed,
        "jam": _turning,
    }
    return cases.get(run.case, _standing if stands(run) else _free)(run)


def stands(run: Run) -> bool:
    """Say whether nothing moves in a run: its entries are poses and loads, and its time means nothing."""
    return SPEED not in run.channels


def at(run: Run, e: Extreme) -> tuple[float | None, float]:
    """Give when, s, and at which crank angle, rad, an extreme is; no time where nothing moves."""
    return (None if stands(run) else e.time), e.crank


# --- Somebody turns it ---


def _cranked(run: Run) -> list[Finding]:
    person = people()[str(run.scenario["person"])]
    speed = np.abs(run[SPEED])
    top = int(np.argmax(speed))
    mechanism = from_canonical(run.description)
    turned = float(abs(run[ANGLE][-1] - run[ANGLE][0])) / mechanism.reduction / (2 * np.pi)
    wanted = run.scenario.get("speed")
    target = abs(float(wanted)) if isinstance(wanted, (int, float)) else person.speed / mechanism.wheel.radius
    return [
        *feel.findings(run),
        Finding("turns of the crank made", turned, "ratio", names.WHEEL, run.label,
                limit=Limit(1.0, "least", "a whole turn: else stuck"), source=RUN),
        Finding("highest wheel speed", float(speed[top]), "angular_speed", names.WHEEL, run.label,
                float(run.time[top]), source=RUN, note=f"wanted {target * 30 / np.pi:.3g} rpm"),
        Finding("lowest wheel speed in the last half", float(speed[len(speed) // 2 :].min()), "angular_speed",
                names.WHEEL, run.label, source=RUN),
    ]  # fmt: skip


# --- Somebody stops or holds it ---


def _stopped(run: Run) -> list[Finding]:
    """Give what it takes to bring the wheel to a stand in the time prescribed."""
    radius, way, within = _radius(run), _way(run), _number(run, "within")
    braking = run.time <= within * (1 + 1e-6)  # times are sums of steps
    against = np.where(braking, -run[TORQUE] * way / radius, -np.inf)
    worst = int(np.argmax(against))
    force = max(0.0, float(against[worst]))
    turned = float(np.interp(within, run.time, run[ANGLE]) - run[ANGLE][0])
    found = [
        Finding("largest force of the hand that stops the wheel", force, "force", names.WHEEL, run.label,
                float(run.time[worst]), float(_crank(run)[worst]), source=RUN,
                note=f"at the rim or grip, against its motion; {_youngest(force)}"),
        Finding("time in which the wheel is stopped", within, "time", names.WHEEL, run.label,
                source="prescribed", note="evenly"),
        Finding("angle of the wheel until it stands", abs(turned), "angle", names.WHEEL, run.label,
                source=RUN),
        _kinetic(run),
    ]  # fmt: skip
    after = np.where(braking, -np.inf, np.abs(run[TORQUE]) / radius)
    late = int(np.argmax(after))
    if not braking[late]:
        found.append(
            Finding("largest force that then holds it", float(after[late]), "force", names.WHEEL, run.label,
                    float(run.time[late]), float(_crank(run)[late]), source=RUN,
                    note=f"the wings hang on it and the drive rings; {_youngest(float(after[late]))}")
        )  # fmt: skip
    return found


def _held_on(run: Run) -> list[Finding]:
    """Give what a hand goes through that stays on the wheel, and what the wheel does."""
    who, radius = people()[str(run.scenario["person"])], _radius(run)
    speed, torque, crank = run[SPEED], run[TORQUE], _crank(run)
    # The torque of a step follows the speed at its beginning; a hand without torque on a moving rim is off.
    before = np.concatenate([speed[:1], speed[:-1]])
    off = np.flatnonzero((torque == 0) & (np.abs(before) > BACK))
    on = max(1, int(off[0])) if len(off) else len(speed)
    rim = np.abs(speed[:on]) * radius
    fast, hard = int(np.argmax(rim)), int(np.argmax(np.abs(torque)))
    slips = f"slips off after {run.time[on - 1]:.3g} s" if len(off) else "stays on to the end"
    found = [
        Finding("peak rim or grip speed with the hand on it", float(rim[fast]), "speed", names.WHEEL,
                run.label, float(run.time[fast]), float(crank[fast]), source=RUN,
                note=f"the hand {slips}; {_assumed(who, 'fastest')}"),
        Finding("largest force on the hand", float(np.abs(torque[hard])) / radius, "force", names.WHEEL,
                run.label, float(run.time[hard]), float(crank[hard]), source=RUN,
                note=f"resists in proportion to its speed: assumption; {_assumed(who, 'grip')}"),
    ]  # fmt: skip
    return [*found, *_free(run)]


def _grabbed(run: Run) -> list[Finding]:
    """Give how a hand that grabs the turning rim stops it."""
    who, radius, since = people()[str(run.scenario["person"])], _radius(run), _number(run, "after")
    torque = np.abs(run[TORQUE])
    hard = int(np.argmax(torque))
    done = stop(run.time, run[ANGLE], run[SPEED], since)
    grip = f"closes within {CLOSING:g} s: assumption; {_assumed(who, 'grip')}"
    return [
        *_grab_ends(run, done, since, grip),
        Finding("largest force on the hand", float(torque[hard]) / radius, "force", names.WHEEL, run.label,
                float(run.time[hard]), float(_crank(run)[hard]), source=RUN, note=grip),
        *_free(run),
    ]  # fmt: skip


def _grab_ends(run: Run, done: Stop, since: float, grip: str) -> list[Finding]:
    if np.isnan(done.time):
        left = float(run.time[-1]) - since
        return [Finding("still turning after the grab", max(0.0, left), "time", names.WHEEL, run.label,
                        source=RUN, note=f"not followed further; {grip}")]  # fmt: skip
    return [
        Finding("time from the grab until the wheel stands", done.time, "time", names.WHEEL, run.label,
                since + done.time, source=RUN, note=grip),
        Finding("angle of the wheel from the grab until it stands", done.angle, "angle", names.WHEEL,
                run.label, since + done.time, source=RUN, note=grip),
    ]  # fmt: skip


def _youngest(force: float) -> str:
    able = next((p.label for p in by_age() if p.grip >= force), "none")
    return f"youngest whose grip is enough: {able}; {ASSUMED}"


def _assumed(person: Person, what: str) -> str:
    return f"{person.label}'s {what}: {person.sources[what].split(';')[0]}"


# --- It turns by itself ---


def _free(run: Run) -> list[Finding]:
    """Give what a wheel does that nobody drives, with the limits of rim speed."""
    return [*_turning(run), *_rim_limits(run), *_rest(run)]


def _turning(run: Run) -> list[Finding]:
    """Give the wheel's peak speeds and the energy."""
    radius, release, when = _radius(run), _number(run, "speed"), _when(run)
    speed, crank = run[SPEED] * _way(run), _crank(run)
    most, at_peak = _peak(run)
    back = int(np.argmin(speed))
    found = [
        Finding(f"peak wheel speed {when}", most, "angular_speed", names.WHEEL, run.label, *at_peak,
                source=RUN),
        Finding(f"peak rim or grip speed {when}", most * radius, "speed", names.WHEEL, run.label, *at_peak,
                source=RUN),
    ]  # fmt: skip
    if release:
        found.append(
            Finding("peak rim speed over that at release", most / abs(release), "ratio", names.WHEEL,
                    run.label, *at_peak, source=RUN)
        )  # fmt: skip
    if release or run.case == "let-go":
        found.append(
            Finding("largest backward wheel speed", max(0.0, -float(speed[back])), "angular_speed",
                    names.WHEEL, run.label, float(run.time[back]), float(crank[back]), source=RUN,
                    note="it turns back" if speed[back] < -BACK else "it does not turn back")
        )  # fmt: skip
    return [*found, _kinetic(run)]


def _rim_limits(run: Run) -> list[Finding]:
    """Give the peak rim speed against the figures of standards for rotating play equipment."""
    most, at_peak = _peak(run)
    return [
        Finding(f"rim or grip speed {_when(run)}, against {words}", most * _radius(run), "speed", names.WHEEL,
                run.label, *at_peak, Limit(limit, "most", source), RUN, LOCAL)
        for words, limit, source in RIM_LIMITS
    ]  # fmt: skip


def _rest(run: Run) -> list[Finding]:
    """Give when and where it comes to rest, for the cases that are followed so far."""
    if run.case not in RESTING:
        return []
    end = float(run.time[-1])
    turns = float(np.sum(np.abs(np.diff(run[ANGLE])))) / (2 * np.pi)
    if not run.rested:
        return [
            Finding("still moving after", end, "time", WHOLE, run.label, source=RUN,
                    note="not followed further"),
            Finding("turns of the wheel until then", turns, "ratio", names.WHEEL, run.label, source=RUN,
                    note="to and fro"),
        ]  # fmt: skip
    note = f"{run.scenario.get('friction', 'nominal')} friction"
    return [
        Finding("time to rest", end, "time", WHOLE, run.label, source=RUN, note=note),
        Finding("turns of the wheel until rest", turns, "ratio", names.WHEEL, run.label, source=RUN,
                note=f"to and fro; {note}"),
        Finding("crank angle at rest", float(_crank(run)[-1] % (2 * np.pi)), "angle", "crank", run.label,
                source=RUN, note=note),
    ]  # fmt: skip


def _broken(run: Run) -> list[Finding]:
    """Give how fast and with what energy falls what a broken part sets free, and what still holds the wheel."""
    found = [_kinetic(run)]
    for body in run.names("bodies"):
        if body.endswith(" panel"):
            e = run.extreme(f"bodies/{body}/velocity", "largest")
            found.append(
                Finding("largest speed of its centre of mass", e.value, "speed", body, run.label, *at(run, e),
                        source=RUN)
            )  # fmt: skip
    return [*found, _holding(run, RUN, "while the rest falls")]


def _kinetic(run: Run) -> Finding:
    e = run.extreme(KINETIC, "max")
    return Finding("largest kinetic energy", e.value, "energy", WHOLE, run.label, *at(run, e), source=RUN,
                   note=DOORS)  # fmt: skip


def _peak(run: Run) -> tuple[float, tuple[float, float]]:
    """Give the largest wheel speed, rad/s, the one at the release included, with time and crank angle."""
    speed, release = np.abs(run[SPEED]), abs(_number(run, "speed"))
    top = int(np.argmax(speed))
    if release >= speed[top]:
        return release, (0.0, _number(run, "release") or _number(run, "start"))
    return float(speed[top]), (float(run.time[top]), float(_crank(run)[top]))


# --- Nothing moves ---


def _standing(run: Run) -> list[Finding]:
    """Give what holds the wheel over all poses and loads."""
    return [_holding(run, CLOSED, "either way; without friction where the wheel is locked")]


def _pushed(run: Run) -> list[Finding]:
    """Give the push that the drive carries, which is what goes in."""
    e = run.extreme(TORQUE, "max")
    who = people()[str(run.scenario["person"])]
    return [
        Finding("push at the wheel against what is blocked", e.value / _radius(run), "force", names.WHEEL,
                run.label, source="prescribed", note=_assumed(who, "push"))
    ]  # fmt: skip


def _holding(run: Run, source: str, note: str) -> Finding:
    e = max((run.extreme(TORQUE, kind) for kind in ("max", "min")), key=lambda x: abs(x.value))
    return Finding("largest force that holds the wheel", abs(e.value) / _radius(run), "force", names.WHEEL,
                   run.label, *at(run, e), source=source, note=f"at the rim or grip; {note}")  # fmt: skip


def _radius(run: Run) -> float:
    return from_canonical(run.description).wheel.radius


def _way(run: Run) -> float:
    return -1.0 if _number(run, "speed") < 0 else 1.0


def _when(run: Run) -> str:
    return WHEN.get(run.case, "with nobody at the wheel")


def _number(run: Run, name: str) -> float:
    """Give a number of the scenario, 0 where it has none of that name."""
    value = run.scenario.get(name)
    return float(value) if isinstance(value, (int, float)) else 0.0


def _crank(run: Run) -> NDArray[np.float64]:
    """Give the angle (n,), rad, of the first crankshaft."""
    return run[f"angles/{next(n for n in run.names('angles') if n.endswith('crankshaft'))}/angle"]


if __name__ == "__main__":
    script(findings, __doc__)
