"""Reads the options of the commands; what is wrong with one is said in one line."""

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from models.loading import DescriptionError, setting
from models.units import DescriptionFault, quantity

if TYPE_CHECKING:
    from sim.scenarios import Scenario

SLOWEST = quantity("0.1 rpm", "angular_speed")
"""Wheel speed, rad/s, below which a turn takes for ever."""
FASTEST = 100.0
"""Wheel speed, rad/s, that nobody turns."""


def _whole(_: type, tokens: Sequence[Any]) -> int:
    """Read a count; 1.5 is none."""
    text = str(tokens[0].value)
    try:
        return int(text)
    except ValueError:
        raise DescriptionError([f"--angles: '{text}' is not a whole number; write 1 to 360"]) from None


Changes = Annotated[list[str] | None, Parameter(name="--set", negative=(), consume_multiple=False)]
Json = Annotated[bool, Parameter(name="--json", negative=())]
Strict = Annotated[bool, Parameter(name="--strict", negative=())]
Runs = Annotated[Path, Parameter(name="--runs")]
Count = Annotated[int, Parameter(converter=_whole)]
# An angle or a speed may be negative.
Signed = Annotated[str, Parameter(allow_leading_hyphen=True)]
SignedOrNone = Annotated[str | None, Parameter(allow_leading_hyphen=True)]


def changes(settings: list[str] | None) -> dict[str, object]:
    """Give the values that --set names, by dotted name.

    Raises
    ------
    DescriptionError
        When one is not name=value.
    """
    return dict(setting(s) for s in settings or [])


def lengths(text: str, option: str) -> list[float]:
    """Give the lengths, m, of a list with commas between.

    Raises
    ------
    DescriptionError
        When there is none, or one is no length.
    """
    found = [_quantity(part, "length", option) for part in text.split(",") if part.strip()]
    if not found:
        raise DescriptionError([f'{option}: no size is given; write "500 mm, 600 mm"'])
    return found


def speed(text: str, slowest: float = 0.0) -> float:
    """Give a wheel's speed, rad/s.

    Raises
    ------
    DescriptionError
        When it is none, or slower or faster than what can be simulated and turned.
    """
    found = _quantity(text, "angular_speed", "--speed")
    if abs(found) > FASTEST:
        raise DescriptionError(["--speed: nobody turns a wheel that fast; write at most 950 rpm"])
    if abs(found) < slowest:
        raise DescriptionError(['--speed: turning needs at least 0.1 rpm; write "10 rpm"'])
    return found


def check_angles(count: int) -> None:
    """Refuse a number of release angles out of range with a DescriptionError."""
    if not 1 <= count <= 360:
        raise DescriptionError([f"--angles: {count} is out of range; write 1 to 360"])


def check_folder(runs: Path) -> None:
    """Refuse a place for the runs that cannot take any with a DescriptionError, before minutes of work."""
    at = next((p for p in (runs, *runs.parents) if p.exists()), Path())
    if not at.is_dir():
        raise DescriptionError([f"--runs: '{at}' is a file; name a folder"])
    if not os.access(at, os.W_OK | os.X_OK):
        raise DescriptionError([f"--runs: '{at}' cannot be written to; name another folder"])


def scenario(case: str, turning: str | None, release: str, person: str) -> "Scenario":
    """Give what is to be done to the sculpture.

    Parameters
    ----------
    case : a name in `sim.scenarios.SCENARIOS`.
    turning : the wheel's speed as written, or None for the case's own.
    release : crank angle at the start as written.
    person : name of a profile.

    Raises
    ------
    DescriptionError
        With every option that is wrong.
    """
    from models.people import people
    from sim.scenarios import SCENARIOS, Crank, LetGo, Turn

    problems: list[str] = []
    if case not in SCENARIOS:
        problems.append(f"--case: there is no '{case}'; write one of: {', '.join(SCENARIOS)}")
    if person not in people():
        problems.append(f"--person: there is no '{person}'; write one of: {', '.join(people())}")
    angle, wheel = 0.0, None
    try:
        angle = _quantity(release, "angle", "--release")
        if abs(angle) > 1e3:
            raise DescriptionError([f"--release: '{release}' is out of range; write fewer than 100 turns"])
    except DescriptionError as error:
        problems += error.lines
    try:
        wheel = None if turning is None else speed(turning, 0.0 if case == LetGo.case else SLOWEST)
    except DescriptionError as error:
        problems += error.lines
    if problems:
        raise DescriptionError(problems)
    if case == Crank.case:
        return Crank(person, wheel, angle)
    if wheel is None:
        wheel = quantity("10 rpm" if case == Turn.case else "60 rpm", "angular_speed")
    return Turn(wheel, angle) if case == Turn.case else LetGo(wheel, angle)


def _quantity(text: str, dimension: str, option: str) -> float:
    try:
        return quantity(text.strip(), dimension)
    except DescriptionFault as error:
        raise DescriptionError([f"{option}: {error.what}; {error.instead}"]) from None
