"""Reads what motion is asked for on the command line, and within which limits; all that is wrong is said at once."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, TypeVar

from models.loading import DescriptionError
from models.units import DescriptionFault, quantity

if TYPE_CHECKING:
    from analysis.fit_wishes import Asked
    from models.sculpture import Sculpture

BOUNDS = {
    "--least-transmission": ("angle", 0.0, 1.49, "write an angle from 0 deg to 85 deg"),
    "--most-swivel": ("angle", 0.017, 1.571, "write an angle from 1 deg to 90 deg"),
    "--most-throw": ("length", 0.011, 10.0, "write a length between 11 mm and 10 m"),
    "--most-rod": ("length", 0.051, 100.0, "write a length between 51 mm and 100 m"),
    "--most-out": ("length", 0.021, 10.0, "write a length between 21 mm and 10 m"),
    "--most-below": ("length", 1e-3, 10.0, "write a length between 1 mm and 10 m"),
    "--round": ("length", 1e-6, 0.01, "write a length between .001 mm and 10 mm"),
}
"""Of each option: its dimension, least and largest value and what to write instead."""
STEEPEST = 1.4836
"""Panel angle, rad, beyond which none is wanted."""
LEAST = 0.0174
"""Least range of a panel, rad."""
Range = tuple[float, float]
_Read = TypeVar("_Read")


def asked(
    sculpture: "Sculpture", ranges: list[str] | None, lags: list[str] | None, given: Sequence[str | None]
) -> "tuple[Asked, float]":
    """Give what is asked for, and what lengths are made in, m.

    Parameters
    ----------
    sculpture : whose panels they are.
    ranges, lags : texts panel=value.
    given : the texts of the options in `BOUNDS`, in that order; the last is never None.

    Raises
    ------
    DescriptionError
        With every option that is wrong.
    """
    from analysis.fit_wishes import Asked, wishes

    faults: list[str] = []
    moved = _named(ranges, "--range", "inner=-25 deg to 35 deg", _range, (0.0, 1.0), faults)
    behind = _named(lags, "--lag", "outer=90 deg", _lag, 0.0, faults)
    values = [
        None if text is None else _noted(lambda o=option, t=text: _bounded(o, t), faults)
        for option, text in zip(BOUNDS, given, strict=True)
    ]
    *bounds, step = values
    found = Asked(moved, behind, *bounds)
    _noted(lambda: wishes(sculpture, found), faults)
    if faults or step is None:
        raise DescriptionError(faults)
    return found, step


def unit(text: str) -> str:
    """Give the unit that lengths are written in: inches where they are made in such, else millimetres."""
    return "in" if text.strip().endswith(("in", '"', "″", "”", "thou")) else "mm"


def _noted(read: Callable[[], _Read], faults: list[str]) -> _Read | None:
    """Read something, or note what is wrong with it."""
    try:
        return read()
    except DescriptionError as error:
        faults += error.lines
        return None


def _named(
    texts: list[str] | None,
    option: str,
    example: str,
    read: Callable[[str], _Read],
    blank: _Read,
    faults: list[str],
) -> dict[str, _Read]:
    """Read panel=value, once for each panel; a wrong value is noted and holds its place with a blank."""
    found: dict[str, _Read] = {}
    for text in texts or ():
        name, equals, value = (part.strip() for part in text.partition("="))
        if not (name and equals and value):
            faults.append(f"{option}: '{text}' is not panel=value; write {option} \"{example}\"")
            continue
        if name in found:
            faults.append(f"{option}: '{name}' is given twice; write it once")
        own = _noted(lambda v=value: read(v), faults)
        found[name] = blank if own is None else own
    return found


def _range(text: str) -> Range:
    parts = text.split(" to ")
    if len(parts) != 2:
        raise DescriptionError([f"--range: '{text}' is no range; write \"-25 deg to 35 deg\""])
    low, high = (_quantity("--range", part, "angle") for part in parts)
    if not (low >= -STEEPEST and low + LEAST <= high <= STEEPEST):
        raise DescriptionError(
            [f"--range: '{text}' cannot be had; write angles from -85 deg to 85 deg, the lower first"]
        )
    return low, high


def _lag(text: str) -> float:
    found = _quantity("--lag", text, "angle")
    if abs(found) > 6.2832:
        raise DescriptionError([f"--lag: '{text}' is out of range; write an angle from -360 deg to 360 deg"])
    return found


def _bounded(option: str, text: str) -> float:
    dimension, low, high, instead = BOUNDS[option]
    found = _quantity(option, text, dimension)
    if not low <= found <= high:
        raise DescriptionError([f"{option}: '{text}' is out of range; {instead}"])
    return found


def _quantity(option: str, text: str, dimension: str) -> float:
    try:
        return quantity(text.strip(), dimension)
    except DescriptionFault as error:
        raise DescriptionError([f"{option}: {error.what}; {error.instead}"]) from None
