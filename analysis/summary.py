"""The study's one screen, and its Markdown twin."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from analysis import handle
from analysis.finding import Finding
from analysis.layout import columns, markdown_table, wrapped
from analysis.study import Study
from models.shown import shown

CAUTIONS = (
    "Moving public art can crush and shear. These figures serve the maker's judgement; they do not replace it.",
    "Structure, foundations, local codes and playground rules belong to licensed people on site.",
)
NOT_JUDGED = (
    "chain slack, shock and pretension; coupling wind-up; bearings of the wheel's and the intermediate shafts",
    "friction that grows with load, or is higher or lower than nominal; hands that grab, people who hang on",
    "wind, blocked panels, broken parts; clearances and finger traps; fatigue; the post and its foundation",
    "bending of the built-up crankshaft at its throws, and by the rods' sideways lean (whip is a least value)",
    "chordal action of the chains; other places of a handle's grip than straight up at crank angle 0",
)
Row = tuple[str, str, str, str]
"""Label, figure, where and when, limit with verdict."""


def screen(study: Study, files: Path) -> list[str]:
    """Give the summary as lines of text.

    Parameters
    ----------
    study : what was found.
    files : folder with the drawing and the figures.
    """
    lines = [study.name, f"Compare first: {files / 'drawing.png'} - is this your piece?"]
    for title, rows in sections(study):
        lines += ["", title, *("  " + line for line in columns(rows))]
    for title, words in (("DEFAULTS", _defaults(study)), ("NOT JUDGED", NOT_JUDGED),
                         ("NEEDS CHANGE", _needs_change(study))):  # fmt: skip
        lines += ["", title, *(line for w in words for line in wrapped(w))]
    lines += ["", *CAUTIONS]
    return lines


def markdown(study: Study) -> str:
    """Give the summary as Markdown, figures linked beside it."""
    lines = [f"# {study.name}", "", "![what was understood](drawing.png)", ""]
    lines += ["Compare this drawing with your piece first.", ""]
    for title, rows in sections(study):
        lines += [f"## {title.capitalize()}", ""]
        lines += markdown_table([("what", "figure", "where", "limit"), *rows])
        lines.append("")
    for name, words in FIGURES:
        lines += [f"![{words}]({name}.png)", ""]
    lines += ["![the mechanism over one turn](mechanism.gif)", "", "## Every load", ""]
    rows = [("joint", "what", "value", "load case", "crank angle", "direction, note")]
    rows += [(f.where, f.what, f.shown, f.case, _at(f), f.note) for f in study.loads]
    lines += [*markdown_table(rows), "", "## Let go at every angle", ""]
    lines += [*markdown_table(_let_go_table(study)), "", "## Defaults", ""]
    rows = [("field", "value", "source")]
    rows += [
        (d.field, d.value if isinstance(d.value, str) else shown(d.value, d.dimension), d.source)
        for d in study.defaults
    ]
    lines += [*markdown_table(rows), ""]
    for title, found in (("Defaults that matter most", _defaults(study)), ("Not judged", NOT_JUDGED),
                         ("Needs change", _needs_change(study)), ("Cautions", CAUTIONS)):  # fmt: skip
        lines += [f"## {title}", "", *(f"- {line}" for line in found), ""]
    lines += ["## Sources", ""]
    sources = sorted({f.source for f in study.findings if f.source})
    lines += [*(f"- {s}" for s in sources), ""]
    return "\n".join(lines)


FIGURES = (
    ("panel-angles", "panel angles over the turn"),
    ("wheel-torque", "torque at the wheel over a slow turn"),
    ("let-go", "speed after letting go"),
    ("loads", "largest loads at the joints"),
)


def sections(study: Study) -> list[tuple[str, list[Row]]]:
    """Give the sections of the summary with their rows."""
    release = study.gone[0].scenario["speed"] if study.gone else 0.0
    speed = shown(float(str(release)), "angular_speed")
    found = [
        ("MOTION", _motion(study)),
        ("AT THE WHEEL", _hand(study)),
        (f"LET GO AT {speed}, WORST OF {len(study.gone)} ANGLES", _let_go(study)),
        ("LOADS, WORST OF ALL RUNS", _loads(study)),
        ("CHAINS", _chains(study)),
        ("MASS", _mass(study)),
    ]
    return [(title, rows) for title, rows in found if rows]


def _row(label: str, f: Finding) -> Row:
    return label, f.shown, _at(f), f.limit_words


def _at(f: Finding) -> str:
    return "" if f.crank_degrees is None else f"at {f.crank_degrees:.0f} deg"


def _motion(study: Study) -> list[Row]:
    rows: list[Row] = []
    by = {(f.where, f.what): f for f in study.motion}
    for (where, what), low in by.items():
        if what != "lowest panel angle":
            continue
        high = by[where, "highest panel angle"]
        lag = by.get((where, "lag behind the inner panel"))
        behind = f"{np.degrees(lag.value):.0f} deg behind the innermost" if lag is not None else ""
        rows.append((f"{where} panel", f"{np.degrees(low.value):.1f} to {high.shown}", behind, ""))
    swivels = [f for f in study.motion if f.what == "largest swivel"]
    thin = [f for f in study.motion if f.what == "least transmission angle"]
    apart = [f for f in study.motion if f.what.startswith("largest difference")]
    rows += [_row(f"swivel, {f.where}", f) for f in _top(swivels)]
    rows += [_row(f"transmission angle, {f.where}", f) for f in sorted(thin, key=lambda f: f.value)[:1]]
    rows += [_row(f"left against right, {f.where}", f) for f in apart]
    return rows


def _top(findings: Sequence[Finding]) -> list[Finding]:
    return sorted(findings, key=lambda f: -f.value)[:1]


def _hand(study: Study) -> list[Row]:
    rows: list[Row] = []
    for run in (study.turn, *study.cranked):
        own = {f.what: f for f in study.hand if f.case == run.label}
        push = own["largest hand force"]
        kick = own["largest force with which the wheel drives the hand"]
        share = own["share of the time in which the wheel drives the hand"]
        limits = [f for f in own.values() if f.limit and (f.beyond or not f.what.startswith("holding"))]
        rows.append((f"{run.label}: push", push.shown, _at(push), "; ".join(map(_against, limits))))
        rows.append(("  wheel drives the hand", kick.shown, f"{100 * share.value:.0f} % of the time", ""))
    return rows


def _against(f: Finding) -> str:
    who = f.what.removeprefix("hand force against a push of the ").replace(
        "holding back against the strength of", "holding back:"
    )
    return f"{f.limit_words} ({who})" if who != f.what else f"{f.what} {f.value:.2f}, {f.limit_words}"


def _let_go(study: Study) -> list[Row]:
    kept = (
        "peak rim or grip",
        "largest backward",
        "time to rest",
        "still moving",
        "turns of the wheel until",
    )
    rows: list[Row] = []
    for f in study.let_go:
        if f.what.startswith(kept):
            released = f.case.split(",")[0].removeprefix("let go ")
            at = f"released {released}" + (f", then {_at(f)}" if f.crank is not None else "")
            rows.append((f.what, f.shown, at, f.note))
    return rows


def _let_go_table(study: Study) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [("released at", "peak wheel speed", "backward", "to rest", "peaks moved")]
    for run in study.gone:
        own = {f.what: f for f in handle.findings(run)}
        moved = max((p.moved for p in run.peaks), default=float("nan"))
        rows.append(
            (
                f"{np.degrees(float(str(run.scenario['release']))):.0f} deg",
                own["peak wheel speed after letting go"].shown,
                own["largest backward wheel speed"].shown,
                f"{run.time[-1]:.0f} s" + ("" if run.rested else ", still moving"),
                f"{100 * moved:.2f} %",
            )
        )
    return rows


def _loads(study: Study) -> list[Row]:
    rows: list[Row] = []
    forces = [f for f in study.loads if f.dimension == "force"]
    for kind in ("bearing", "hinge", "rod end", "chain"):
        own = [f for f in forces if kind in f.where and f.where != "wheel bearings"]
        for f in _top(own):
            rows.append((f"{kind}: {f.where}", f.shown, f"{_at(f)}, {f.case}", ""))
    for f in _top([f for f in study.loads if f.dimension == "torque"]):
        rows.append((f"moment on top of it: {f.where}", f.shown, f"{_at(f)}, {f.case}", ""))
    for f in _top(study.whip):
        rows.append((f"whip: {f.where}", f"at least {f.shown}", f"{_at(f)}, {f.case}", ""))
    restless = study.restless
    checked = [p.moved for run in study.runs for p in run.peaks]
    if restless:
        run, peak = restless[0]
        rows.append((f"SENSITIVE: {len(restless)} peaks move by more than 1 % between steps h, h/2, h/4",
                     f"{100 * peak.moved:.1f} %", f"{peak.channel}, {run.label}", ""))  # fmt: skip
    elif checked:
        rows.append(
            ("peaks between steps h, h/2, h/4 move by at most", f"{100 * max(checked):.2f} %", "", "")
        )
    failed = [run for run in study.runs if run.status != "finished"]
    rows += [(f"FAILED: {run.label}", "", run.reason, "") for run in failed]
    return rows


def _chains(study: Study) -> list[Row]:
    rows: list[Row] = []
    for name in dict.fromkeys(f.where for f in study.chains):
        own = {f.what: f for f in study.chains if f.where == name}
        rows += [(name, "DOES NOT FIT", f.note, "") for f in own.values() if f.what == "does not fit"]
        excess = own.get("excess length from the choice of links")
        if excess is not None:
            links, apart = own["links"], own["centre distance"]
            fit = f"{links.value:.0f} links at {_mm(apart)}"
            adds = f"new chain adds up to {_mm(own['excess length a new chain may add'])}"
            rows.append((name, fit, f"excess {_mm(excess)}; {adds}", excess.limit_words))
        rows += [
            (f"  {f.what}", f.shown, "", f.limit_words)
            for f in own.values()
            if f.beyond and f is not excess and f.dimension != "fault"
        ]
    return rows


def _mm(f: Finding) -> str:
    return f"{1000 * f.value:.1f} mm"


def _mass(study: Study) -> list[Row]:
    parts = [f for f in study.masses if f.what.startswith("mass")]
    total = next(f for f in parts if f.where == "whole piece")
    names = [f"{f.where} {f.value:.1f} kg" for f in parts if f is not total]
    half = (len(names) + 1) // 2
    return [
        ("all that moves", total.shown, ", ".join(names[:half]), ""),
        ("", "", ", ".join(names[half:]), ""),
    ]


def _defaults(study: Study) -> list[str]:
    assumed = [d for d in study.defaults if "assumption" in d.source]
    lines = [f"{len(study.defaults)} values are defaults, {len(assumed)} of them assumptions; "
             "hand force, loads at rest and inertia depend most on these (the time to rest on friction):"]  # fmt: skip
    return [*lines, *(w.line for w in study.weights[:3])]


def _needs_change(study: Study) -> list[str]:
    return [_need(f) for f in study.beyond] or ["nothing found beyond its limit, among what is judged"]


def _need(f: Finding) -> str:
    if f.what == "does not fit":
        return f"{f.where}: {f.note}"
    at = f" {_at(f)}" if f.crank is not None else ""
    source = "" if f.limit is None else f" ({f.limit.source})"
    case = "" if f.case == "geometry" else f", {f.case}"
    return f"{f.where}{case}: {f.what} {f.shown}{at}, wanted {f.limit_words.split(':')[0]}{source}"
