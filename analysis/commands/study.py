"""The main job as a command."""

from pathlib import Path
from typing import TYPE_CHECKING

from analysis.commands import options
from analysis.commands.options import Changes, CountOrNone, Json, Names, Runs, SignedOrNone, Strict
from analysis.commands.telling import default_table, print_json, progress, verdict
from models.loading import load

if TYPE_CHECKING:
    from analysis.study import Study

RUNS = Path("runs")


def study(
    file: Path,
    /,
    *,
    only: Names = None,
    angles: CountOrNone = None,
    speed: SignedOrNone = None,
    set_: Changes = None,
    runs: Runs = RUNS,
    json_: Json = False,
    strict: Strict = False,
) -> int:
    """Do the main job: check, every load case, friction low and high, envelope, figures, summary.

    Parameters
    ----------
    file
        The description.
    only
        Only these load cases beside the slow turn and letting go, with commas between: gust,blocked; or none.
    angles
        Release angles over the turn, instead of the load case's.
    speed
        The wheel's speed at the release; by default an adult's comfortable hand speed.
    set_
        Use another value: wheel.diameter="600 mm". May be repeated.
    runs
        Folder for the recorded runs and the summary.
    json_
        Print all findings as JSON.
    strict
        Leave with 1 when a finding is beyond its limit.
    """
    from analysis.commands.asking import chosen
    from analysis.files import write_files
    from analysis.questions import ready
    from analysis.study import study as whole
    from analysis.summary import screen

    sculpture = load(file, options.changes(set_))
    named = ready(sculpture)
    wanted = options.named(only, "--only")
    names = None if wanted is None else chosen(named, wanted)
    released = None if speed is None else options.speed(speed)
    options.check_folder(runs)
    with progress(f"studying {sculpture.name}") as tell:
        made = whole(sculpture, runs=runs, only=names, angles=angles, speed=released, done=tell)
    folder = runs / f"{file.stem}-study"
    write_files(made, folder)
    if json_:
        print_json({**table(made), "folder": str(folder), "defaults": default_table(sculpture)})
    else:
        print("\n".join(screen(made, folder)))
    return verdict(made.findings, strict)


def table(study: "Study") -> dict[str, object]:
    """Give a study as plain data for JSON."""
    from analysis.summary.loads import sensitive

    return {
        "sculpture": study.name,
        "findings": [f.table() for f in study.findings],
        "cases": [
            {"name": g.name, "kind": g.case.kind, "source": g.case.source, "left_out": g.left_out,
             "runs": [{"id": r.id, "case": r.label, "status": r.status, "reason": r.reason} for r in g.runs]}
            for g in study.campaign.groups
        ],
        "envelope": {name: [f.table() for f in own] for name, own in study.envelope.by_case.items()},
        "ranges": [
            {"what": r.nominal.what, "where": r.nominal.where, "case": r.nominal.case,
             "unit": r.nominal.table()["unit"], "low": None if r.low is None else r.low.value,
             "nominal": r.nominal.value, "high": None if r.high is None else r.high.value}
            for r in study.ranges
        ],
        "impact": [
            {"chain": i.chain, "nominal": i.nominal, "least": i.least, "most": i.most, "steps": i.steps,
             "variants": [{"what": w, "factor": f, "pull": v} for w, f, v in i.variants]}
            for i in study.impact
        ],
        "sensitive": [
            {"case": run.label, "channel": p.channel, "kind": p.kind, "values": p.values, "moved": p.moved}
            for run, p in sensitive(study)
        ],
    }  # fmt: skip
