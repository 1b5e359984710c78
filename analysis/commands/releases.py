"""Letting go at every angle and speed, as a command."""

from pathlib import Path
from typing import TYPE_CHECKING

from analysis.commands import options
from analysis.commands.options import Changes, Count, Json, Runs
from analysis.commands.telling import CAUTION, print_json, progress
from models.loading import DescriptionError, load
from models.shown import shown

if TYPE_CHECKING:
    from analysis.release_map import ReleaseMap

RUNS = Path("runs")
NAMED = 4
"""Releases that are named at most where they come near to stalling; the table has the rest."""


def release_map(
    file: Path,
    /,
    *,
    speeds: str = "10 rpm, 20 rpm, 30 rpm, 40 rpm, 50 rpm, 60 rpm",
    angles: Count = 24,
    diameter: str | None = None,
    set_: Changes = None,
    runs: Runs = RUNS,
    json_: Json = False,
) -> int:
    """Let go at every angle and speed: peak rim speed, kick and time to rest as a map and a table.

    Parameters
    ----------
    file
        The description.
    speeds
        The wheel's speeds at the release, with commas between.
    angles
        Release angles over the turn.
    diameter
        Wheel diameters to compare, with commas between; by default the description's wheel.
    set_
        Use another value: wheel.thickness="10 mm". May be repeated.
    runs
        Folder for the table and the figure.
    json_
        Print the table as JSON.
    """
    import csv

    from analysis import style
    from analysis.figures.releases import release_map as drawn
    from analysis.questions import ready
    from analysis.release_map import release_maps, table
    from analysis.wheels import with_diameter

    sculpture = load(file, options.changes(set_))
    ready(sculpture)
    turned = [options.speed(part, options.SLOWEST) for part in speeds.split(",") if part.strip()]
    if not turned:
        raise DescriptionError(['--speeds: no speed is given; write "20 rpm, 40 rpm"'])
    options.check_folder(runs)
    variants = [("wheel", sculpture)] if diameter is None else [
        (shown(d, "length").split(" (")[0], with_diameter(sculpture, d))
        for d in options.lengths(diameter, "--diameter")
    ]  # fmt: skip
    with progress("letting go") as tell:
        maps = release_maps(variants, sorted(turned), angles, done=tell)
    rows = table(maps)
    runs.mkdir(parents=True, exist_ok=True)
    stem = runs / f"{file.stem}-releases"
    with stem.with_suffix(".csv").open("w", encoding="utf-8", newline="") as out:
        csv.writer(out).writerows(rows)
    picture = style.save(drawn(maps), stem)[1]
    if json_:
        print_json(
            {"headings": rows[0], "rows": rows[1:], "table": str(stem) + ".csv", "figure": str(picture)}
        )
        return 0
    print(f"{sculpture.name}: let go from {angles} angles, nominal friction, by angles alone")
    for m in maps:
        worst = max(
            (g for g in m.gone if not isinstance(g, str)), key=lambda g: max(g.peak, g.back), default=None
        )
        if worst is None:
            print(f"  {m.label}: {next(g for g in m.gone if isinstance(g, str))}")
            continue
        rim = max(worst.peak, worst.back) * m.radius
        release = f"{shown(worst.release, 'angle')} at {shown(worst.speed, 'angular_speed')}"
        print(f"  {m.label}: rim up to {shown(rim, 'speed')}, let go at {release}")
        if m.near:
            print(f"  {_near(m)}")
    print(f"As a table: {stem}.csv; as a figure: {picture}")
    print(CAUTION)
    return 0


def _near(m: "ReleaseMap") -> str:
    """Say which releases all but stall at a top."""
    places = [
        f"{shown(g.release, 'angle')} at {shown(g.speed, 'angular_speed')}"
        + (f" ({abs(g.nearest):.2g} J to spare)" if g.nearest > 0 else f" ({abs(g.nearest):.2g} J short)")
        for g in m.near[:NAMED]
    ]
    more = f" and {len(m.near) - NAMED} more in the table" if len(m.near) > NAMED else ""
    return (
        f"{m.label}: {len(m.near)} of {len(m.gone)} all but stall at a top, and may as well go the other way: "
        f"{', '.join(places)}{more}"
    )
