"""One description with many values, as a command."""

from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from analysis.commands import options
from analysis.commands.options import Changes, CountOrNone, Json, Names, Runs, Samples, Seed, SignedOrNone
from analysis.commands.telling import CAUTION, print_json, progress
from models.loading import DescriptionError, load

if TYPE_CHECKING:
    from concurrent.futures import Executor
    from contextlib import AbstractContextManager

    from analysis.sweep.builds import Asked, Build
    from analysis.sweep.plan import Varied
    from models.cases import Case

RUNS = Path("runs")
Address = Annotated[str | None, Parameter(name="--cluster")]


def compare(
    file: Path,
    /,
    *,
    set_: Changes = None,
    samples: Samples = None,
    seed: Seed = 1,
    only: Names = None,
    angles: CountOrNone = None,
    speed: SignedOrNone = None,
    cluster: Address = None,
    runs: Runs = RUNS,
    json_: Json = False,
) -> int:
    """Compare builds of one description: every combination of values, or many spread over ranges.

    Every build goes through all load cases by the quickest method that knows them, without the study's checks of
    finer steps and ranges; finished builds are kept, and a second call goes on where the first was stopped.

    Parameters
    ----------
    file
        The description.
    set_
        A field and its values: wheel.diameter="500 mm, 600 mm" or "500 mm to 700 mm by 50 mm". May be repeated.
    samples
        So many builds spread evenly over all ranges (latin hypercube): --set wheel.diameter="500 mm to 700 mm".
    seed
        Another number gives other samples.
    only
        Only these load cases beside the slow turn and letting go, with commas between: gust,blocked; or none.
    angles
        Release angles over the turn, instead of the load case's.
    speed
        The wheel's speed at the release; by default an adult's comfortable hand speed.
    cluster
        Run them on the Dask cluster with this scheduler's address.
    runs
        Folder for the table and the figures.
    json_
        Print the table as JSON.
    """
    from analysis.questions import ready
    from analysis.sweep import plan

    fields = _fields(set_)
    sculpture = load(file)
    named = ready(sculpture)
    plan.check_fields(sculpture, fields)
    asked = question(named, only, angles, speed)
    options.check_folder(runs)
    changes = plan.grid(fields) if samples is None else plan.latin_hypercube(fields, samples, seed)
    stem = runs / f"{file.stem}-compare"
    from analysis.sweep.builds import builds

    with workers(cluster) as pool, progress(f"comparing {len(changes)} builds") as tell:
        made = builds(sculpture, changes, asked, kept=stem.with_suffix(".jsonl"), pool=pool, done=tell)
    _show(sculpture.name, made, stem, json_)
    return 0


def _fields(texts: list[str] | None) -> "list[Varied]":
    from analysis.sweep.plan import varied

    if not texts:
        raise DescriptionError(['--set: no field is given; write --set wheel.diameter="500 mm, 600 mm"'])
    found: list[Varied] = []
    lines: list[str] = []
    for text in texts:
        try:
            found.append(varied(text))
        except DescriptionError as error:
            lines += error.lines
    names = [f.field for f in found]
    lines += [
        f"--set: {n}: it is given twice; write all its values in one"
        for n in dict.fromkeys(names)
        if names.count(n) > 1
    ]
    if lines:
        raise DescriptionError(lines)
    return found


def question(
    named: "dict[str, Case]", only: list[str] | None, angles: int | None, speed: str | None
) -> "Asked":
    """Give what is found of each build as options ask for it; raises DescriptionError with what is wrong."""
    from analysis.commands.asking import chosen
    from analysis.sweep.builds import Asked

    wanted = options.named(only, "--only")
    names = None if wanted is None else tuple(chosen(named, wanted))
    return Asked(names, angles, None if speed is None else options.speed(speed))


def workers(address: str | None) -> "AbstractContextManager[Executor | None]":
    """Give where builds are run: this machine, or a cluster."""
    if address is None:
        return nullcontext(None)
    from sim.cluster import cluster

    return cluster(address)


def _show(name: str, made: "list[Build]", stem: Path, as_json: bool) -> None:
    from analysis import style
    from analysis.figures.sweeps import sweep
    from analysis.summary.layout import columns
    from analysis.sweep import table

    comma, tree = table.write(made, stem)
    ran = [b for b in made if not b.reason]
    picture = style.save(sweep(made), stem)[1] if ran else None
    if as_json:
        print_json({
            "builds": [
                {"changes": dict(b.changes), "reason": b.reason, "limits_exceeded": len(b.beyond),
                 "readings": {r.name: r.value for r in b.readings}} for b in made
            ],
            "table": [str(comma), str(tree)], "figure": None if picture is None else str(picture),
        })  # fmt: skip
        return
    print(f"{name}: {len(ran)} of {len(made)} builds run, nominal friction")
    print("\n".join(columns(table.short(made))))
    if len(made) > table.LINES:
        print(f"and {len(made) - table.LINES} more in the table")
    for line in table.reasons(made):
        print(line)
    print(f"As a table: {comma}, {tree}" + ("" if picture is None else f"; as a figure: {picture}"))
    print(CAUTION)
