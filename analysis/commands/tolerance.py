"""What builds within tolerances come to, as a command."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from analysis.commands import options
from analysis.commands.compare import Address, question, workers
from analysis.commands.options import Builds, Changes, CountOrNone, Json, Names, Runs, Seed, SignedOrNone
from analysis.commands.telling import CAUTION, print_json, progress
from models.loading import DescriptionError, load
from models.shown import shown

if TYPE_CHECKING:
    from analysis.sweep.scatter import Scatter, Share
    from analysis.sweep.tolerances import Tolerance
    from models.sculpture import Sculpture
    from sim.builders import Linkage

RUNS = Path("runs")
TIGHT = 20
"""Limits that a screen shows."""
Off = Annotated[list[str] | None, Parameter(name="--off", negative=(), consume_multiple=False)]


def tolerance(
    file: Path,
    /,
    *,
    off: Off = None,
    usual: bool = True,
    builds: Builds = 200,
    seed: Seed = 1,
    only: Names = None,
    angles: CountOrNone = None,
    speed: SignedOrNone = None,
    cluster: Address = None,
    set_: Changes = None,
    runs: Runs = RUNS,
    json_: Json = False,
) -> int:
    """Draw builds within tolerances: how the findings scatter, what moves them, which share passes every limit.

    The two sides are made one by one. By default the slow turn and letting go; finished builds are kept.

    Parameters
    ----------
    file
        The description.
    off
        What a value may be off by either way: panel.inner.rod="0.5 mm", right.panel.inner.rod="1 mm",
        friction.bush="30 %"; "0 mm" for not at all. May be repeated.
    usual
        Also what a shop's builds are usually off by (assumptions), for all that --off does not name.
    builds
        How many are drawn.
    seed
        Another number draws others.
    only
        Load cases beside the slow turn and letting go, with commas between: gust-locked,lifted.
    angles
        Release angles over the turn, instead of the load case's.
    speed
        The wheel's speed at the release; by default an adult's comfortable hand speed.
    cluster
        Run them on the Dask cluster with this scheduler's address.
    set_
        Use another value: wheel.diameter="600 mm". May be repeated.
    runs
        Folder for the table and the figure.
    json_
        Print all of it as JSON.
    """
    from analysis.questions import closed, ready
    from analysis.sweep import tolerances as drawn
    from analysis.sweep.builds import builds as made_of
    from analysis.sweep.scatter import scatters, share

    sculpture = load(file, options.changes(set_))
    named = ready(sculpture)
    linkage = closed(sculpture)
    wanted = _tolerances(sculpture, linkage, off, usual)
    asked = question(named, only or ["none"], angles, speed)
    options.check_folder(runs)
    shares = drawn.draws(wanted, builds, seed)
    changes = [drawn.changes(sculpture, linkage, wanted, row.tolist()) for row in shares]
    stem = runs / f"{file.stem}-tolerance"
    with workers(cluster) as pool, progress(f"{builds} builds") as tell:
        nominal, *made = made_of(
            sculpture, [{}, *changes], asked, kept=stem.with_suffix(".jsonl"), pool=pool, done=tell
        )
    if nominal.reason:
        raise DescriptionError([f"{file.name}: as described it cannot be run: {nominal.reason}"])
    found = scatters(nominal, made, wanted, shares)
    kept = [r for r in nominal.readings if not r.beyond]
    passing = (share(made), share(made, kept))
    from analysis import style
    from analysis.figures.tolerances import tolerances as figure
    from analysis.sweep import table

    # A slack is changed by writing its whole stage anew; the table has the slack itself.
    off_by = [[0.0] * len(wanted), *shares.tolist()]
    rows = [
        replace(b, changes=drawn.values(wanted, own)) for b, own in zip((nominal, *made), off_by, strict=True)
    ]
    files = table.write(rows, stem)
    picture = style.save(figure(found, made), stem)[1]
    if json_:
        print_json(_table(wanted, found, passing, [str(f) for f in (*files, picture)], seed))
        return 0
    print(
        f"{sculpture.name}: {builds} builds drawn within {len(wanted)} tolerances, seed {seed}, by the quickest method"
    )
    print("\n".join(_lines(wanted, found if any(not b.reason for b in made) else [], passing)))
    for line in table.reasons(made):
        print(line)
    print(f"As a table, the first line as described: {files[0]}, {files[1]}; as a figure: {picture}")
    print(CAUTION)
    return 0


def _tolerances(
    sculpture: "Sculpture", linkage: "Linkage", off: list[str] | None, usual: bool
) -> "list[Tolerance]":
    from analysis.sweep import tolerances

    given: list[Tolerance] = []
    lines: list[str] = []
    for text in off or []:
        name, equals, value = (part.strip() for part in text.partition("="))
        if not (name and equals and value):
            lines.append(f'--off: "{text}" says not what is off by how much; write panel.inner.rod="0.5 mm"')
            continue
        try:
            given += tolerances.both_sides(tolerances.own(sculpture, linkage, name, value), linkage)
        except DescriptionError as error:
            lines += error.lines
    if lines:
        raise DescriptionError(lines)
    found = tolerances.without(tolerances.usual(linkage) if usual else [], given)
    if not found:
        raise DescriptionError(['--off: nothing is off by anything; write --off panel.inner.rod="0.5 mm"'])
    return found


def _lines(wanted: "list[Tolerance]", found: "list[Scatter]", passing: "tuple[Share, Share]") -> list[str]:
    from analysis.summary.layout import columns
    from analysis.sweep.reading import KEYS

    lines = ["", *columns([["value", "as described", "off by", "source"], *_off_rows(wanted)]), ""]
    own = {s.nominal.name: s for s in found}
    rows = [
        ["", "as described", "5 % are below", "half", "5 % are above", "limit", "within it", "moved most by"]
    ]
    rows += [_row(KEYS[name], own[name]) for name in KEYS if name in own]
    lines += columns(rows) if found else ["none of them could be run"]
    tight = sorted((s for s in found if s.nominal.limit is not None and s.share < 1), key=lambda s: s.share)
    if tight:
        lines += ["", "Limits that not every build keeps:"]
        rows = [_row(s.nominal.name, s) for s in tight[:TIGHT]]
        lines += columns(
            [["", "as described", "limit", "within it"], *([r[0], r[1], r[5], r[6]] for r in rows)]
        )
        lines += [f"and {len(tight) - TIGHT} more in the table"] if len(tight) > TIGHT else []
    every, as_described = passing
    return [
        *lines, "",
        f"Builds that pass every limit: {_share(every)}; every limit that the description itself keeps: "
        f"{_share(as_described)}.",
    ]  # fmt: skip


def _off_rows(wanted: "list[Tolerance]") -> list[list[str]]:
    """Give the tolerances as rows, the two sides' of one kind together."""
    rows: dict[tuple[str, ...], list[str]] = {}
    for t in wanted:
        side, _, rest = t.field.partition(".")
        both = side in {"left", "right"} and rest != "key_angle"
        name = f"each side, {rest}" if both else t.field
        own = [_si(t.nominal, t.dimension), _si(t.off, t.dimension), t.source]
        rows.setdefault((name, *own), [name, *own])
    return list(rows.values())


def _row(name: str, s: "Scatter") -> list[str]:
    n = s.nominal
    limit = "" if n.limit is None else f"at {n.side} {_si(n.limit, n.dimension)}"
    within = "" if n.limit is None else f"{100 * s.share:.0f} %"
    movers = (
        ", ".join(f"{m.field} ({m.correlation:+.2f})" for m in s.movers[:1]) or "none by more than chance"
    )
    return [name, *(_si(v, n.dimension) for v in (n.value, s.low, s.middle, s.high)), limit, within, movers]


def _si(value: float, dimension: str) -> str:
    return f"{value:.3g}" if dimension == "fault" else shown(value, dimension).split(" (")[0]


def _share(share: "Share") -> str:
    return f"{100 * share.value:.0f} % (95 % sure: {100 * share.low:.0f} to {100 * share.high:.0f} %)"


def _table(
    wanted: "list[Tolerance]",
    found: "list[Scatter]",
    passing: "tuple[Share, Share]",
    files: list[str],
    seed: int,
) -> dict[str, object]:
    from dataclasses import asdict

    return {
        "seed": seed,
        "tolerances": [asdict(t) for t in wanted],
        "readings": [asdict(s) for s in found],
        "pass": asdict(passing[0]),
        "pass_what_the_description_passes": asdict(passing[1]),
        "files": files,
    }
