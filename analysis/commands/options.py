"""Reads the options of the commands; what is wrong with one is said in one line."""

import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Annotated, Any

from cyclopts import Parameter

from models.loading import DescriptionError, setting
from models.units import DescriptionFault, quantity

SLOWEST = quantity("0.1 rpm", "angular_speed")
"""Wheel speed, rad/s, below which a turn takes for ever."""
FASTEST = 100.0
"""Wheel speed, rad/s, that nobody turns."""


def _counted(option: str, least: int, most: int) -> Callable[[object, Sequence[Any]], int]:
    """Give what reads a count; 1.5 is none."""

    def read(_: object, tokens: Sequence[Any]) -> int:
        text = str(tokens[0].value)
        digits = text.lstrip("+-")
        if not (digits.isascii() and digits.isdigit() and len(digits) < 12):
            what = f"'{text}' is not a whole number"
        elif not least <= int(text) <= most:
            what = f"{text} is out of range"
        else:
            return int(text)
        raise DescriptionError([f"{option}: {what}; write {least} to {most}"])

    return read


Changes = Annotated[list[str] | None, Parameter(name="--set", negative=(), consume_multiple=False)]
Json = Annotated[bool, Parameter(name="--json", negative=())]
Strict = Annotated[bool, Parameter(name="--strict", negative=())]
Runs = Annotated[Path, Parameter(name="--runs")]
Count = Annotated[int, Parameter(converter=_counted("--angles", 1, 360))]
CountOrNone = Annotated[int | None, Parameter(converter=_counted("--angles", 1, 360))]
Samples = Annotated[
    int | None, Parameter(converter=_counted("--samples", 1, 100_000), allow_leading_hyphen=True)
]
Builds = Annotated[int, Parameter(converter=_counted("--builds", 2, 20_000), allow_leading_hyphen=True)]
Seed = Annotated[int, Parameter(converter=_counted("--seed", 0, 10**9), allow_leading_hyphen=True)]
Names = Annotated[list[str] | None, Parameter(negative=(), consume_multiple=False)]
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


def angle(text: str) -> float:
    """Give a crank angle, rad.

    Raises
    ------
    DescriptionError
        When it is none, or of more turns than a figure can still tell apart.
    """
    found = _quantity(text, "angle", "--release")
    if abs(found) > 1e3:
        raise DescriptionError([f"--release: '{text}' is out of range; write fewer than 100 turns"])
    return found


def named(texts: list[str] | None, option: str) -> list[str] | None:
    """Give the names of an option that may be repeated and hold several with commas between, or None; "none" is none.

    Raises
    ------
    DescriptionError
        When it is given without a name.
    """
    if texts is None:
        return None
    found = [part.strip() for text in texts for part in text.split(",") if part.strip()]
    if not found:
        raise DescriptionError([f"{option}: no name is given; write {option} gust,blocked"])
    return [] if found == ["none"] else found


def check_folder(runs: Path) -> None:
    """Refuse a place for the runs that cannot take any with a DescriptionError, before minutes of work."""
    at = next((p for p in (runs, *runs.parents) if p.exists()), Path())
    if not at.is_dir():
        raise DescriptionError([f"--runs: '{at}' is a file; name a folder"])
    if not os.access(at, os.W_OK | os.X_OK):
        raise DescriptionError([f"--runs: '{at}' cannot be written to; name another folder"])


def bounded(
    text: str | None, option: str, dimension: str, bounds: tuple[float, float], instead: str
) -> float | None:
    """Give an option's quantity in SI, or None where it is not given.

    Raises
    ------
    DescriptionError
        When it is none of the dimension, or out of its bounds.
    """
    if text is None:
        return None
    found = _quantity(text, dimension, option)
    if not bounds[0] <= found <= bounds[1]:
        raise DescriptionError([f"{option}: '{text}' is out of range; {instead}"])
    return found


def _quantity(text: str, dimension: str, option: str) -> float:
    try:
        return quantity(text.strip(), dimension)
    except DescriptionFault as error:
        raise DescriptionError([f"{option}: {error.what}; {error.instead}"]) from None
