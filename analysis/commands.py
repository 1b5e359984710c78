"""The command line. Each command's help is its docstring."""

import contextlib
import io
import json
import math
import sys
from collections.abc import Callable, Generator, Iterable, Sequence
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from typing import Any, cast

from cyclopts import App, CycloptsError

from analysis import options
from analysis.interrupting import INTERRUPTED, WORDS, leave_at_once
from analysis.options import Changes, Count, Json, Runs, Signed, SignedOrNone, Strict
from models.loading import DescriptionError, load, one_line
from models.sculpture import Sculpture
from models.units import DescriptionFault
from sim.run import RunFileError

CAUTION = (
    "Moving public art can crush and shear. Figures serve the maker's judgement; structure, local codes and "
    "playground rules belong to licensed people."
)
app = App(
    name="wingwright",
    help="Says before steel is cut how a hand-cranked flapping sculpture moves, feels, lets go and loads its "
    f"parts.\n\n{CAUTION}",
    version=lambda: version("wingwright"),
    help_format="plaintext",
)

RUNS = Path("runs")


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit code: 0, 1 (beyond a limit, --strict) or 2 (bad input)."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal of few letters shows the others as escapes instead of failing.
            stream.reconfigure(errors="backslashreplace")
    leave_at_once(lambda line: _complain([line]))
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and give its exit code."""
    try:
        tokens = sys.argv[1:] if arguments is None else list(arguments)
        code = cast("Any", app)(tokens, exit_on_error=False, print_error=False, result_action="return_value")
        sys.stdout.flush()  # here, where it is caught when the reader has gone
        return code if isinstance(code, int) else 0
    except DescriptionError as error:
        _complain(error.lines)
    except (RunFileError, DescriptionFault) as error:
        _complain([str(error)])
    except CycloptsError as error:
        _complain([" ".join(str(error).split()) + " See wingwright --help."])
    except KeyboardInterrupt:
        _complain([WORDS])
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of the output has gone; there is nobody left to tell.
        with contextlib.suppress(OSError):
            sys.stdout.close()
        return 0
    except ChildProcessError as error:
        _complain([f"{error}; finished runs are kept, call again to go on"])
    except OSError as error:
        _complain(
            [f"{error.filename or 'a file'}: {error.strerror or error}; check the place and its rights"]
        )
    return 2


@app.command
def new(file: Path, /) -> int:
    """Write a commented description to start from.

    Parameters
    ----------
    file
        Where to write it; an existing file is left alone.
    """
    try:
        with file.open("x", encoding="utf-8") as made:
            made.write(files("models").joinpath("starter.toml").read_text("utf-8"))
    except FileExistsError:
        _complain([f"{file}: there is such a file already; choose another name"])
        return 2
    print(f"{file} written. Change what is yours, then: wingwright check {file}")
    return 0


@app.command
def check(
    file: Path,
    /,
    *,
    set_: Changes = None,
    out: Path | None = None,
    json_: Json = False,
    strict: Strict = False,
) -> int:
    """Check a description, close its loops, draw what was understood.

    Parameters
    ----------
    file
        The description.
    set_
        Use another value: wheel.diameter="600 mm". May be repeated.
    out
        Where to write the drawing, without an ending; by default under runs/.
    json_
        Print the answers as JSON.
    strict
        Leave with 1 when a finding is beyond its limit.
    """
    from analysis.answering import answer_lines, write_drawing
    from analysis.questions import answers

    sculpture = load(file, options.changes(set_))
    given = answers(sculpture)
    faults = list(dict.fromkeys(line for a in given for line in a.faults))
    if faults:
        _complain(faults)
        return 2
    picture = write_drawing(sculpture, out or RUNS / f"{file.stem}-drawing")
    found = [f for a in given for f in a.findings]
    if json_:
        _print_json(
            {
                "sculpture": sculpture.name,
                "drawing": None if picture is None else str(picture),
                "answers": [
                    {
                        "question": a.question,
                        "lacking": a.lacking,
                        "findings": [f.table() for f in a.findings],
                    }
                    for a in given
                ],
                "defaults": _defaults(sculpture),
            }
        )
    else:
        print("\n".join(answer_lines(sculpture, given, picture)))
    return _verdict(found, strict)


@app.command
def simulate(
    file: Path,
    /,
    *,
    case: str = "let-go",
    speed: SignedOrNone = None,
    release: Signed = "0 deg",
    person: str = "adult",
    set_: Changes = None,
    runs: Runs = RUNS,
    json_: Json = False,
    strict: Strict = False,
) -> int:
    """Simulate one load case, record it and print its findings.

    Parameters
    ----------
    file
        The description.
    case
        turn (the wheel's speed is held), crank (somebody turns it) or let-go.
    speed
        The wheel's speed, such as "60 rpm"; for crank by default what is comfortable.
    release
        Crank angle at which it is let go, or at which turning begins.
    person
        child or adult, for crank.
    set_
        Use another value: wheel.diameter="600 mm". May be repeated.
    runs
        Folder for the recorded runs.
    json_
        Print the findings as JSON.
    strict
        Leave with 1 when a finding is beyond its limit.
    """
    from analysis.answering import run_lines
    from analysis.of_run import of_run
    from sim.simulate import record
    from sim.store import open_run

    sculpture = load(file, options.changes(set_))
    scenario = options.scenario(case, speed, release, person)
    options.check_folder(runs)
    with _progress(f"{scenario.label}") as tell:
        path = record(sculpture, scenario, runs=runs, progress=lambda share: tell(share, 1.0))
    made = open_run(path)
    found = of_run(made)
    if json_:
        _print_json(_run_table(path, made, found))
    else:
        print("\n".join(run_lines(path, made, found)))
    return _verdict(found, strict)


@app.command
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
    from analysis.answering import run_lines
    from analysis.of_run import of_run
    from sim.store import open_run

    if not run:
        _complain(["findings: no run is named; write wingwright findings runs/NAME.h5"])
        return 2
    made = [(path, open_run(path)) for path in run]
    found = [(path, one, of_run(one)) for path, one in made]
    if json_:
        _print_json([_run_table(*item) for item in found])
    else:
        print("\n\n".join("\n".join(run_lines(*item)) for item in found))
    return _verdict([f for _, _, own in found for f in own], strict)


@app.command
def wheels(
    file: Path,
    /,
    *,
    diameter: str = "500 mm, 600 mm, 700 mm, 800 mm",
    speed: Signed = "60 rpm",
    angles: Count = 8,
    set_: Changes = None,
    runs: Runs = RUNS,
    json_: Json = False,
) -> int:
    """Compare wheel diameters: effort, energy, speed after letting go.

    Parameters
    ----------
    file
        The description.
    diameter
        The diameters, with commas between.
    speed
        The wheel's speed at the release.
    angles
        Release angles over the turn.
    set_
        Use another value: wheel.thickness="10 mm". May be repeated.
    runs
        Folder for the recorded runs.
    json_
        Print the table as JSON.
    """
    from dataclasses import asdict

    from analysis import wheels as comparison
    from analysis.files import write_wheels
    from analysis.layout import columns

    sculpture = load(file, options.changes(set_))
    sizes, released = options.lengths(diameter, "--diameter"), options.speed(speed)
    options.check_angles(angles)
    options.check_folder(runs)
    with _progress("comparing wheels") as tell:
        rows = comparison.compare(
            sculpture, sizes, speed=released, angles=angles, runs=runs,
            done=tell,
        )  # fmt: skip
    if json_:
        _print_json([asdict(r) for r in rows])
        return 0
    picture = write_wheels(rows, runs / f"{file.stem}-wheels")
    print(f"{sculpture.name}: wheels, let go at {speed} from {angles} angles, nominal friction")
    print("\n".join(columns(comparison.table(rows))))
    print(f"As a figure: {picture}")
    print("Energy over swing below 1: the wheel does not carry the wings over the top by itself.")
    print(CAUTION)
    return 0


@app.command
def study(
    file: Path,
    /,
    *,
    angles: Count = 24,
    speed: SignedOrNone = None,
    set_: Changes = None,
    runs: Runs = RUNS,
    json_: Json = False,
    strict: Strict = False,
) -> int:
    """Do the main job: check, slow turn, child and adult, letting go all around, envelope, figures, summary.

    Parameters
    ----------
    file
        The description.
    angles
        Release angles over the turn.
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
    from analysis.files import write_files
    from analysis.study import study as whole
    from analysis.summary import screen

    sculpture = load(file, options.changes(set_))
    released = None if speed is None else options.speed(speed)
    options.check_angles(angles)
    options.check_folder(runs)
    with _progress(f"studying {sculpture.name}") as tell:
        made = whole(sculpture, runs=runs, angles=angles, speed=released, done=tell)
    folder = runs / f"{file.stem}-study"
    write_files(made, folder)
    if json_:
        _print_json({"sculpture": made.name, "folder": str(folder),
                     "findings": [f.table() for f in made.findings], "defaults": _defaults(sculpture)})  # fmt: skip
    else:
        print("\n".join(screen(made, folder)))
    return _verdict(made.findings, strict)


def _defaults(sculpture: Sculpture) -> list[dict[str, object]]:
    from dataclasses import asdict

    from models.resolve import mechanism

    try:
        return [asdict(d) for d in mechanism(sculpture).defaults]
    except DescriptionError:
        return []


def _run_table(path: Path, run: Any, found: Iterable[Any]) -> dict[str, object]:
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
    }  # fmt: skip


def _verdict(found: Iterable[Any], strict: bool) -> int:
    return 1 if strict and any(f.beyond for f in found) else 0


def _print_json(value: object) -> None:
    print(json.dumps(_finite(value), indent=2, allow_nan=False))


def _finite(value: object) -> object:
    """Give data for JSON, which has no word for what is not a finite number but null."""
    if isinstance(value, dict):
        return {name: _finite(item) for name, item in cast("dict[str, object]", value).items()}
    if isinstance(value, list | tuple):
        return [_finite(item) for item in cast("list[object]", value)]
    return None if isinstance(value, float) and not math.isfinite(value) else value


def _complain(lines: Iterable[str]) -> None:
    for line in lines:
        print(one_line(line), file=sys.stderr)


@contextlib.contextmanager
def _progress(words: str) -> Generator[Callable[[float, float], None]]:
    """Show a bar on a terminal, nothing elsewhere."""
    if not sys.stderr.isatty():
        yield lambda _done, _total: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(words, total=1.0)
        yield lambda done, total: bar.update(task, completed=done, total=total)
