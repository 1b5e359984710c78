"""Writes a study's drawing, figures, animation and summary into a folder."""

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from analysis import animation, drawing, figures, figures_motion, style
from analysis.study import Study
from analysis.summary import markdown
from analysis.wheels import WheelRow


def write_files(study: Study, folder: Path) -> None:
    """Write everything one looks at."""
    folder.mkdir(parents=True, exist_ok=True)
    style.save(drawing.drawing(study.linkage), folder / "drawing")
    style.save(figures_motion.panel_angles(study.linkage), folder / "panel-angles")
    style.save(figures.wheel_torque(study.turn, study.linkage), folder / "wheel-torque")
    style.save(figures_motion.let_go(study.gone), folder / "let-go")
    style.save(
        figures.joint_loads([(f.where, f.value, f.case) for f in study.loads if f.dimension == "force"]),
        folder / "loads",
    )
    animation.write_gif(study.linkage, folder / "mechanism.gif")
    (folder / "summary.md").write_text(markdown(study), "utf-8")


def write_wheels(rows: Sequence[WheelRow], stem: Path) -> Path:
    """Write the comparison of wheels as a figure and give its PNG."""
    return style.save(figures.wheel_comparison([asdict(r) for r in rows]), stem)[1]
