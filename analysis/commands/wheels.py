"""The command that compares wheels."""

from pathlib import Path

from analysis.commands import options
from analysis.commands.options import Changes, Count, Json, Runs, Signed
from analysis.commands.telling import CAUTION, print_json, progress
from models.cases import cases
from models.loading import DescriptionError, load
from models.sculpture import Sculpture

RUNS = Path("runs")


def wheels(
    file: Path,
    /,
    *,
    diameter: str = "500 mm, 600 mm, 700 mm, 800 mm",
    thickness: str | None = None,
    speed: Signed = "60 rpm",
    angles: Count = 8,
    set_: Changes = None,
    runs: Runs = RUNS,
    json_: Json = False,
) -> int:
    """Compare wheels: effort, energy, letting go, reach, and the knee of what their mass buys.

    Parameters
    ----------
    file
        The description.
    diameter
        The diameters, with commas between; of a handle the circle's.
    thickness
        The thicknesses of the disc, with commas between, each with every diameter; by default the description's own.
    speed
        The wheel's working speed, at which it is also let go.
    angles
        Release angles over the turn.
    set_
        Use another value: wheel.material="304 stainless". May be repeated.
    runs
        Folder for the recorded runs.
    json_
        Print everything as JSON.
    """
    from analysis.files import write_wheels
    from analysis.summary.wheels import lines
    from analysis.wheels import compare, sizes

    sculpture = load(file, options.changes(set_))
    cases(sculpture)
    chosen = sizes(options.lengths(diameter, "--diameter"), _thicknesses(sculpture, thickness))
    working = options.speed(speed)
    options.check_angles(angles)
    options.check_folder(runs)
    with progress("comparing wheels") as tell:
        found = compare(sculpture, chosen, speed=working, angles=angles, runs=runs, done=tell)
    picture = write_wheels(found, runs / f"{file.stem}-wheels") if found.rows else None
    if json_:
        print_json({**found.table(), "figure": None if picture is None else str(picture)})
        return 0
    print("\n".join(lines(found)))
    if picture is not None:
        print(f"As a figure: {picture}")
    print(CAUTION)
    return 0


def _thicknesses(sculpture: Sculpture, text: str | None) -> list[float] | None:
    if text is None:
        return None
    found = options.lengths(text, "--thickness")
    if sculpture.wheel is not None and sculpture.wheel.kind == "handle":
        raise DescriptionError(
            ['--thickness: a handle has no disc; leave it out, or describe a wheel of kind = "disc"']
        )
    return found
