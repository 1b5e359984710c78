"""What the hand feels, and what the wheel does once it is let go.

Usage: python -m analysis.handle RUN...
"""

import numpy as np
from numpy.typing import NDArray

from analysis.finding import Finding, Limit
from analysis.script import script
from models.mechanism import from_canonical
from models.people import people
from sim import names
from sim.run import Run

SPEED = f"angles/{names.WHEEL}/speed"
TORQUE = f"torques/{names.HAND}/torque"
RUN = "simulated run"
STILL = 1e-3
"""Share of the largest torque below which the hand is neither pushing nor being driven."""


def findings(run: Run) -> list[Finding]:
    """Give the findings that suit the run's case."""
    if len(run.time) == 0:
        return []
    return {"turn": _turned, "crank": _cranked, "let-go": _let_go}[run.case](run)


def _radius(run: Run) -> float:
    return from_canonical(run.description).wheel.radius


def _force(run: Run) -> list[Finding]:
    """Give torque and hand force, which every case with a hand has."""
    radius = _radius(run)
    most, least = run.extreme(TORQUE, "max"), run.extreme(TORQUE, "min")
    speed = run[SPEED]
    way = -1.0 if _number(run.scenario.get("speed")) < 0 else 1.0
    hardest = max((most, least), key=lambda e: e.value * way)
    easiest = min((most, least), key=lambda e: e.value * way)
    push, kick = hardest.value * way, easiest.value * way
    torque = run[TORQUE] * way
    driven = (torque < -STILL * np.max(np.abs(torque))) & (speed * way > 0)
    last = _last_turn(run)
    step = np.diff(run.time, prepend=0.0) * last
    share = float(np.sum(step[driven]) / np.sum(step))
    work = float(np.sum(run[TORQUE] * speed * step) / np.sum(step))
    where = names.WHEEL
    over = "over the last turn of the crank" if not last.all() else "over the whole run"
    return [
        Finding("largest torque of the hand", push, "torque", where, run.label, hardest.time, hardest.crank,
                source=RUN),
        Finding("largest hand force", push / radius, "force", where, run.label, hardest.time, hardest.crank,
                source=f"{RUN}; at the rim or grip"),
        Finding("largest force with which the wheel drives the hand", max(0.0, -kick) / radius, "force",
                where, run.label, easiest.time, easiest.crank, source=RUN),
        Finding("share of the time in which the wheel drives the hand", share, "ratio", where, run.label,
                source=RUN, note=over),
        Finding("mean power of the hand", work, "power", where, run.label, source=RUN, note=over),
    ]  # fmt: skip


def _last_turn(run: Run) -> NDArray[np.bool_]:
    """Mark the last whole turn of the crank (n,), in which what the weights take they give back; or all."""
    crank = run[f"angles/{_first_crank(run)}/angle"]
    left = np.abs(crank - crank[-1])
    return left <= 2 * np.pi if left[0] > 2 * np.pi else np.ones(len(crank), dtype=bool)


def _turned(run: Run) -> list[Finding]:
    found = _force(run)
    hard, kick = found[1], found[2]
    for person in people().values():
        if kick.value > 0:
            found.append(
                Finding(f"holding back against the strength of the {person.label}", kick.value, "force",
                        names.WHEEL, run.label, kick.time, kick.crank,
                        Limit(person.push, "most", f"{person.label}: {person.source.split(';')[0]}"),
                        RUN, "whoever is weaker is carried along by the wheel")
            )  # fmt: skip
        found.append(
            Finding(f"hand force against a push of the {person.label}", hard.value, "force", names.WHEEL,
                    run.label, hard.time, hard.crank,
                    Limit(person.push, "most", f"{person.label}: {person.source.split(';')[0]}"),
                    RUN, "held speed; whoever is weaker cannot hold it")
        )  # fmt: skip
    return found


def _cranked(run: Run) -> list[Finding]:
    person = people()[str(run.scenario["person"])]
    speed = np.abs(run[SPEED])
    top = int(np.argmax(speed))
    turned = float(abs(run[f"angles/{names.WHEEL}/angle"][-1] - run[f"angles/{names.WHEEL}/angle"][0]))
    reduction = from_canonical(run.description).reduction
    wanted = run.scenario.get("speed")
    target = abs(float(wanted)) if isinstance(wanted, (int, float)) else person.speed / _radius(run)
    return [
        *_force(run),
        Finding("turns of the crank made", turned / reduction / (2 * np.pi), "ratio", names.WHEEL, run.label,
                limit=Limit(1.0, "least", "a whole turn: else stuck"), source=RUN),
        Finding("highest wheel speed", float(speed[top]), "angular_speed", names.WHEEL, run.label,
                float(run.time[top]), source=RUN, note=f"wanted {target * 30 / np.pi:.3g} rpm"),
        Finding("lowest wheel speed in the last half", float(speed[len(speed) // 2 :].min()), "angular_speed",
                names.WHEEL, run.label, source=RUN),
    ]  # fmt: skip


def _let_go(run: Run) -> list[Finding]:
    radius = _radius(run)
    given = run.scenario["speed"]
    release = float(given) if isinstance(given, (int, float)) else 0.0
    way = 1.0 if release >= 0 else -1.0
    speed = run[SPEED] * way
    angle = run[f"angles/{names.WHEEL}/angle"]
    crank = run[f"angles/{_first_crank(run)}/angle"]
    kinetic = run["energy/kinetic/energy"]
    top, back = int(np.argmax(np.abs(speed))), int(np.argmin(speed))
    most = max(float(abs(speed[top])), abs(release))
    held = abs(release) >= float(abs(speed[top]))
    when = (0.0, float(_number(run.scenario["release"]))) if held else (
        float(run.time[top]), float(crank[top])
    )  # fmt: skip
    spent = float(np.sum(np.abs(np.diff(angle))))
    found = [
        Finding("peak wheel speed after letting go", most, "angular_speed", names.WHEEL, run.label, *when,
                source=RUN),
        Finding("peak rim or grip speed after letting go", most * radius, "speed", names.WHEEL, run.label,
                *when, source=RUN),
        Finding("peak rim speed over that at release", most / abs(release), "ratio", names.WHEEL, run.label,
                *when, source=RUN)
        if release
        else None,
        Finding("largest backward wheel speed", max(0.0, -float(speed[back])), "angular_speed", names.WHEEL,
                run.label, float(run.time[back]), float(crank[back]), source=RUN,
                note="it turns back" if speed[back] < -1e-2 else "it does not turn back"),
        Finding("largest kinetic energy", float(kinetic.max()), "energy", "whole piece", run.label,
                float(run.time[np.argmax(kinetic)]), float(crank[np.argmax(kinetic)]), source=RUN),
    ]  # fmt: skip
    end, turns = float(run.time[-1]), spent / (2 * np.pi)
    if run.rested:
        note = "nominal friction"
        found += [
            Finding("time to rest", end, "time", "whole piece", run.label, source=RUN, note=note),
            Finding("turns of the wheel until rest", turns, "ratio", names.WHEEL, run.label, source=RUN,
                    note=f"to and fro; {note}"),
            Finding("crank angle at rest", float(crank[-1] % (2 * np.pi)), "angle", "crank", run.label,
                    source=RUN, note=note),
        ]  # fmt: skip
    else:
        found += [
            Finding("still moving after", end, "time", "whole piece", run.label, source=RUN,
                    note="not followed further"),
            Finding("turns of the wheel until then", turns, "ratio", names.WHEEL, run.label, source=RUN,
                    note="to and fro"),
        ]  # fmt: skip
    return [f for f in found if f is not None]


def _number(value: object) -> float:
    return float(value) if isinstance(value, (int, float)) else 0.0


def _first_crank(run: Run) -> str:
    return next(n for n in run.names("angles") if n.endswith("crankshaft"))


if __name__ == "__main__":
    script(findings, __doc__)
