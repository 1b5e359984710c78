"""Wheels side by side as lines of text: a column for each wheel, then what mass buys and what is wrong."""

from collections.abc import Callable, Iterable, Iterator, Sequence

import numpy as np

from analysis.knee import Knee
from analysis.reach import RANGES
from analysis.summary.layout import columns, si, span, wrapped
from analysis.wheel_row import GRIPPING, NEAR_STALL, Turned, WheelRow
from analysis.wheels import BOUGHT, SLOW, Comparison, LeftOut
from models.people import ASSUMED, people
from models.shown import shown
from sim.clearance import WITHIN
from sim.coasting import FASTEST, HOLDS
from sim.scenarios.base import LONGEST

BESIDE = 4
"""Wheels side by side on a terminal; more follow below."""
Cell = Callable[[WheelRow], str]


def lines(found: Comparison) -> list[str]:
    """Give the whole comparison, no line much wider than a terminal."""
    speed = shown(abs(found.speed), "angular_speed")
    many = "one angle" if found.angles == 1 else f"{found.angles} angles"
    at = shown(found.speed, "angular_speed")
    said = [
        f"{found.sculpture}: wheels at {at}, let go at it from {many}; nominal friction where no other is said"
    ]
    for k in range(0, len(found.rows), BESIDE):
        said += ["", *_beside(found.rows[k : k + BESIDE], si(speed))]
    said += _left_out(found.left_out)
    if found.rows:
        said += [
            x for row in found.rows for fault in row.place.faults for x in wrapped(f"{row.label}: {fault}")
        ]
        said += ["", "What mass buys", *_knees(found), "", *_words()]
    return said


def _beside(rows: Sequence[WheelRow], speed: str) -> Iterator[str]:
    """Give some wheels as one table of columns, headings in it."""
    head = [["", *(r.label for r in rows)], ["", *(_inches(r) for r in rows)]]
    table = [[name, *(cell(r) for r in rows)] for _, cells in _sections(speed) for name, cell in cells]
    laid = iter(columns([*head, *table]))
    yield from (next(laid), next(laid))
    for title, cells in _sections(speed):
        yield title
        for _ in cells:
            yield next(laid)


def _sections(speed: str) -> tuple[tuple[str, tuple[tuple[str, Cell], ...]], ...]:
    """Give the lines of a table in sections: names, and what each says of a wheel."""
    slow = si(shown(SLOW, "angular_speed"))
    return (
        ("The wheel", (
            ("  mass", lambda r: shown(r.mass, "mass")),
            ("  inertia of the piece, felt at it", lambda r: f"{r.inertia:.3g} kg m2"),
        )),
        ("The hand", (
            *_turned(f"held at {slow}", lambda r: r.slow),
            *_turned(f"held at {speed}", lambda r: r.working),
            ("  starts it, worst place", lambda r: shown(r.forward.force[1], "force")),
            ("    over low to high friction", lambda r: _short(r.forward.force, "force")),
            ("    youngest that can", lambda r: r.forward.youngest),
            ("  starts it backward", lambda r: shown(r.backward.force[1], "force")),
            ("    over low to high friction", lambda r: _short(r.backward.force, "force")),
            ("    youngest that can", lambda r: r.backward.youngest),
        )),
        ("Left to itself", (
            ("  dE, swing of potential energy", lambda r: si(shown(r.free.swing, "energy"))),
            (f"  energy at {speed} over dE", lambda r: f"{r.free.energy_ratio:.2f}"),
            (f"  from {speed} at the lowest point", lambda r: r.free.over_the_top),
            ("  clears the top from", lambda r: shown(r.free.clearing_least, "angular_speed")),
            ("    with friction, low to high", _clearing),
            (f"  speeds with a mean of {speed}", _speeds),
            ("    w_max^2 - w_min^2", lambda r: _squares(r.free.fluctuation)),
            ("    2 dE / J, as a heavy wheel", lambda r: _squares(r.free.heavy)),
            ("    Cs", lambda r: f"{r.free.coefficient:.3f}" if np.isfinite(r.free.coefficient) else "-"),
        )),
        (f"Let go at {speed}", (
            ("  peak speed after the worst release", lambda r: shown(r.gone.peak_speed, "angular_speed")),
            ("    of rim or grip", lambda r: shown(r.gone.rim_speed, "speed")),
            ("    let go at a crank angle of", lambda r: shown(r.gone.worst_release, "angle")),
            ("    time to rest", lambda r: _seconds(r.gone.time_to_rest)),
            ("  time to rest, all releases", _rests),
            (f"  {people()[GRIPPING].label}'s grip stops it at its peak in", _stopped),
            ("  peaks moved by finer steps", lambda r: _moved(r.moved)),
        )),
        ("Its place", (
            ("  above ground", lambda r: f"{_mm(r.place.low)} to {_mm(r.place.high)} mm"),
            *((f"  {_range(low, high, name)}", _reached(name)) for name, low, high in RANGES),
            ("  room to the nearest part", lambda r: _room(r.place.room)),
            ("    which is", lambda r: r.place.nearest),
        )),
    )  # fmt: skip


def _turned(title: str, of: Callable[[WheelRow], Turned]) -> tuple[tuple[str, Cell], ...]:
    return (
        (f"  {title}: peak torque", lambda r: si(shown(of(r).torque, "torque"))),
        ("    force at rim or grip", lambda r: shown(of(r).force, "force")),
        ("    drives the hand by up to", lambda r: shown(of(r).kick, "force")),
    )


def _short(values: Iterable[float], dimension: str) -> str:
    """Give a range without its shop units."""
    return si(span(values, dimension))


def _inches(r: WheelRow) -> str:
    disc = "" if np.isnan(r.thickness) else f" x {r.thickness / 0.0254:.3g}"
    return f"({r.diameter / 0.0254:.3g}{disc} in)"


def _clearing(r: WheelRow) -> str:
    """Give the range over friction; what no speed clears that is looked at is over the fastest of them."""
    low, _, high = r.free.clearing
    if np.isfinite(high):
        return _short(r.free.clearing, "angular_speed")
    fastest = f"over {shown(FASTEST, 'angular_speed')}"
    return f"{si(shown(low, 'angular_speed'))} to {fastest}" if np.isfinite(low) else fastest


def _speeds(r: WheelRow) -> str:
    if np.isnan(r.free.slowest):
        return "does not get round"
    return _short((r.free.slowest, r.free.fastest), "angular_speed")


def _squares(value: float) -> str:
    return f"{value:.3g} rad2/s2" if np.isfinite(value) else "-"


def _seconds(value: float) -> str:
    return "still moving" if np.isnan(value) else f"{value:.0f} s"


def _rests(r: WheelRow) -> str:
    if np.isnan(r.gone.rest_least):
        return "still moving"
    longest = LONGEST if np.isnan(r.gone.rest_longest) else r.gone.rest_longest
    beyond = "over " if np.isnan(r.gone.rest_longest) else ""
    return f"{r.gone.rest_least:.0f} to {beyond}{longest:.0f} s"


def _stopped(r: WheelRow) -> str:
    return "not at all" if np.isnan(r.gone.stopped) else f"{r.gone.stopped:.2f} s"


def _mm(height: float) -> str:
    return f"{1000 * height:.0f}"


def _range(low: float, high: float, name: str) -> str:
    """Name a range of reach by its limits and whom it is for."""
    whom = name.split(" (")[0].split(", ")[-1]
    return f"within {_mm(low)} to {_mm(high)} mm, {whom}"


def _reached(name: str) -> Cell:
    def cell(r: WheelRow) -> str:
        share = r.place.reach[name]
        return "passes" if share > 1 - 1e-9 else f"{100 * share:.0f} % of it"

    return cell


def _room(room: float) -> str:
    return f"over {_mm(WITHIN)} mm" if np.isnan(room) else f"{_mm(room)} mm"


def _moved(value: float) -> str:
    return "not checked" if np.isnan(value) else f"{100 * value:.2f} %"


def _left_out(left_out: Sequence[LeftOut]) -> list[str]:
    if not left_out:
        return []
    return ["", "Left out", *(x for out in left_out for x in wrapped(f"{out.size.label}: {out.why}"))]


def _knees(found: Comparison) -> list[str]:
    """Say for everything that mass buys where its knee is."""
    return [x for name, k in found.knees().items() for x in wrapped(_knee(name, k, found))]


def _knee(name: str, k: Knee, found: Comparison) -> str:
    if k.at is None:
        return f"{name}: no knee; {k.why}"
    row, dimension = found.rows[k.at], BOUGHT[name][0]
    worse = [r.label for n, r in enumerate(found.rows) if n not in k.kept]
    words = (
        f"{name}: the knee is {row.label}, {shown(row.mass, 'mass')}; up to it each kilogram takes off "
        f"{shown(k.before, dimension)} on average, each further one beyond it {shown(k.beyond, dimension)}"
    )
    return f"{words}; no better than a lighter one: {', '.join(worse)}" if worse else words


def _words() -> list[str]:
    """Say what the table's words mean."""
    said = (
        "At a held speed the wheel's inertia takes no torque: a larger wheel takes less force for its radius alone. "
        f"Who can start it {ASSUMED}.",
        "Left to itself: without friction and with drives that do not give, but for the line with friction. dE is the "
        "swing of potential energy over the turn, J the inertia of the whole piece. Energy over dE below 1: with that "
        "speed at its lowest point the piece does not carry the wings over the top. Near stall: it does, with less "
        f"than {NEAR_STALL:g} of the speed left there (assumption). Cs, for speeds about a mean, is given where it is "
        f"below {HOLDS:g}. Does not get round: that mean leaves less than the top takes.",
        f"A grip of {shown(people()[GRIPPING].grip, 'force')} (assumption) stops it while the wings pull against it as "
        "hard as they can: at most so long. Finer steps: half and a quarter, of the worst let go in three dimensions, "
        "and of the hand's torque in the turns.",
        "Reach is height alone: 2010 ADA Standards 308 and advisory 308.1 (read); whether they apply is for the local "
        "authority. Room is what is left over the turn after 3 mm of tolerance.",
        "A knee is the wheel farthest below the straight line between the lightest and the heaviest, of those of which "
        "each is better than all lighter ones by more than 1 %.",
    )
    return [x for words in said for x in wrapped(words)]
