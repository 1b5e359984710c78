"""The study's one screen, and its Markdown twin."""

import re
from pathlib import Path

from analysis import clearances, safety, shaft_whip
from analysis.finding import Finding
from analysis.parts.choice import NO_SIZE
from analysis.study import Study
from analysis.summary import loads, motion, parts, shafts, wheel
from analysis.summary.layout import margin, markdown_table, section, si
from analysis.summary.motion import Row
from models.people import ASSUMED
from models.shown import shown

CAUTIONS = (
    "Moving public art can crush and shear. These figures serve the maker's judgement; they do not replace it.",
    "Structure, foundations, local codes and playground rules belong to licensed people on site.",
)
OWN = (
    "corrosion, fretting; bolts' preload and prying; buckling of plates and tubes; more in parts.md",
    "friction of a crankshaft's third bearing; swings at resonance: frequencies alone",
    "chordal action unless a stage asks for it; a handle's grip elsewhere than up at crank angle 0",
    "blocked panels but for an upper bound in which only the rod gives; jams where nothing gives way",
    "gusts that turn or pulse; two load cases at once",
)
"""What no analysis here judges, beside what clearances and safety leave out: one line of the screen each."""
FURTHER = (
    "moments that friction puts on rods and panels themselves; lubrication, cold, and dirt in the joints",
    "the foundation, and what the site's wind and use ask of it; transport but for the lift points described",
    shaft_whip.LEFT_OUT,
    "strengths and ages: every strength of a person is assumed, so ages are a label on newtons at the rim",
)
"""The same, in the summary alone."""
NOT_JUDGED = (*OWN, *FURTHER, *clearances.NOT_JUDGED, *safety.NOT_COVERED)
ELSEWHERE = "brackets, guards, nips of chains, bodies struck, hair and clothes, climbing: see summary.md"
MATTER = 5
"""Defaults, and values given, that the summary names as those that matter most."""
NEEDS = 6
"""Needed changes on the screen; all of them are in the summary."""
LOADS = "Every load: what moves on what is nearer the ground"
NOTES = {
    LOADS: "The worst of all load cases but blocked panels, which are an upper bound with a column of their own. "
    "Directions are world axes. Where the sides are mirror images, a jam or break is followed on one of them: what "
    "is worst on one side may happen on the other. In use: turned, cranked and let go.",
    "Clearances and gaps": "Whip, slack and tolerances are taken off the clearances, not off the gaps.",
}
"""What to know of a table, by its title."""
FIGURES = (
    ("panel-angles", "panel angles over the turn"),
    ("wheel-torque", "torque at the wheel over a slow turn, low to high friction"),
    ("let-go", "speed after letting go"),
    ("gusts", "wheel speed in gusts"),
    ("chains", "chain tensions around the hardest pull in the worst let go"),
    ("loads", "largest loads at the joints"),
    *shafts.FIGURES.items(),
)


def screen(study: Study, files: Path) -> list[str]:
    """Give the summary as lines of text.

    Parameters
    ----------
    study : what was found.
    files : folder with the drawing, the figures and the whole summary.
    """
    lines = [
        study.name,
        f"Compare first: {files / 'drawing.png'} - is this your piece? All of it: summary.md there.",
    ]
    for title, rows in sections(study):
        if title == "DRIVE":  # after the joints' loads, which are a table of their own
            lines += margin("LOADS", loads.compact(study))
        lines += section(title, rows)
    lines += section("DEFAULTS", [("", _defaults(study))])
    lines += section("LEFT OUT", left_out(study))
    lines += section("NOT JUDGED", [("", line) for line in (*OWN, ELSEWHERE)])
    need = needs(study, brief=True)
    more = [f"and {len(need) - NEEDS} more in summary.md"] if len(need) > NEEDS else []
    lines += section("NEEDS CHANGE", [("", f"- {line}") for line in (*need[:NEEDS], *more)])
    return [*lines, *CAUTIONS]


def sections(study: Study) -> list[tuple[str, list[Row]]]:
    """Give the sections of the summary with their rows, the most important first."""
    found = [
        ("MOTION", motion.motion(study)),
        ("CLEARANCES", motion.clearances(study)),
        ("AT THE WHEEL", wheel.hand(study)),
        ("LET GO", wheel.let_go(study)),
        ("SAFETY", wheel.hurts(study)),
        ("DRIVE", loads.drive(study)),
        ("SHAFTS", shafts.rows(study)),
        ("PARTS", [] if study.schedule is None else parts.rows(study.schedule)),
        ("CHAINS", motion.chains(study)),
        ("MASS", motion.mass(study)),
        ("STEPS", loads.sureness(study)),
    ]
    return [(title, rows) for title, rows in found if rows]


def _defaults(study: Study) -> str:
    assumed = [d for d in study.defaults if "assumption" in d.source]
    count = f"{len(study.defaults)} values are defaults, {len(assumed)} of them assumptions"
    return f"{count}; most depends on: {_top(study, given=False)}; of what is given, on: {_top(study, given=True)}"


def _top(study: Study, given: bool) -> str:
    """Name the two defaults, or the two values given, that matter most."""
    own = [w for w in study.weights if w.value.given == given][:2]
    said = (
        f"{w.value.field} ({w.value.off_words} off: {w.figure.removeprefix('largest ')} {_share(w.change)})"
        for w in own
    )
    return ", ".join(said) or "none"


def _share(change: float) -> str:
    return f"{100 * change:.1f} %" if change < 10 else "may not exist, it may not close"


def left_out(study: Study) -> list[Row]:
    """Name the load cases that were left out, and why; those for one reason in one row."""
    reasons: dict[str, list[str]] = {}
    for g in study.campaign.groups:
        if g.left_out:
            reasons.setdefault(g.left_out, []).append(g.name)
    return [("", f"{', '.join(names)}: {why}") for why, names in reasons.items()]


def needs(study: Study, *, brief: bool = False) -> list[str]:
    """Say what is beyond its limit, worst first, and what goes beyond it with low or high friction only.

    Parameters
    ----------
    study : what was found.
    brief : for the screen: without sources, the same thing on two sides or in two load cases only once.
    """
    start = [f for f in study.beyond if f.what.startswith("force that starts it against")]
    said = _Brief(study) if brief else _need
    # What no catalogue has follows from what is too much for the part described: that comes first.
    rest = sorted((f for f in study.beyond if f not in start), key=lambda f: f.what == NO_SIZE)
    found = [said(f) for f in (_once(rest) if brief else rest)]
    if start:
        who = ", ".join(f.what.rsplit("push of the ", 1)[1] for f in start)
        found.append(f"wheel: {start[0].shown} starts it, too much for: {who} ({ASSUMED})")
    for r in study.ranges:
        for level, f in (("low", r.low), ("high", r.high)):
            if f is not None and f.beyond and not r.nominal.beyond:
                found.append(f"with {level} friction only: {said(f)}")
    return list(dict.fromkeys(found)) or ["nothing found beyond its limit, among what is judged"]


def _once(found: list[Finding]) -> list[Finding]:
    """Give findings without those that say of the other side, or in another load case, what one before says."""
    kept: dict[tuple[str, str], Finding] = {}
    for f in found:
        kept.setdefault((f.where.removeprefix("left ").removeprefix("right "), f.what), f)
    return list(kept.values())


class _Brief:
    """Says what is beyond its limit in one line of the screen."""

    def __init__(self, study: Study) -> None:
        self.loads = study.loads

    def __call__(self, f: Finding) -> str:
        if f.dimension == "fault":
            return f"{f.where}: {re.split('[;:]' if f.what == NO_SIZE else ';', _fault(f))[0]}"
        case = f" ({self.loads.names[f.case]})" if f.case in self.loads.names else ""
        return f"{f.where}: {f.what} {si(f.shown)}{motion.at(f)}, wanted {motion.wanted(f)}{case}"


def _fault(f: Finding) -> str:
    return f.note if f.what in ("does not fit", NO_SIZE) else f"{f.what} {f.note}"


def _need(f: Finding) -> str:
    if f.dimension == "fault":
        return f"{f.where}: {_fault(f)}"
    source = "" if f.limit is None else f" ({f.limit.source})"
    case = "" if f.case in ("geometry", "all load cases") else f", {f.case}"
    at = motion.at(f)
    return f"{f.where}{case}: {f.what} {f.shown}{at}, wanted {f.limit_words.split(':')[0]}{source}"


def markdown(study: Study) -> str:
    """Give the summary as Markdown, figures linked beside it."""
    lines = [f"# {study.name}", "", "![what was understood](drawing.png)", ""]
    lines += ["Compare this drawing with your piece first.", ""]
    for title, rows in sections(study):
        lines += [f"## {title.capitalize()}", "", *markdown_table([("what", "found"), *rows]), ""]
    for name, words in FIGURES:
        if name in figures(study):
            lines += [f"![{words}]({name}.png)", ""]
    lines += ["![the mechanism over one turn](mechanism.gif)", ""]
    for title, table in _tables(study):
        if len(table) > 1:
            said = [NOTES[title], ""] if title in NOTES else []
            lines += [f"## {title}", "", *said, *markdown_table(table), ""]
    for title, found in (
        ("Defaults that matter most", [w.line for w in study.weights if not w.value.given][:MATTER]),
        ("Values given that matter most", [w.line for w in study.weights if w.value.given][:MATTER]),
        ("Load cases left out", [words for _, words in left_out(study)] or ["none"]),
        ("Not judged", list(NOT_JUDGED)),
        ("Needs change", needs(study)),
        ("Cautions", list(CAUTIONS)),
        ("Sources", sorted({f.source for f in study.findings if f.source})),
    ):
        lines += [f"## {title}", "", *(f"- {line}" for line in found), ""]
    return "\n".join(lines)


def figures(study: Study) -> set[str]:
    """Name the figures that a study has something to show in."""
    found = {"panel-angles", "wheel-torque", "let-go", "loads"}
    if any(len(run.time) for run in study.campaign.of("gust")):
        found.add("gusts")
    if study.gone and study.worst_let_go.names("chains"):
        found.add("chains")
    if study.shafts is not None:
        found |= shafts.figures(study.shafts)
    return found


def _tables(study: Study) -> list[tuple[str, list[tuple[str, ...]]]]:
    """Give the whole tables, each with its headings first."""
    friction: list[tuple[str, ...]] = [("what", "where", "load case", "low", "nominal", "high")]
    friction += [
        (r.nominal.what, r.nominal.where, r.nominal.case, *("" if f is None else f.shown
                                                            for f in (r.low, r.nominal, r.high)))
        for r in study.ranges
    ]  # fmt: skip
    defaults: list[tuple[str, ...]] = [("field", "value", "source")]
    defaults += [
        (d.field, d.value if isinstance(d.value, str) else shown(d.value, d.dimension), d.source)
        for d in study.defaults
    ]
    cases: list[tuple[str, ...]] = [("load case", "kind", "figures", "runs", "source", "left out")]
    cases += [
        (g.name, g.case.kind, g.case.words, str(len(g.runs)), g.case.source, g.left_out)
        for g in study.campaign.groups
    ]
    return [
        (LOADS, loads.table(study)),
        ("The worst of each load case", loads.by_case(study)),
        ("Clearances and gaps", _findings(study.clearances)),
        ("Who can start it, and who reaches it", _findings((*study.start, *study.reach))),
        ("What a hand feels", _findings(study.hand)),
        ("Low, nominal and high friction", friction),
        ("Let go at every angle", loads.let_go_table(study)),
        ("Safety", _findings(study.safety)),
        ("Drive", _findings(study.drive)),
        ("Shafts in all runs", _findings((*study.whip, *study.strength))),
        ("Whip of each load case", shafts.by_case(study)),
        *(() if study.shafts is None else shafts.tables(study.shafts)),
        *_parts(study),
        ("Pulls as a slack strand is taken up, worst let go", loads.impacts(study)),
        ("Chains", _findings((*study.chains, *study.paths))),
        ("Peaks that move by more than 1 % with finer steps", loads.moved(study)),
        ("Load cases", cases),
        ("Defaults", defaults),
    ]


def _parts(study: Study) -> list[tuple[str, list[tuple[str, ...]]]]:
    """Give the parts schedule and the tables that go with it."""
    if study.schedule is None or not study.schedule.lines:
        return []
    schedule = ("Parts", parts.table(study.schedule.lines, study.loads.names))
    return [schedule, *((t.title, list(t.rows)) for t in study.schedule.tables)]


def _findings(found: tuple[Finding, ...]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [("where", "what", "value", "crank angle", "limit", "load case", "note")]
    rows += [
        (f.where, f.what, f.shown, motion.at(f).removeprefix(" at "), f.limit_words, f.case,
         "" if f.note == f.shown else f.note)
        for f in found
    ]  # fmt: skip
    return rows
