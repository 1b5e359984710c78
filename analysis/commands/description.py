"""The commands that look at a description and simulate nothing."""

from importlib.resources import files
from pathlib import Path

from analysis.commands import options
from analysis.commands.options import Changes, Json, Strict
from analysis.commands.telling import complain, default_table, print_json, verdict
from models.loading import load

RUNS = Path("runs")


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
        complain([f"{file}: there is such a file already; choose another name"])
        return 2
    print(f"{file} written. Change what is yours, then: wingwright check {file}")
    return 0


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
    from analysis.commands.answering import answer_lines, write_drawing
    from analysis.questions import answers

    sculpture = load(file, options.changes(set_))
    given = answers(sculpture)
    faults = list(dict.fromkeys(line for a in given for line in a.faults))
    if faults:
        complain(faults)
        return 2
    picture = write_drawing(sculpture, out or RUNS / f"{file.stem}-drawing")
    found = [f for a in given for f in a.findings]
    if json_:
        print_json(
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
                "defaults": default_table(sculpture),
            }
        )
    else:
        print("\n".join(answer_lines(sculpture, given, picture)))
    return verdict(found, strict)


def cases(file: Path, /, *, set_: Changes = None, json_: Json = False) -> int:
    """List the load cases by name, and which of them are left out for this sculpture and why.

    Parameters
    ----------
    file
        The description; it may add load cases, or change some, as [[case]].
    set_
        Use another value: wheel.height="1.2 m". May be repeated.
    json_
        Print them as JSON.
    """
    from analysis.commands import case_list

    sculpture = load(file, options.changes(set_))
    found, lacking = case_list.listed(sculpture)
    if json_:
        print_json({"sculpture": sculpture.name, "lacking": lacking, "cases": [c.table() for c in found]})
    else:
        print("\n".join(case_list.lines(sculpture, found, lacking)))
    return 0
