"""What the choice of parts rests on, quickly for tests: each load case once, without those that take the engine."""

from collections.abc import Sequence
from functools import cache
from pathlib import Path

from analysis.envelope import envelope
from analysis.loads import Loads
from analysis.parts.basis import Basis
from analysis.questions import closed
from analysis.shafts import shafts
from analysis.study import fastest
from models.cases import cases
from models.loading import changed, load
from models.sculpture import Sculpture
from sim.campaign import brief

MODELS = Path(__file__).parents[2] / "models"
ONLY = ("slow-turn", "adult", "let-go", "blocked", "hanging-locked", "gust-locked", "lifted")


def basis(sculpture: Sculpture, only: Sequence[str] = ONLY) -> Basis:
    """Give the basis of a sculpture with a few load cases, each followed by the quickest method."""
    linkage = closed(sculpture)
    named = {n: c for n, c in cases(sculpture).items() if n in only}
    made = brief(sculpture, linkage, named, fastest)
    over = envelope((g.name, g.runs) for g in made.groups)
    return Basis(Loads(linkage, made, over), shafts(linkage, named, fastest=6.0))


@cache
def demo(name: str = "manta", changes: tuple[tuple[str, object], ...] = ()) -> Basis:
    """Give the basis of one of the examples, with some values changed."""
    return basis(changed(load(MODELS / f"{name}.toml"), dict(changes)))
