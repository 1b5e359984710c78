"""The builds of a sweep: what is found of each, in many processes, kept as they finish and never found twice."""

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from contextlib import closing
from dataclasses import asdict, dataclass
from pathlib import Path

from analysis.study import brief_study
from analysis.sweep.reading import Reading, readings
from models.cases import cases
from models.loading import DescriptionError, changed
from models.resolve import mechanism
from models.sculpture import Sculpture
from sim.identity import canonical, code
from sim.many import each

FAULT = "a fault of this program"


@dataclass(frozen=True)
class Asked:
    """What is found of every build; the fields are those of `analysis.study.brief_study`."""

    only: tuple[str, ...] | None = None
    angles: int | None = None
    speed: float | None = None


@dataclass(frozen=True)
class Build:
    """A description with some of its values changed.

    Attributes
    ----------
    changes : by dotted name, as a description writes them.
    readings : what was found; empty where it could not be built or run.
    reason : why not, or "".
    """

    changes: Mapping[str, object]
    readings: tuple[Reading, ...] = ()
    reason: str = ""

    def reading(self, name: str) -> Reading | None:
        """Give a reading by its name, if there is one."""
        return next((r for r in self.readings if r.name == name), None)

    @property
    def beyond(self) -> list[Reading]:
        """The readings beyond their limits."""
        return [r for r in self.readings if r.beyond]


@dataclass(frozen=True)
class _Member:
    sculpture: Sculpture
    asked: Asked


@dataclass(frozen=True)
class _Found:
    """What came of a member; whether it is the last word on it, or worth another try."""

    readings: tuple[Reading, ...]
    reason: str = ""
    final: bool = True


def builds(
    sculpture: Sculpture,
    changes: Sequence[Mapping[str, object]],
    asked: Asked,
    *,
    kept: Path,
    pool: Executor | None = None,
    done: Callable[[int, int], None] | None = None,
) -> list[Build]:
    """Find everything of many builds of one description.

    Parameters
    ----------
    sculpture : the description.
    changes : for each build, values by dotted name.
    asked : load cases, angles and speed.
    kept : file in which finished builds are kept, and looked for first.
    pool : where they run; see `sim.many.each`.
    done : told how many builds of how many are finished.

    Returns
    -------
    In the order of the changes. One that cannot be built or run has a reason in place of readings.
    """
    reasons: dict[int, str] = {}
    wanted: dict[str, _Member] = {}
    names: dict[int, str] = {}
    for number, own in enumerate(changes):
        try:
            member = _Member(changed(sculpture, own), asked)
            names[number] = _id(member)
            wanted[names[number]] = member
        except DescriptionError as error:
            reasons[number] = _joined(error)
    ledger = _Ledger(kept)
    found = {name: own for name, own in ledger.read().items() if name in wanted}
    missing = [name for name in wanted if name not in found]
    finished = len(wanted) - len(missing)
    if done is not None:
        done(finished, len(wanted))
    with closing(each(_found, [wanted[name] for name in missing], pool)) as results:
        for number, result in results:
            own = _Found((), str(result), final=False) if isinstance(result, ChildProcessError) else result
            found[missing[number]] = own
            if own.final:
                ledger.add(missing[number], own)
            finished += 1
            if done is not None:
                done(finished, len(wanted))
    return [
        Build(own, reason=reasons[number])
        if number in reasons
        else Build(own, found[names[number]].readings, found[names[number]].reason)
        for number, own in enumerate(changes)
    ]


def _found(member: _Member) -> _Found:
    """Study a member; whatever goes wrong is its own affair, and the rest go on."""
    try:
        study = brief_study(
            member.sculpture, only=member.asked.only, angles=member.asked.angles, speed=member.asked.speed
        )
    except DescriptionError as error:
        return _Found((), _joined(error))
    except Exception as error:
        return _Found((), f"{FAULT}: {type(error).__name__}: {error}", final=False)
    failed = [f"{r.label}: {r.reason}" for r in study.campaign.runs if r.status != "finished"]
    if failed:
        return _Found((), "; ".join(failed))
    return _Found(readings(study))


def _joined(error: DescriptionError) -> str:
    return "; ".join(error.lines)


def _id(member: _Member) -> str:
    """Give what names everything that decides a member's readings."""
    whole = {
        "mechanism": canonical(mechanism(member.sculpture)),
        "cases": {name: asdict(case) for name, case in cases(member.sculpture).items()},
        "asked": asdict(member.asked),
        "code": code(further="analysis"),
    }
    return hashlib.sha256(json.dumps(whole, sort_keys=True).encode()).hexdigest()[:16]


class _Ledger:
    """A file with a line for each finished build; a line that was being written when the power went is passed over."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def read(self) -> dict[str, _Found]:
        """Give the builds in the file by what names them."""
        found: dict[str, _Found] = {}
        if not self.path.is_file():
            return found
        for line in self.path.read_text("utf-8", errors="replace").splitlines():
            try:
                name, reason, rows = json.loads(line)
                found[str(name)] = _Found(tuple(Reading(*row) for row in rows), str(reason))
            except (ValueError, TypeError):
                continue
        return found

    def add(self, name: str, found: _Found) -> None:
        """Add a build."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        rows = [list(asdict(r).values()) for r in found.readings]
        with self.path.open("a", encoding="utf-8") as out:
            out.write("\n" + json.dumps([name, found.reason, rows]))
