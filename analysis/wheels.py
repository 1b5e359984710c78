"""Which wheel: the same sculpture with wheels of different sizes, side by side."""

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from itertools import product
from pathlib import Path

import numpy as np

from analysis import feel, handle
from analysis.knee import Knee, knee
from analysis.questions import closed
from analysis.wheel_place import place
from analysis.wheel_row import NAN, PEAK, WheelRow, free, gone, started, turned, value
from models.loading import DescriptionError, changed
from models.resolve import mechanism
from models.sculpture import Sculpture
from models.units import quantity
from sim.campaign import rigid
from sim.coasting import coasting
from sim.many import Job, record_many, together
from sim.mass import wheel_mass
from sim.run import Peak, Run
from sim.scenarios import LetGo, Turn
from sim.simulate import record
from sim.store import open_run

SLOW = quantity("10 rpm", "angular_speed")
RIM, FORCE, TORQUE = (
    "peak rim speed after letting go",
    "hand force at working speed",
    "peak torque at working speed",
)
BOUGHT: dict[str, tuple[str, Callable[[WheelRow], float]]] = {
    RIM: ("speed", lambda r: r.gone.rim_speed),
    FORCE: ("force", lambda r: r.working.force),
    TORQUE: ("torque", lambda r: r.working.torque),
}
"""What mass is to buy: by name, its dimension, and of a wheel."""


@dataclass(frozen=True)
class Size:
    """A wheel's diameter, m, and the thickness of its disc, m, or None for the description's own."""

    diameter: float
    thickness: float | None = None

    @property
    def label(self) -> str:
        """The size in millimetres."""
        return label(self.diameter, NAN if self.thickness is None else self.thickness)


@dataclass(frozen=True)
class LeftOut:
    """A wheel that could not be built or run, and why."""

    size: Size
    why: str


@dataclass(frozen=True)
class Comparison:
    """Wheels side by side.

    Attributes
    ----------
    sculpture : its name.
    speed : working speed of the wheel, rad/s, which is also that at the releases.
    angles : release angles over the turn.
    rows : the wheels, in the order asked for.
    left_out : those that could not be built or run.
    """

    sculpture: str
    speed: float
    angles: int
    rows: tuple[WheelRow, ...]
    left_out: tuple[LeftOut, ...]

    def knees(self) -> dict[str, Knee]:
        """Give for each of what the wheel's mass buys the knee of its curve."""
        mass = [r.mass for r in self.rows]
        return {name: knee(mass, [of(r) for r in self.rows]) for name, (_, of) in BOUGHT.items()}

    def table(self) -> dict[str, object]:
        """Give it as plain data for JSON, SI."""
        named = {
            name: {**asdict(k), "kept": [self.rows[n].label for n in k.kept],
                   "at": None if k.at is None else self.rows[k.at].label}
            for name, k in self.knees().items()
        }  # fmt: skip
        left_out = [{**asdict(x.size), "why": x.why} for x in self.left_out]
        rows = [asdict(r) for r in self.rows]
        return {"sculpture": self.sculpture, "speed": self.speed, "angles": self.angles, "wheels": rows,
                "left_out": left_out, "knees": named}  # fmt: skip


def sizes(diameters: Sequence[float], thicknesses: Sequence[float] | None = None) -> list[Size]:
    """Give all combinations of diameters and thicknesses, m, each once; without these the description's own."""
    return list(dict.fromkeys(Size(d, t) for d, t in product(diameters, thicknesses or (None,))))


def label(diameter: float, thickness: float) -> str:
    """Name a wheel by its size: diameter and, where that is a number, thickness, m."""
    disc = "" if np.isnan(thickness) else f" x {1000 * thickness:.4g}"
    return f"{1000 * diameter:.4g}{disc} mm"


def compare(
    sculpture: Sculpture,
    chosen: Sequence[Size],
    *,
    speed: float,
    angles: int,
    runs: Path,
    done: Callable[[int, int], None] | None = None,
) -> Comparison:
    """Compare wheels; one that cannot be built or run is left out, and why is said.

    Parameters
    ----------
    sculpture : its wheel's size is changed, nothing else; crankshafts are rigid.
    chosen : the sizes.
    speed : working speed of the wheel, rad/s: it is held, and let go, at that speed. A turn at less than `SLOW` is
        made at that.
    angles : release angles over the turn.
    runs : folder for the runs.
    done : told how many runs of how many are finished.

    Raises
    ------
    DescriptionError
        Where none can be built.
    """
    sculpture = rigid(sculpture)
    built: dict[Size, Sculpture] = {}
    left_out: list[LeftOut] = []
    faults: list[str] = []
    for size in chosen:
        try:
            variant = with_size(sculpture, size)
            closed(variant)
            built[size] = variant
        except DescriptionError as error:
            left_out.append(LeftOut(size, "; ".join(error.lines)))
            faults += error.lines
    if not built:
        raise DescriptionError(list(dict.fromkeys(faults)))
    quick = by_angles(next(iter(built.values())))
    members, total = _simulated(built, speed, angles, runs, quick, done)
    before = total - len(members)
    found = together(_row, members, None if done is None else lambda n: done(before + n, total))
    rows = zip(built, found, strict=True)
    left_out += [LeftOut(size, row) for size, row in rows if isinstance(row, str)]
    return Comparison(
        next(iter(built.values())).name or "", speed, angles, tuple(r for r in found if isinstance(r, WheelRow)),
        tuple(left_out),
    )  # fmt: skip


@dataclass(frozen=True)
class _Member:
    """A wheel with its runs: the slow turn, the one at working speed, and let go at every angle."""

    sculpture: Sculpture
    speed: float
    runs: Path
    slow: Path
    working: Path
    released: tuple[Path, ...]


def _simulated(
    built: dict[Size, Sculpture], speed: float, angles: int, runs: Path, method: str,
    done: Callable[[int, int], None] | None,
) -> tuple[list[_Member], int]:  # fmt: skip
    """Make the runs of all wheels; give also how many runs there are in all, those that follow included."""
    way = -1 if speed < 0 else 1
    slow, working = Turn(way * SLOW), Turn(way * max(abs(speed), SLOW))
    releases = [LetGo(speed, float(a)) for a in np.linspace(0, 2 * np.pi, angles, endpoint=False)]
    doing: list[Turn | LetGo] = [*dict.fromkeys((slow, working)), *releases]
    # What a hand feels rests on the turns; of the releases only the worst counts, which is checked later.
    jobs = [Job(v, d, runs, isinstance(d, Turn), method) for v in built.values() for d in doing]
    total = len(jobs) + len(built)
    paths = record_many(jobs, None if done is None else lambda n: done(n, total))
    members: list[_Member] = []
    for k, variant in enumerate(built.values()):
        own = dict(zip(doing, paths[k * len(doing) : (k + 1) * len(doing)], strict=True))
        released = tuple(own[r] for r in releases)
        members.append(_Member(variant, speed, runs, own[slow], own[working], released))
    return members, total


def _row(member: _Member) -> WheelRow | str:
    """Give a wheel's row, or why it has none."""
    slow, working = open_run(member.slow), open_run(member.working)
    released = [open_run(p) for p in member.released]
    failed = _failed([slow, working, *released])
    if failed is not None:
        return failed
    piece, speed = closed(member.sculpture), member.speed
    at = float(str(max(released, key=_peak).scenario["release"]))
    # The row rests on the worst let go most, so that one is made in three dimensions and checked with finer steps.
    worst = open_run(record(member.sculpture, LetGo(speed, at), runs=member.runs))
    failed = _failed([worst])
    if failed is not None:
        return failed
    wheel = piece.mechanism.wheel
    thickness = NAN if wheel.kind == "handle" else wheel.thickness
    return WheelRow(
        label(2 * wheel.radius, thickness),
        2 * wheel.radius,
        thickness,
        wheel_mass(wheel).mass,
        coasting(piece).felt,
        turned(slow),
        turned(working),
        started(piece, 1),
        started(piece, -1),
        free(piece, speed),
        gone(piece, worst, released),
        place(piece),
        max((p.moved for run in (slow, working, worst) for p in run.peaks if _counts(p, run)), default=NAN),
    )


def _counts(peak: Peak, run: Run) -> bool:
    """Say whether something in a row rests on a run's peak: of a turn the hand's torque alone."""
    return run.case != "turn" or peak.channel == feel.TORQUE


def _failed(runs: Sequence[Run]) -> str | None:
    """Say which run failed and why, if one did."""
    return next((f"{run.label}: {run.reason}" for run in runs if run.status != "finished"), None)


def _peak(run: Run) -> float:
    return value(handle.findings(run), PEAK)


def by_angles(sculpture: Sculpture) -> str:
    """Give the quickest method that knows all of a sculpture's drive."""
    return "engine" if any(s.chordal for s in mechanism(sculpture).stages) else "reduced"


def with_diameter(sculpture: Sculpture, diameter: float) -> Sculpture:
    """Give a sculpture with another wheel's diameter or twice another handle's radius, m, and nothing else changed."""
    return with_size(sculpture, Size(diameter))


def with_size(sculpture: Sculpture, size: Size) -> Sculpture:
    """Give a sculpture with another wheel's size, twice another handle's radius, and nothing else changed.

    Raises
    ------
    DescriptionError
        Where the schema does not allow that size.
    """
    handle_kind = sculpture.wheel is not None and sculpture.wheel.kind == "handle"
    field, length = ("wheel.radius", size.diameter / 2) if handle_kind else ("wheel.diameter", size.diameter)
    changes: dict[str, object] = {field: f"{length:.12g} m"}
    if size.thickness is not None:
        changes["wheel.thickness"] = f"{size.thickness:.12g} m"
    return changed(sculpture, changes)
