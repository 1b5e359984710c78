"""The summary's rows and tables on loads, the drive, and how sure they are."""

from collections.abc import Iterable

import numpy as np

from analysis import bearing_loads, drive_line
from analysis.drawing.sheet import short
from analysis.finding import Finding
from analysis.loads import USED, Loads, Worst
from analysis.study import Study
from analysis.summary.layout import columns, si, span
from analysis.summary.motion import Row, judged, verdict, wanted
from models.shown import shown
from sim.run import Peak, Run

KINDS = ("hinge", "rod end", "bearing", "chain")
"""Kinds of joints and chains, by the words in their names."""
EITHER = "either"
NOTHING = 1e-3
"""Peaks, in N, N m or rad/s, of which no more than this is left are those of a piece at rest."""


def in_use(loads: Loads, f: Finding) -> str:
    """Give what comes up in turning, cranking and letting go."""
    return _plain(loads.used.get((f.where, f.what)))


def blocked(loads: Loads, f: Finding) -> str:
    """Give the upper bound with a panel or crank blocked."""
    return _plain(loads.bound.get((f.where, f.what)))


def direction(loads: Loads, f: Finding) -> str:
    """Give the components forward, left and up of a force or moment, N or N m, or the way of a torque."""
    vector = loads.vector(f)
    if vector is None:
        return f.note.split(";")[0].split(",")[0] if f.what in (bearing_loads.PULL, drive_line.PEAK) else ""
    digits = 0 if f.value >= 10 else 1
    return ", ".join(f"{v:.{digits}f}".replace("-0", "0") if round(v, digits) == 0 else f"{v:.{digits}f}"
                     for v in vector)  # fmt: skip


def _plain(f: Finding | None) -> str:
    return "" if f is None else si(f.shown)


def when(f: Finding) -> str:
    """Give the time, where it means something."""
    return "" if f.time is None else f"{f.time:.3g} s"


def where(f: Finding) -> str:
    """Give the crank angle."""
    return "" if f.crank_degrees is None else f"{f.crank_degrees:.0f} deg"


def compact(study: Study) -> list[str]:
    """Give the screen's table: for each kind of joint and side, and each shaft and chain, the worst."""
    loads = study.loads
    rows = [("joint", "worst", "forward, left, up", "case", "at", "in use", "blocked")]
    for name, f in _picked(loads):
        what = " moment" if f.what == bearing_loads.MOMENT else ""
        way = "" if f.what == bearing_loads.PULL else direction(loads, f)
        place = ", ".join(x for x in (when(f), where(f)) if x)
        rows.append((short(name + what, 27), si(f.shown), way, short(loads.case(f), 11), place, in_use(loads, f),
                     blocked(loads, f)))  # fmt: skip
    return columns(rows, " ")


def _picked(loads: Loads) -> list[tuple[str, Finding]]:
    """Give the worst force of each kind on either side, in one line where they are alike, and the worst moment."""
    forces = {k: f for k, f in loads.met.items() if f.what in (bearing_loads.LARGEST, bearing_loads.PULL)}
    groups: dict[tuple[str, str], Finding] = {}
    for f in forces.values():
        key = _kind(f.where, loads.mirrored)
        if key not in groups or f.value > groups[key].value:
            groups[key] = f
    found: list[tuple[str, Finding]] = []
    for (_, side), f in groups.items():
        found.append((either(f.where) if side == EITHER else f.where, f))
    order = {kind: k for k, kind in enumerate(KINDS)}
    found.sort(key=lambda x: order.get(_kind(x[1].where, loads.mirrored)[0], len(KINDS)))
    moments = [f for f in loads.met.values() if f.what == bearing_loads.MOMENT]
    worst = sorted(moments, key=lambda f: -f.value)[:1]
    return found + [(either(f.where) if loads.mirrored else f.where, f) for f in worst]


def either(joint: str) -> str:
    """Name a joint without its side."""
    return joint.removeprefix("left ").removeprefix("right ")


def _kind(joint: str, mirrored: bool) -> tuple[str, str]:
    """Give the kind of a joint, with its shaft, and its side; either side where they are mirror images."""
    side = next((s for s in ("left", "right") if joint.startswith(f"{s} ")), "")
    kind = next((k for k in KINDS if k in joint), joint)
    if side:
        return kind, EITHER if mirrored else side
    shaft = joint.removesuffix(" left bearing").removesuffix(" right bearing")
    return f"{kind} {shaft}", ""


def table(study: Study) -> list[tuple[str, ...]]:
    """Give every load, the worst of all cases but blocked panels, and theirs; headings first."""
    loads = study.loads
    rows: list[tuple[str, ...]] = [
        ("joint", "what", "size", "direction: forward, left, up", "load case", "time", "crank angle", "in use",
         "blocked: upper bound")
    ]  # fmt: skip
    for f in loads.met.values():
        named = loads.case(f)
        case = f"{named}: {f.case}" if named != f.case else f.case
        rows.append((f.where, f.what, f.shown, direction(loads, f), case, when(f), where(f), in_use(loads, f),
                     blocked(loads, f)))  # fmt: skip
    return rows


def by_case(study: Study) -> list[tuple[str, ...]]:
    """Give for each load case the joint with the largest force, the largest pull and the largest torque."""
    rows: list[tuple[str, ...]] = [
        (
            "load case",
            "worst joint",
            "force",
            "crank angle",
            "of the runs",
            "chain's pull",
            "coupling's torque",
        )
    ]
    for name, own in study.envelope.by_case.items():
        joints = [f for f in own if f.what == bearing_loads.LARGEST]
        worst = max(joints, key=lambda f: f.value)
        pull, torque = (
            max((f for f in own if f.what == what), key=lambda f: f.value, default=None)
            for what in (bearing_loads.PULL, drive_line.PEAK)
        )
        rows.append((name, worst.where, worst.shown, where(worst), worst.case, _said(pull), _said(torque)))
    return rows


def _said(f: Finding | None) -> str:
    return "" if f is None else f"{f.shown}, {f.where}"


def drive(study: Study) -> list[Row]:
    """Give the couplings against their ratings, the chains' impacts with their spread, lost motion, hubs, limiter."""
    rows: list[Row] = []
    loads = study.loads
    peaks = {(f.where, f.what): f for f in study.envelope.loads}
    couplings = [f for f in peaks.values() if f.what == drive_line.PEAK]
    if loads.mirrored:
        couplings = sorted(couplings, key=lambda f: -peaks[f.where, drive_line.REVERSING].value)[:1]
    for peak in couplings:
        rows.append((either(peak.where) if loads.mirrored else peak.where, _coupling(loads, peaks, peak)))
    rows += _alike_once([(f.where, f"{f.what} {f.shown}{verdict(f)}") for f in peaks.values()
                         if f.what == drive_line.THROUGH])  # fmt: skip
    for i in study.impact:
        taken = "no strand is taken up slack in the worst let go" if i.most == 0 else (
            f"slack taken up with {si(span((i.least, i.most), 'force'))} over step, stiffness, damping"
        )  # fmt: skip
        rows.append((i.chain, f"{taken}{_reversals(study, i.chain)}"))
    lost = [f for f in study.chains if f.what.startswith("lost motion")]
    if lost:
        rows.append(
            ("lost motion", f"{lost[0].shown} of the wheel on reversing, {lost[-1].shown} along its circle")
        )
    rows += [(f.where, f"{f.what} {f.shown}{verdict(f)}") for f in study.drive if f.where == "torque limiter"]
    return _alike_once(rows)


def _reversals(study: Study, chain: str) -> str:
    """Say how often a chain's torque reverses at most, in use."""
    used = (run for kind in USED for run in study.campaign.of(kind))
    often = [f.value for run in used for f in drive_line.findings(run)
             if f.where == chain and f.what == "reversals of its torque per turn of the crank"]  # fmt: skip
    return f"; {shown(max(often), 'ratio')} reversals a turn" if often else ""


def _coupling(loads: Loads, peaks: Worst, peak: Finding) -> str:
    """Say what a coupling carries, in use and at the worst, and how its reversing torque stands to its insert."""
    used = _plain(loads.used.get((peak.where, drive_line.PEAK)))
    back = peaks.get((peak.where, drive_line.REVERSING))
    insert = peaks.get((peak.where, drive_line.INSERT))
    words = [f"in use {used}"] if used else []
    if back is not None:
        bad = "" if insert is None or insert.limit is None else f" (insert {wanted(insert)}{judged(insert)})"
        words.append(f"reversing {si(back.shown)}{bad}")
    rated = "" if peak.limit is None else f", {wanted(peak)}{judged(peak)}"
    return "; ".join([*words, f"worst {peak.shown} ({loads.case(peak)}){rated}"])


def _alike_once(rows: Iterable[Row]) -> list[Row]:
    """Give rows, those of the right side left out that say the same as the left's."""
    found: dict[str, str] = {}
    for label, words in rows:
        twin = "left" + label.removeprefix("right")
        if label.startswith("right ") and found.get(twin) == words:
            found[f"{label.removeprefix('right ')} (both)"] = found.pop(twin)
        elif label in found:
            found[label] += f"; {words}"
        else:
            found[label] = words
    return list(found.items())


def sensitive(study: Study) -> list[tuple[Run, Peak]]:
    """Give the peaks that move by more than 1 % with finer steps, without those that are nothing but rounding."""
    return [(run, p) for run, p in study.restless if max(abs(v) for v in p.values) > NOTHING]


def sureness(study: Study) -> list[Row]:
    """Say which runs were checked with finer steps and which peaks moved, and what failed."""
    everything = [*study.campaign.runs, *study.campaign.low, *study.campaign.high]
    failed = [run for run in study.campaign.runs if run.status != "finished"]
    rows = [("FAILED", f"{run.label}: {run.reason}") for run in failed]
    checked = [run for run in everything if run.peaks]
    if not checked:
        return [*rows, ("", "no run was checked with half and a quarter of its step")]
    words = f"checked half and quarter in {len(checked)} of {len(everything)} runs, which findings rest on"
    loads = study.loads
    moved: dict[str, str] = {}
    for run, peak in sensitive(study):
        what = f"{peak.channel.split('/', 1)[1].replace('/', ' ')} {100 * peak.moved:.1f} %"
        moved.setdefault(peak.channel, f"{what} ({loads.names.get(run.label, run.label)})")
    if not moved:
        most = max(p.moved for run in checked for p in run.peaks)
        return [*rows, ("", f"{words}; no peak moves by more than 1 %, at most {100 * most:.2g} %")]
    first = ", ".join(list(moved.values())[:2])
    more = f", and {len(moved) - 2} more in summary.md" if len(moved) > 2 else ""
    return [*rows, ("", f"{words}; over 1 %: {first}{more}")]


def moved(study: Study) -> list[tuple[str, ...]]:
    """Give the peaks that move by more than 1 %, headings first."""
    rows: list[tuple[str, ...]] = [("peak", "run", "step h", "h/2", "h/4", "moved")]
    rows += [
        (f"{p.kind} of {p.channel}", run.label, *(f"{v:.4g}" for v in p.values), f"{100 * p.moved:.1f} %")
        for run, p in sensitive(study)
    ]
    return rows


def impacts(study: Study) -> list[tuple[str, ...]]:
    """Give the chains' impacts with every figure that was varied, headings first."""
    names = (
        [f"{what} times {factor:g}" for what, factor, _ in study.impact[0].variants] if study.impact else []
    )
    rows: list[tuple[str, ...]] = [("chain", "nominal", "step h, h/2, h/4", *names, "range")]
    for i in study.impact:
        steps = ", ".join(f"{v:.0f} N" for v in i.steps)
        rows.append((i.chain, f"{i.nominal:.0f} N", steps, *(f"{v:.0f} N" for _, _, v in i.variants),
                     span((i.least, i.most), "force")))  # fmt: skip
    return rows


def let_go_table(study: Study) -> list[tuple[str, ...]]:
    """Give every let go, headings first."""
    from analysis import handle

    rows: list[tuple[str, ...]] = [("released at", "peak wheel speed", "backward", "to rest", "checked")]
    for run in study.gone:
        own = {f.what: f for f in handle.findings(run)}
        if not own:
            continue
        still = "" if run.rested else ", still moving"
        rows.append((f"{np.degrees(float(str(run.scenario['release']))):.0f} deg",
                     own["peak wheel speed after letting go"].shown, own["largest backward wheel speed"].shown,
                     f"{run.time[-1]:.3g} s{still}",
                     "yes" if run.peaks else "no"))  # fmt: skip
    return rows
