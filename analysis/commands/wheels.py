"""The command that compares wheels."""

from pathlib import Path
from typing import TYPE_CHECKING

from analysis.commands import options
from analysis.commands.options import Changes, Count, Json, Runs, Signed
from analysis.commands.telling import CAUTION, print_json, progress
from models.cases import cases
from models.loading import DescriptionError, load
from models.sculpture import Sculpture

if TYPE_CHECKING:
    from analysis.wheels import Size

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
    from analysis.wheels import compare

    sculpture = load(file, options.changes(set_))
    cases(sculpture)
    chosen, working = _asked(sculpture, diameter, thickness, speed)
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


def _asked(
    sculpture: Sculpture, diameter: str, thickness: str | None, speed: str
) -> "tuple[list[Size], float]":
    """Read sizes and speed, and say all that is wrong with them at once."""
    from analysis.wheels import sizes

    faults: list[str] = []
    if thickness is not None and sculpture.wheel is not None and sculpture.wheel.kind == "handle":
        faults.append('--thickness: a handle has no disc; leave it out, or describe a wheel of kind = "disc"')
        thickness = None
    read: list[list[float]] = []
    for option, text in (("--diameter", diameter), ("--thickness", thickness)):
        try:
            read.append([] if text is None else options.lengths(text, option))
        except DescriptionError as error:
            faults += error.lines
    try:
        working = options.speed(speed)
    except DescriptionError as error:
        raise DescriptionError([*faults, *error.lines]) from None
    if faults:
        raise DescriptionError(faults)
    return sizes(read[0], read[1] or None), working
