"""The load cases of a sculpture: what each comes to, and which are left out and why."""

from dataclasses import dataclass

from analysis.questions import closed
from analysis.summary.layout import columns, wrapped
from models.cases import DIMENSIONS, Case, cases
from models.loading import DescriptionError
from models.resolve import Lacking
from models.sculpture import Sculpture
from models.units import unit_of
from sim.expanding import expanded


@dataclass(frozen=True)
class Listed:
    """A load case and what it comes to.

    Attributes
    ----------
    case : with its figures and source.
    runs : its scenarios in words; None while the description is not whole.
    left_out : why there is none, or why some are left out, or "".
    """

    case: Case
    runs: tuple[str, ...] | None
    left_out: str

    def table(self) -> dict[str, object]:
        """Give the case as plain data for JSON."""
        c = self.case
        figures = {
            name: {"value": value, "unit": unit_of(DIMENSIONS[name]) if name in DIMENSIONS else "1"}
            for name, value in c.figures.items()
        }
        return {"name": c.name, "kind": c.kind, "person": c.person, "figures": figures, "source": c.source,
                "runs": self.runs, "left_out": self.left_out}  # fmt: skip


def listed(sculpture: Sculpture) -> tuple[tuple[Listed, ...], tuple[str, ...]]:
    """Give all load cases, and the fields that are still needed to know what they come to.

    Raises
    ------
    DescriptionError
        When a case of the description is wrong or a linkage does not close: every fault in a line.
    """
    faults: list[str] = []
    named: dict[str, Case] = {}
    linkage, lacking = None, tuple[str, ...]()
    try:
        named = cases(sculpture)
    except DescriptionError as error:
        faults += error.lines
    try:
        linkage = closed(sculpture)
    except Lacking as error:
        lacking = error.fields
    except DescriptionError as error:
        faults += error.lines
    if faults:
        raise DescriptionError(faults)
    if linkage is None:
        return tuple(Listed(c, None, "") for c in named.values()), lacking
    made = [expanded(c, linkage) for c in named.values()]
    return tuple(Listed(e.case, tuple(s.label for s in e.scenarios), e.left_out) for e in made), ()


def lines(sculpture: Sculpture, found: tuple[Listed, ...], lacking: tuple[str, ...]) -> list[str]:
    """Give the load cases as lines of text, those that are left out last."""
    said = [f"{sculpture.name}: load cases"]
    if lacking:
        said.append(f"Which of them it can have is not known yet: it needs {', '.join(lacking)}")
    kept = [x for x in found if x.runs is None or x.runs]
    rows = [(x.case.name, x.case.kind, _count(x), x.case.words) for x in kept]
    for line, x in zip(columns([("name", "kind", "runs", "what"), *rows])[1:], kept, strict=True):
        said += [line, *wrapped(f"from: {x.case.source}")]
        if x.left_out:
            said += wrapped(f"in part left out: {x.left_out}")
    gone = [x for x in found if x not in kept]
    if gone:
        said += ["", "LEFT OUT for this sculpture"]
        said += [line for x in gone for line in wrapped(f"{x.case.name}: {x.left_out}")]
    return said


def _count(x: Listed) -> str:
    if x.runs is None:
        return ""
    return "1 run" if len(x.runs) == 1 else f"{len(x.runs)} runs"
