"""Which wheel: the same sculpture with wheels of different sizes, side by side."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from analysis import handle
from analysis.finding import Finding
from models.loading import changed
from models.resolve import mechanism
from models.sculpture import Sculpture
from models.shown import shown
from models.units import quantity
from sim.builders import linkage
from sim.many import Job, record_many
from sim.mass import wheel_mass
from sim.run import Run
from sim.scenarios import LetGo, Turn, inertia_at_wheel
from sim.store import open_run
from sim.whole import potential_energy

SLOW = quantity("10 rpm", "angular_speed")


@dataclass(frozen=True)
class WheelRow:
    """One wheel.

    Attributes
    ----------
    diameter : of the rim, m.
    mass : kg.
    inertia : of the whole piece as felt at the wheel, kg m2.
    hand_force : largest in a slow turn, N.
    energy_ratio : energy of the piece at the given speed over the swing of potential energy; below 1 it does
        not carry the wings over the top by itself.
    swing : w_max^2 - w_min^2 = 2 dE / J of the wheel left to itself at that energy, rad2/s2.
    peak_speed : of the wheel after letting go at the worst angle, rad/s.
    rim_speed : of its rim then, m/s.
    worst_release : crank angle of the release, rad.
    time_to_rest : after that, s; NaN where it was still moving.
    moved : largest change of a peak in the halving check of the worst let go.
    """

    diameter: float
    mass: float
    inertia: float
    hand_force: float
    energy_ratio: float
    swing: float
    peak_speed: float
    rim_speed: float
    worst_release: float
    time_to_rest: float
    moved: float


def compare(
    sculpture: Sculpture,
    diameters: Sequence[float],
    *,
    speed: float,
    angles: int,
    runs: Path,
    done: Callable[[int, int], None] | None = None,
) -> list[WheelRow]:
    """Compare wheels.

    Parameters
    ----------
    sculpture : its wheel's diameter (or a handle's radius) is changed, nothing else.
    diameters : m.
    speed : wheel speed at the release, rad/s, the same for all.
    angles : release angles over the turn.
    runs : folder for the runs.
    done : told how many runs of how many are finished.
    """
    variants = [with_diameter(sculpture, d) for d in diameters]
    releases = np.linspace(0, 2 * np.pi, angles, endpoint=False)
    quick = by_angles(sculpture)
    jobs = [Job(v, Turn(SLOW), runs, method=quick) for v in variants]
    jobs += [
        Job(v, LetGo(speed, float(a)), runs, check=False, method=quick) for v in variants for a in releases
    ]
    total = len(jobs) + len(variants)
    paths = record_many(jobs, None if done is None else lambda n: done(n, total))
    turns = [open_run(p) for p in paths[: len(variants)]]
    gone = [open_run(p) for p in paths[len(variants) :]]
    worst = [max(gone[k * angles : (k + 1) * angles], key=_peak) for k in range(len(variants))]
    # The row rests on the worst let go alone, so that one is made in three dimensions and checked with finer steps.
    checks = [
        Job(v, LetGo(speed, float(str(w.scenario["release"]))), runs)
        for v, w in zip(variants, worst, strict=True)
    ]
    sure = record_many(checks, None if done is None else lambda n: done(len(jobs) + n, total))
    return [_row(v, t, open_run(w), speed) for v, t, w in zip(variants, turns, sure, strict=True)]


def by_angles(sculpture: Sculpture) -> str:
    """Give the quickest method that knows all of a sculpture's drive."""
    return "engine" if any(s.chordal for s in mechanism(sculpture).stages) else "reduced"


def with_diameter(sculpture: Sculpture, diameter: float) -> Sculpture:
    """Give a sculpture with another wheel's diameter or twice another handle's radius, m, and nothing else changed."""
    handle_kind = sculpture.wheel is not None and sculpture.wheel.kind == "handle"
    field, length = ("wheel.radius", diameter / 2) if handle_kind else ("wheel.diameter", diameter)
    return changed(sculpture, {field: f"{length:.12g} m"})


def _row(sculpture: Sculpture, turn: Run, gone: Run, speed: float) -> WheelRow:
    settled = mechanism(sculpture)
    closed = linkage(settled)
    crank = np.linspace(0, 2 * np.pi, 1440, endpoint=False)
    swing = float(np.ptp(potential_energy(closed, crank)))
    inertia = inertia_at_wheel(closed)
    radius = settled.wheel.radius
    return WheelRow(
        2 * radius,
        wheel_mass(settled.wheel).mass,
        inertia,
        _value(handle.findings(turn), "largest hand force"),
        0.5 * inertia * speed**2 / swing,
        2 * swing / inertia,
        _peak(gone),
        _peak(gone) * radius,
        float(str(gone.scenario["release"])),
        float(gone.time[-1]) if gone.rested else float("nan"),
        max((p.moved for p in gone.peaks), default=float("nan")),
    )


def _peak(run: Run) -> float:
    return _value(handle.findings(run), "peak wheel speed after letting go")


def _value(findings: list[Finding], what: str) -> float:
    return next(f.value for f in findings if f.what == what)


def table(rows: Sequence[WheelRow]) -> list[list[str]]:
    """Give the comparison as lines of texts, headings first."""
    head = ["wheel", "mass", "hand force, slow turn", "energy over swing", "peak after letting go",
            "rim then", "worst release", "time to rest", "peaks moved"]  # fmt: skip
    lines = [
        [
            shown(r.diameter, "length"),
            shown(r.mass, "mass"),
            shown(r.hand_force, "force"),
            f"{r.energy_ratio:.2f}",
            shown(r.peak_speed, "angular_speed"),
            shown(r.rim_speed, "speed"),
            shown(r.worst_release, "angle"),
            "still moving" if np.isnan(r.time_to_rest) else f"{r.time_to_rest:.0f} s",
            f"{100 * r.moved:.2f} %",
        ]
        for r in rows
    ]
    return [head, *lines]
