"""The commands that make and read single runs."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from analysis.commands import options
from analysis.commands.options import Changes, Json, Runs, SignedOrNone, Strict
from analysis.commands.telling import complain, print_json, progress, verdict
from models.loading import DescriptionError, load

if TYPE_CHECKING:
    from analysis.finding import Finding
    from models.sculpture import Sculpture
    from sim.run import Run
    from sim.scenarios import Scenario

RUNS = Path("runs")


def simulate(
    file: Path,
    /,
    *,
    case: str = "let-go",
    speed: SignedOrNone = None,
    release: SignedOrNone = None,
    person: str | None = None,
    friction: str = "nominal",
    set_: Changes = None,
    runs: Runs = RUNS,
    json_: Json = False,
    strict: Strict = False,
) -> int:
    """Simulate one load case with all its scenarios, record them and print their findings.

    A single scenario is checked with half and a quarter of its step; of several, a study checks those that
    findings rest on.

    Parameters
    ----------
    file
        The description.
    case
        A load case by name, see wingwright cases FILE; or a kind of case, such as turn or crank.
    speed
        The wheel's speed, such as "60 rpm", instead of the case's own.
    release
        Crank angle at which it is let go or at which turning begins, instead of the case's own.
    person
        Who does it, such as child or adult, instead of the case's own.
    friction
        low, nominal or high.
    set_
        Use another value: wheel.diameter="600 mm". May be repeated.
    runs
        Folder for the recorded runs.
    json_
        Print the findings as JSON, as a list where there are several runs.
    strict
        Leave with 1 when a finding is beyond its limit.
    """
    from analysis.commands.answering import run_lines
    from analysis.commands.asking import asked
    from analysis.of_run import of_run
    from analysis.questions import closed, ready
    from sim.store import open_run

    sculpture = load(file, options.changes(set_))
    wanted = asked(ready(sculpture), case, speed=speed, release=release, person=person, friction=friction)
    options.check_folder(runs)
    comes_to = wanted.expanded(closed(sculpture))
    if not comes_to.scenarios:
        raise DescriptionError([f"--case: '{case}' is left out for this sculpture: {comes_to.left_out}"])
    made = [(path, open_run(path)) for path in _recorded(sculpture, comes_to.scenarios, runs)]
    found = [(path, run, of_run(run)) for path, run in made]
    if json_:
        tables = [_table(*item) for item in found]
        print_json(tables[0] if len(tables) == 1 else tables)
    else:
        print("\n\n".join("\n".join(run_lines(*item)) for item in found))
        if comes_to.left_out:
            print(f"\nLeft out: {comes_to.left_out}")
    return verdict([f for _, _, own in found for f in own], strict)


def _recorded(sculpture: "Sculpture", scenarios: "tuple[Scenario, ...]", runs: Path) -> list[Path]:
    """Record scenarios and give their files."""
    from sim.many import Job, record_many
    from sim.simulate import record

    words = scenarios[0].label if len(scenarios) == 1 else f"{len(scenarios)} runs"
    with progress(words) as tell:
        if len(scenarios) == 1:
            return [record(sculpture, scenarios[0], runs=runs, progress=lambda share: tell(share, 1.0))]
        jobs = [Job(sculpture, s, runs, check=False) for s in scenarios]
        return record_many(jobs, lambda count: tell(count, len(jobs)))


def findings(*run: Path, json_: Json = False, strict: Strict = False) -> int:
    """Print the findings of recorded runs.

    Parameters
    ----------
    run
        Files under runs/.
    json_
        Print them as JSON.
    strict
        Leave with 1 when a finding is beyond its limit.
    """
    from analysis.commands.answering import run_lines
    from analysis.of_run import of_run
    from sim.store import open_run

    if not run:
        complain(["findings: no run is named; write wingwright findings runs/NAME.h5"])
        return 2
    made = [(path, open_run(path)) for path in run]
    found = [(path, one, of_run(one)) for path, one in made]
    if json_:
        print_json([_table(*item) for item in found])
    else:
        print("\n\n".join("\n".join(run_lines(*item)) for item in found))
    return verdict([f for _, _, own in found for f in own], strict)


def _table(path: Path, run: "Run", found: "Iterable[Finding]") -> dict[str, object]:
    return {
        "run": str(path),
        "id": run.id,
        "sculpture": run.sculpture,
        "case": run.label,
        "status": run.status,
        "reason": run.reason,
        "findings": [f.table() for f in found],
        "peaks": [
            {"channel": p.channel, "kind": p.kind, "values": p.values, "moved": p.moved, "order": p.order}
            for p in run.peaks
        ],
    }
