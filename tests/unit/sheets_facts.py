"""What sheets are written from, worked out quickly for tests: a slow turn, and the cases of a piece held still."""

from collections.abc import Sequence
from functools import cache
from pathlib import Path

from analysis.envelope import envelope
from analysis.loads import Loads
from analysis.parts.choice import Line, Table
from analysis.questions import closed
from analysis.schedule import Schedule
from analysis.sheets.facts import Facts
from analysis.study import fastest
from models.cases import cases
from models.loading import changed, load
from models.sculpture import Sculpture
from sim.campaign import brief

MODELS = Path(__file__).parents[2] / "models"
ONLY = ("slow-turn", "lifted", "gust-locked")


def of(sculpture: Sculpture, only: Sequence[str] = ONLY, schedule: Schedule | None = None) -> Facts:
    """Give the facts of a sculpture with a few load cases, each followed by the quickest method."""
    linkage = closed(sculpture)
    named = {n: c for n, c in cases(sculpture).items() if n in only}
    made = brief(sculpture, linkage, named, fastest)
    over = envelope((g.name, g.runs) for g in made.groups)
    return Facts(Loads(linkage, made, over), schedule or Schedule((), ()))


@cache
def facts(
    name: str = "manta",
    changes: tuple[tuple[str, object], ...] = (),
    lines: tuple[Line, ...] = (),
    tables: tuple[Table, ...] = (),
) -> Facts:
    """Give the facts of one of the examples, with some values changed and a schedule of one's own."""
    sculpture = changed(load(MODELS / f"{name}.toml"), dict(changes))
    return of(sculpture, schedule=Schedule(lines, tables))
