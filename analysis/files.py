"""Writes a study's drawing, figures, animation and summary into a folder."""

from pathlib import Path

from matplotlib.figure import Figure

from analysis import bearing_loads, drawing, figures, shaft_whip, style
from analysis.figures import animation, cases, clocking, modes, motion, shaft, shaft_loads
from analysis.finding import Finding
from analysis.shafts import Shafts
from analysis.study import Study
from analysis.summary import figures as shown
from analysis.summary import markdown
from analysis.summary import parts as summary_parts
from analysis.summary import shafts as summary_shafts
from analysis.summary.loads import either
from analysis.wheels import Comparison
from sim.shaft.loading import standing_still


def write_files(study: Study, folder: Path) -> None:
    """Write everything one looks at."""
    folder.mkdir(parents=True, exist_ok=True)
    style.save(drawing.drawing(study.linkage), folder / "drawing")
    for name in shown(study):
        style.save(figure(study, name), folder / name)
    animation.write_gif(study.linkage, folder / "mechanism.gif")
    (folder / "summary.md").write_text(markdown(study), "utf-8")
    write_parts(study, folder)


def figure(study: Study, name: str) -> Figure:
    """Draw a figure of a study, by one of the names that `analysis.summary.figures` gives."""
    friction = [run for runs in (study.campaign.low, study.campaign.high) for run in runs]
    match name:
        case "panel-angles":
            return motion.panel_angles(study.linkage)
        case "wheel-torque":
            turns = [run for run in friction if run.case == study.turn.case]
            return figures.wheel_torque(study.turn, study.linkage, turns)
        case "let-go":
            gone = [run for run in friction if run.case == "let-go"]
            return motion.let_go(study.gone, gone)
        case "gusts":
            return cases.gust_speeds(study.campaign.of("gust"))
        case "chains":
            return cases.chain_tensions(study.worst_let_go)
        case "loads":
            return _loads(study)
        case _:
            assert study.shafts is not None
            return shaft_figure(study.shafts, name)


def _loads(study: Study) -> Figure:
    """Draw the largest forces, without blocked panels where anything else was run: theirs are an upper bound."""
    loads = study.loads
    forces = (bearing_loads.LARGEST, bearing_loads.PULL)
    worst: dict[str, Finding] = {}
    usual: dict[str, float] = {}
    for (joint, what), f in loads.met.items():
        name = either(joint) if loads.mirrored else joint
        if what not in forces:
            continue
        worst[name] = max(worst.get(name, f), f, key=lambda f: f.value)
        own = loads.used.get((joint, what))
        usual[name] = max(usual.get(name, 0.0), 0.0 if own is None else own.value)
    rows = [(name, f.value, loads.case(f)) for name, f in worst.items()]
    return figures.joint_loads(rows, usual, "; blocked panels left out" if loads.bound else "")


def write_parts(study: Study, folder: Path) -> None:
    """Write the parts schedule of a study: a row for each part, every check, and both in words."""
    schedule, names = study.schedule, study.loads.names
    if schedule is None:
        return
    folder.mkdir(parents=True, exist_ok=True)
    tables = {
        "parts": summary_parts.table(schedule.lines, names),
        "checks": summary_parts.checks(schedule.lines, names),
    }
    for name, rows in tables.items():
        (folder / f"{name}.csv").write_text(summary_parts.written(rows), "utf-8")
    (folder / "parts.md").write_text(summary_parts.markdown(study.name, schedule, names), "utf-8")


def write_shafts(found: Shafts, folder: Path) -> None:
    """Write the figures of a sculpture's shafts, standing still, and the tables beside them."""
    folder.mkdir(parents=True, exist_ok=True)
    drawn = [name for name in summary_shafts.FIGURES if name in summary_shafts.figures(found)]
    for name in drawn:
        style.save(shaft_figure(found, name), folder / name)
    (folder / "shafts.md").write_text(summary_shafts.markdown(found, drawn), "utf-8")


def shaft_figure(found: Shafts, name: str) -> Figure:
    """Draw a figure of a sculpture's shafts, standing still, by one of the names of `analysis.summary.shafts`."""
    closed = found.linkage
    loading = standing_still(closed.sides[0], closed.mechanism)
    match name:
        case "shaft-shape":
            return shaft.shaft_shape(loading, shaft_whip.CASE)
        case "whip-orbit":
            return shaft.whip_orbit(loading, shaft_whip.CASE)
        case "shaft-loads":
            return shaft_loads.shaft_loads(loading, shaft_whip.CASE)
        case "centre-bearing":
            return shaft_loads.centre_bearing(loading, shaft_whip.CASE)
        case "mode-shapes":
            return modes.mode_shapes(closed)
        case "resonance":
            return modes.speeds_and_frequencies(closed, found.speeds)
        case _:
            return clocking.clocking(closed)


def write_wheels(found: Comparison, stem: Path) -> Path:
    """Write the comparison of wheels as a figure and give its PNG."""
    return style.save(figures.wheel_comparison(found), stem)[1]
