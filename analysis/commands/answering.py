"""The words that the commands print."""

from collections.abc import Sequence
from pathlib import Path

from analysis.finding import Finding
from analysis.questions import Answer
from analysis.summary.layout import columns
from models.loading import DescriptionError
from models.resolve import mechanism, plates
from models.sculpture import Sculpture
from models.shown import shown
from sim.builders import linkage
from sim.run import Run


def answer_lines(sculpture: Sculpture, given: Sequence[Answer], picture: Path | None) -> list[str]:
    """Give what `check` prints."""
    lines = [sculpture.name]
    if picture is not None:
        lines.append(f"Compare first: {picture} - is this your piece?")
    for answer in given:
        lines += ["", answer.question]
        if answer.lacking:
            lines.append(f"  not yet: it needs {', '.join(answer.lacking)}")
        elif not answer.findings:
            lines.append(
                "  ready: wingwright study FILE" if "letting go" in answer.question else "  no chain"
            )
        lines += ["  " + line for line in _table(answer.findings)]
    return [*lines, *_default_lines(sculpture)]


def _table(findings: Sequence[Finding]) -> list[str]:
    rows: list[tuple[str, ...]] = []
    for f in findings:
        at = "" if f.crank_degrees is None else f"at {f.crank_degrees:.0f} deg"
        note = "" if f.note in {"", f.shown} else f"[{f.note}]"
        rows.append((f.where, f.what, f.shown, at, f.limit_words, note))
    return columns(rows) if rows else []


def _default_lines(sculpture: Sculpture) -> list[str]:
    try:
        defaults = mechanism(sculpture).defaults
    except DescriptionError:
        return []
    rows = [
        (d.field, d.value if isinstance(d.value, str) else shown(d.value, d.dimension), d.source)
        for d in defaults
    ]
    return ["", f"{len(defaults)} values are defaults:", *("  " + line for line in columns(rows) if rows)]


def run_lines(path: Path, run: Run, findings: Sequence[Finding]) -> list[str]:
    """Give what `simulate` and `findings` print of a run."""
    lines = [f"{run.sculpture}, {run.label}: {path}"]
    if run.status != "finished":
        lines.append(f"  FAILED: {run.reason}; what was recorded until then:")
    elif run.reason:
        lines.append(f"  note: {run.reason}")
    lines += ["  " + line for line in _table(findings)]
    if run.peaks:
        moved = max(p.moved for p in run.peaks)
        lines.append(
            f"  steps {run.settings['step']} s, half and a quarter: peaks move by at most {100 * moved:.2g} %"
        )
        for p in run.restless[:5]:
            figures = ", ".join(f"{v:.4g}" for v in p.values)
            lines.append(f"  SENSITIVE: {p.kind} of {p.channel} is {figures} (order {p.order:.1f})")
    return lines


def write_drawing(sculpture: Sculpture, stem: Path) -> Path | None:
    """Draw what was understood: all of it, or the outlines alone, or nothing."""
    from analysis import drawing, style

    try:
        figure = drawing.drawing(linkage(mechanism(sculpture), sculpture.source.label))
    except DescriptionError:
        try:
            figure = drawing.outline_drawing(plates(sculpture))
        except DescriptionError:
            return None
    stem.parent.mkdir(parents=True, exist_ok=True)
    # Sharp at any size, and quicker to write than pixels: a check should answer at once.
    return style.save(figure, stem, ("svg",))[0]
