"""The command that goes from wanted motion to dimensions."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from analysis.commands import options
from analysis.commands.options import Changes, Json, Runs, SignedOrNone, Strict
from analysis.commands.telling import CAUTION, print_json
from models.loading import load

RUNS = Path("runs")
Wishes = Annotated[list[str] | None, Parameter(negative=(), consume_multiple=False)]


def fit(
    file: Path,
    /,
    *,
    range_: Annotated[
        list[str] | None, Parameter(name="--range", negative=(), consume_multiple=False)
    ] = None,
    lag: Wishes = None,
    least_transmission: SignedOrNone = None,
    most_swivel: SignedOrNone = None,
    most_throw: SignedOrNone = None,
    most_rod: SignedOrNone = None,
    most_out: SignedOrNone = None,
    most_below: SignedOrNone = None,
    round_: Annotated[str, Parameter(name="--round", allow_leading_hyphen=True)] = "0.5 mm",
    set_: Changes = None,
    runs: Runs = RUNS,
    json_: Json = False,
    strict: Strict = False,
) -> int:
    """Find throws, rods and yoke pins that move the panels as wanted.

    Parameters
    ----------
    file
        The description: outlines, hinges, places along the shaft, and a first guess at the rest.
    range_
        Lowest and highest angle of a panel from level: "inner=-25 deg to 35 deg". May be repeated; by default as
        described.
    lag
        By how much of the crank's turn a panel comes after the innermost one, negative before it, by the first
        harmonic: "outer=90 deg". May be repeated; by default as described.
    least_transmission
        Least angle between rod and yoke arm, by default "40 deg".
    most_swivel
        Most swivel of a rod end; by default what the description's rod ends allow.
    most_throw
        Longest throw; by default 1.5 times the longest described.
    most_rod
        Longest rod, eye to eye; by default 1.5 times the longest described.
    most_out
        Farthest place of a yoke pin from its hinge line, along the panel; by default each panel's far edge.
    most_below
        Lowest place of a yoke pin below its panel's plane; by default 1.5 times the lowest described.
    round_
        What lengths are made in: "0.5 mm", "1/32 in".
    set_
        Use another value: panel.outer.throw.out="800 mm". May be repeated.
    runs
        Folder for the figure.
    json_
        Print all of it as JSON.
    strict
        Leave with 1 when the motion cannot be had within the limits, or parts touch in every answer.
    """
    from analysis import style
    from analysis.commands.fit_lines import lines
    from analysis.commands.fit_options import asked, unit
    from analysis.figures.fit import fit as drawn
    from analysis.fit import answers, description

    sculpture = load(file, options.changes(set_))
    given = (least_transmission, most_swivel, most_throw, most_rod, most_out, most_below, round_)
    wanted, step = asked(sculpture, range_, lag, given)
    options.check_folder(runs)
    found = answers(sculpture, wanted, step, unit(round_))
    picture = style.save(drawn(found), runs / f"{file.stem}-fit")[1] if found.answers else None
    if json_:
        texts = [description(a) for a in found.answers]
        print_json(
            {**found.table(), "descriptions": texts, "figure": None if picture is None else str(picture)}
        )
    else:
        print("\n".join([*lines(found), *([f"Drawn: {picture}"] if picture else []), CAUTION]))
    amiss = found.found == 0 or all(a.touching for a in found.answers)
    return 1 if strict and amiss else 0
