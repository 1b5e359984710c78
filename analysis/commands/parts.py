"""The parts schedule as a command, and the catalogues it chooses from."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from analysis.commands import options
from analysis.commands.options import Changes, Json, Names, Runs, Strict
from analysis.commands.telling import default_table, print_json, progress, verdict
from models.loading import DescriptionError, load
from models.parts.families import FAMILIES, family, own_text

RUNS = Path("runs")
Catalogues = Annotated[list[str] | None, Parameter(name="--catalogue", negative=(), consume_multiple=False)]


def parts(
    file: Path,
    /,
    *,
    only: Names = None,
    catalogue: Catalogues = None,
    set_: Changes = None,
    runs: Runs = RUNS,
    json_: Json = False,
    strict: Strict = False,
) -> int:
    """Which parts to buy: run or find the load cases, and choose the smallest size of each part that stands them.

    Parameters
    ----------
    file
        The description.
    only
        Only these load cases beside the slow turn and letting go, with commas between: gust,blocked; or none.
    catalogue
        A maker's own table in place of one here: rod-ends=mine.csv. May be repeated; see wingwright catalogue.
    set_
        Use another value: crank.pin="16 mm". May be repeated.
    runs
        Folder for the recorded runs and the schedule.
    json_
        Print the schedule as JSON.
    strict
        Leave with 1 when a described size is too small, or none will do.
    """
    from analysis.commands.asking import chosen
    from analysis.files import write_parts
    from analysis.questions import ready
    from analysis.study import study
    from analysis.summary.parts import plain, screen

    makers = makers_of(catalogue)
    sculpture = load(file, options.changes(set_))
    named = ready(sculpture)
    wanted = options.named(only, "--only")
    names = None if wanted is None else chosen(named, wanted)
    options.check_folder(runs)
    with progress(f"studying {sculpture.name}") as tell:
        made = study(sculpture, runs=runs, only=names, makers=makers, done=tell)
    folder = runs / f"{file.stem}-parts"
    assert made.schedule is not None
    write_parts(made, folder)
    if json_:
        print_json({"sculpture": made.name, **plain(made.schedule, made.loads.names), "folder": str(folder),
                    "defaults": default_table(sculpture)})  # fmt: skip
    else:
        print(
            "\n".join(screen(made.name, made.schedule, made.loads.names, f"{folder / 'parts.md'}, parts.csv"))
        )
    return verdict(made.schedule.findings, strict)


def catalogue(name: str, /) -> int:
    """Print a catalogue of parts as CSV, to begin one of your own with.

    Parameters
    ----------
    name
        Of the family, such as rod-ends.
    """
    print(own_text(name), end="")
    return 0


def makers_of(texts: list[str] | None) -> dict[str, Path]:
    """Give the files of makers' catalogues by family, as the option names them.

    Raises
    ------
    DescriptionError
        With every fault of the option.
    """
    makers: dict[str, Path] = {}
    faults: list[str] = []
    for text in texts or []:
        name, equals, path = text.partition("=")
        if not (equals and name.strip() and path.strip()):
            faults.append(f"--catalogue: '{text[:60]}' names no file; write {next(iter(FAMILIES))}=mine.csv")
            continue
        try:
            makers[family(name.strip(), "--catalogue").name] = Path(path.strip())
        except DescriptionError as error:
            faults += error.lines
    if faults:
        raise DescriptionError(faults)
    return makers
