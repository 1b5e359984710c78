"""The sheets for engineer, rigger, shop and maintenance as a command."""

from pathlib import Path

from analysis.commands import options
from analysis.commands.options import Changes, Runs
from analysis.commands.telling import CAUTION, progress
from models.loading import load

RUNS = Path("runs")


def sheets(file: Path, /, *, set_: Changes = None, runs: Runs = RUNS) -> int:
    """Write four sheets to print: for the structural engineer, the rigger, the shop, and for maintenance.

    They are HTML for A4 or US Letter, without scripts and without anything from the network.

    Parameters
    ----------
    file
        The description.
    set_
        Use another value: wheel.diameter="600 mm". May be repeated.
    runs
        Folder for the recorded runs and the sheets; runs that are there are used again.
    """
    from analysis.questions import ready
    from analysis.sheets.facts import facts
    from analysis.sheets.writing import write_sheets
    from analysis.study import study

    sculpture = load(file, options.changes(set_))
    ready(sculpture)
    options.check_folder(runs)
    with progress(f"studying {sculpture.name}") as tell:
        made = study(sculpture, runs=runs, done=tell)
    assert made.schedule is not None  # a whole study has one
    for path in write_sheets(facts(made, made.schedule), runs / f"{file.stem}-sheets"):
        print(path)
    print(CAUTION)
    return 0
