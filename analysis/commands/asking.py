"""A load case as asked for on the command line: which one, with which figures changed, from where on."""

import difflib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, cast, get_args

from analysis.commands import options
from models.cases import KINDS, Case
from models.loading import DescriptionError
from models.people import people
from sim.builders import Linkage
from sim.expanding import Expanded, expanded, wheel_speed
from sim.friction_levels import Level
from sim.scenarios import LetGo, Scenario

BEGINNING = ("turn", "crank")
"""Kinds that begin at a crank angle, by default 0."""
RELEASED = ("let-go", "hold-on", "grab", "stop", "jam")
"""Kinds that begin where the wheel is let go, or would be."""


@dataclass(frozen=True)
class Asked:
    """A load case with what was asked for.

    Attributes
    ----------
    case : with the speed and the person asked for.
    start : crank angle at which it begins, rad, or None for the case's own.
    friction : level of it.
    """

    case: Case
    start: float | None
    friction: Level

    def expanded(self, closed: Linkage) -> Expanded:
        """Give what the case comes to for a sculpture."""
        made = expanded(self.case, closed, self.start)
        scenarios: tuple[Scenario, ...] = made.scenarios
        if self.start is not None and self.case.kind == LetGo.case:
            scenarios = (LetGo(wheel_speed(self.case, closed), self.start),)
        elif self.start is not None and self.case.kind in BEGINNING:
            scenarios = tuple(_with(s, start=self.start) for s in scenarios)
        return replace(made, scenarios=tuple(_with(s, friction=self.friction) for s in scenarios))


def asked(
    named: Mapping[str, Case],
    name: str,
    *,
    speed: str | None = None,
    release: str | None = None,
    person: str | None = None,
    friction: str = "nominal",
) -> Asked:
    """Give the load case that options ask for.

    Parameters
    ----------
    named : all load cases of a sculpture.
    name : of a case, or else of a kind.
    speed, release, person : instead of the case's own.
    friction : level.

    Raises
    ------
    DescriptionError
        With every option that is wrong.
    """
    problems: list[str] = []
    case = find(named, name)
    if case is None:
        problems.append(f"--case: {_unknown(named, name)}")
    if friction not in get_args(Level):
        problems.append(f"--friction: there is no '{friction}'; write one of: {', '.join(get_args(Level))}")
    if person is not None and person not in people():
        problems.append(f"--person: there is no '{person}'; write one of: {', '.join(people())}")
    start = _read(release, options.angle, problems)
    # Nobody waits for a wheel that creeps round; letting go of one that stands is a case of its own.
    least = 0.0 if case is None or case.kind == LetGo.case else options.SLOWEST
    wheel = _read(speed, lambda text: options.speed(text, least), problems)
    if case is not None:
        problems += [
            f"--{option}: the case '{case.name}' has none; leave it out"
            for option, given, takes in (
                ("speed", speed, "speed" in KINDS[case.kind]),
                ("person", person, "person" in KINDS[case.kind]),
                ("release", release, case.kind in (*BEGINNING, *RELEASED)),
            )
            if given is not None and not takes
        ]
    if case is None or problems:
        raise DescriptionError(problems)
    figures = {k: v for k, v in case.figures.items() if wheel is None or k != "hand_speed"}
    if wheel is not None:
        figures["speed"] = wheel
    made = replace(case, person=case.person if person is None else person, figures=figures)
    return Asked(made, start, cast("Level", friction))


def chosen(named: Mapping[str, Case], names: Sequence[str]) -> list[str]:
    """Give the names of the cases that names or kinds of cases stand for.

    Raises
    ------
    DescriptionError
        With every name that stands for nothing.
    """
    found: list[str] = []
    problems: list[str] = []
    for name in names:
        own = [name] if name in named else [n for n, c in named.items() if c.kind == name]
        found += own
        if not own:
            problems.append(f"--only: {_unknown(named, name)}")
    if problems:
        raise DescriptionError(problems)
    return list(dict.fromkeys(found))


def find(named: Mapping[str, Case], name: str) -> Case | None:
    """Find a case by its name, or else a kind's, an adult's where there are several."""
    if name in named:
        return named[name]
    kind = [c for c in named.values() if c.kind == name]
    return min(kind, key=lambda c: c.person not in ("", "adult"), default=None)


def _unknown(named: Mapping[str, Case], name: str) -> str:
    known = list(dict.fromkeys([*named, *KINDS]))
    near = difflib.get_close_matches(name, known, 1, 0.6)
    return f"there is no '{name}'; " + (
        f"did you mean '{near[0]}'?" if near else f"write one of: {', '.join(known)}"
    )


def _read(text: str | None, read: Callable[[str], float], problems: list[str]) -> float | None:
    """Read an option, or note what is wrong with it."""
    if text is None:
        return None
    try:
        return read(text)
    except DescriptionError as error:
        problems += error.lines
        return None


def _with(scenario: Scenario, **fields: Any) -> Scenario:
    return replace(cast("Any", scenario), **fields)
