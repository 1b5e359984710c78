"""The shafts of a sculpture as a command."""

from pathlib import Path

from analysis.commands import options
from analysis.commands.options import Changes, Json, Runs, SignedOrNone, Strict
from analysis.commands.telling import default_table, print_json, verdict
from models.loading import load

RUNS = Path("runs")


def shafts(
    file: Path,
    /,
    *,
    runout: SignedOrNone = None,
    toward: SignedOrNone = None,
    fastest: SignedOrNone = None,
    set_: Changes = None,
    runs: Runs = RUNS,
    json_: Json = False,
    strict: Strict = False,
) -> int:
    """How the crankshafts bend and whether they hold, couplings, keyways, stock sizes, and what can resonate.

    Parameters
    ----------
    file
        The description.
    runout
        Indicator reading at the middle of the crankshafts as welded; by default the description's crank.runout.
    toward
        Where it is high, counted as throws' angles are; by default the description's, or the worst of any.
    fastest
        The wheel's highest speed after letting go; sought by default.
    set_
        Use another value: crank.shaft="30 mm". May be repeated.
    runs
        Folder for the figures and the tables.
    json_
        Print all findings as JSON.
    strict
        Leave with 1 when a finding is beyond its limit.
    """
    from analysis.files import write_shafts
    from analysis.questions import closed, ready
    from analysis.shafts import shafts as found_for
    from analysis.summary.shafts import screen

    sculpture = load(file, options.changes(set_))
    named = ready(sculpture)
    bow = options.bounded(runout, "--runout", "length", (0.0, 0.1), "write a reading from 0 mm to 100 mm")
    way = options.bounded(toward, "--toward", "angle", (-10.0, 10.0), "write an angle of a turn at most")
    top = options.bounded(fastest, "--fastest", "angular_speed", (0.01, 100.0), "write 0.1 rpm to 950 rpm")
    options.check_folder(runs)
    made = found_for(closed(sculpture), named, fastest=top, runout=bow, toward=way)
    folder = runs / f"{file.stem}-shafts"
    write_shafts(made, folder)
    if json_:
        findings = [f.table() for f in made.findings]
        print_json({"sculpture": made.linkage.mechanism.name, "findings": findings, "folder": str(folder),
                    "defaults": default_table(sculpture)})  # fmt: skip
    else:
        print("\n".join(screen(made, folder)))
    return verdict(made.findings, strict)
