"""Load cases: what is done to a piece, with figures and sources; a description may add or change them."""

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any

from models.loading import DescriptionError
from models.people import people
from models.sculpture import Sculpture
from models.shown import shown
from models.units import DescriptionFault, quantity

KINDS: dict[str, tuple[str, ...]] = {
    "turn": ("speed",),
    "crank": ("person", "speed", "hand_speed"),
    "let-go": ("person", "speed", "hand_speed", "angles"),
    "hold-on": ("person", "speed", "hand_speed"),
    "grab": ("person", "speed", "hand_speed", "after"),
    "stop": ("person", "speed", "hand_speed", "within"),
    "blocked": ("person",),
    "jam": ("person", "speed", "hand_speed"),
    "hang-held": ("people", "mass", "reach"),
    "hang-locked": ("people", "mass", "reach"),
    "hang": ("people", "mass", "reach"),
    "gust": ("wind", "directions", "slope", "lee"),
    "gust-locked": ("wind", "directions", "slope", "lee"),
    "broken": (),
    "lifted": (),
}
"""Kinds of case, with the figures that each takes."""

_SPEED = ("speed", "hand_speed")
"""Two ways to say the wheel's speed; without either it is the person's comfortable one."""
_NEEDED: dict[str, tuple[tuple[str, ...], ...]] = {
    "turn": (("speed",),),
    "crank": (("person",),),
    "let-go": (("person", *_SPEED), ("angles",)),
    "hold-on": (("person",),),
    "grab": (("person",), ("after",)),
    "stop": (("person", *_SPEED), ("within",)),
    "blocked": (("person",),),
    "jam": (("person", *_SPEED),),
    "hang-held": (("people",), ("mass",), ("reach",)),
    "hang-locked": (("people",), ("mass",), ("reach",)),
    "hang": (("people",), ("mass",), ("reach",)),
    "gust": (("wind",), ("directions",)),
    "gust-locked": (("wind",), ("directions",)),
}
"""What a kind cannot do without: one of each group."""
DIMENSIONS = {
    "speed": "angular_speed",
    "hand_speed": "speed",
    "after": "time",
    "within": "time",
    "mass": "mass",
    "reach": "length",
    "wind": "speed",
    "slope": "angle",
    "lee": "ratio",
}
"""Dimensions of the figures; those that are not here are counts."""
USUAL = ("slope", "lee")
"""Figures that a case of one's own takes from the project's own of its kind where it gives none."""
_BETWEEN = {
    "speed": ("0.1 rpm", "950 rpm"),
    "hand_speed": ("0.01 m/s", "10 m/s"),
    "after": ("1 ms", "60 s"),
    "within": ("10 ms", "60 s"),
    "mass": ("1 kg", "1000 kg"),
    "reach": ("0.5 m", "5 m"),
    "wind": ("0.1 m/s", "90 m/s"),
    "slope": ("0 deg", "60 deg"),
}
"""What can be simulated, and happens to a piece."""
_COUNTS = {"angles": (1, 360), "people": (1, 20), "directions": (1, 72)}
_SHARES = ("lee",)
"""Bare numbers from 0 to 1."""
_WORDS = {"hand_speed": "hand speed", "mass": "each", "reach": "reach up to", "slope": "up and down by",
          "lee": "least share of it on the far side"}  # fmt: skip
MOST = 50
"""Cases of a description at most."""


@dataclass(frozen=True)
class Case:
    """A load case.

    Attributes
    ----------
    name, kind : its name, and what is done.
    source : where its figures come from.
    person : profile, or "".
    figures : SI values and counts by name.
    """

    name: str
    kind: str
    source: str
    person: str = ""
    figures: Mapping[str, float] = field(default_factory=dict[str, float])

    def count(self, name: str) -> int:
        """Give a figure that is a count."""
        return int(self.figures[name])

    @property
    def words(self) -> str:
        """The person and the figures in words."""
        said = [people()[self.person].label] if self.person else []
        for name, value in self.figures.items():
            figure = shown(value, DIMENSIONS.get(name, "count"))
            said.append(f"{figure} {name}" if name in _COUNTS else f"{_WORDS.get(name, name)} {figure}")
        return ", ".join(said)


@cache
def standard() -> dict[str, Case]:
    """Give the project's own cases by name."""
    return {name: _case(name, row) for name, row in _rows().items()}


def cases(sculpture: Sculpture) -> dict[str, Case]:
    """Give all cases of a sculpture by name: the project's own, with what its description adds or changes.

    Raises
    ------
    DescriptionError
        Where a case of the description is wrong: every fault in a line.
    """
    found = dict(standard())
    label = sculpture.source.label
    lines: list[str] = []
    own: set[str] = set()
    if len(sculpture.case) > MOST:
        raise DescriptionError(
            [f"{label}: case: {len(sculpture.case)} cases are too many; write at most {MOST}"]
        )
    for number, row in enumerate(sculpture.case, 1):
        name = row.get("name")
        where = f"{label}: case '{name}'" if isinstance(name, str) and name else f"{label}: case {number}"
        try:
            name = _name(name, own)
            found[name] = _case(name, _over(name, row))
        except _CaseFaults as error:
            lines += [f"{where}: {words}" for words in error.lines]
    if lines:
        raise DescriptionError(lines)
    return found


class _CaseFaults(Exception):
    """What is wrong with a case: a line for each fault."""

    def __init__(self, faults: list[DescriptionFault]) -> None:
        super().__init__(*faults)
        self.lines = tuple(str(f) for f in faults)


def _name(name: object, own: set[str]) -> str:
    """Check a case's name, and keep it among those of the description."""
    if not isinstance(name, str) or not name.strip():
        raise _CaseFaults([DescriptionFault("it has no name", 'write name = "..."')])
    if len(name) > 60 or not name.isprintable() or name != name.strip() or any(c in name for c in "./\\,"):
        what = "its name is none that a command can take"
        raise _CaseFaults([DescriptionFault(what, "write 1 to 60 letters without dots, commas or slashes")])
    if name in own:
        raise _CaseFaults([DescriptionFault("it is listed twice", "give each case a name of its own")])
    own.add(name)
    return name


def _over(name: str, row: Mapping[str, object]) -> dict[str, object]:
    """Give a row of the description over the project's own row of that name, whose kind stays.

    Every study rests on the slow turn and on letting go: a case that changed its kind would take them away.
    """
    before = _rows().get(name, {})
    kind = before.get("kind")
    if before and row.get("kind", kind) != kind:
        what = f"it is one of the project's own, of kind '{kind}'"
        raise _CaseFaults([DescriptionFault(what, "keep that kind, or give yours another name")])
    if any(key in row for key in _SPEED):  # the one given takes the other's place
        before = {k: v for k, v in before.items() if k not in _SPEED}
    rest = {k: v for k, v in row.items() if k != "name"}
    like = _rows().get(str(row.get("kind")), {})
    before = {k: like[k] for k in USUAL if k in like} | before
    return {**before, "source": "the description", **rest}


@cache
def _rows() -> dict[str, dict[str, Any]]:
    return tomllib.loads(files("models").joinpath("cases.toml").read_text("utf-8"))


def _case(name: str, row: Mapping[str, object]) -> Case:
    """Read a case.

    Raises
    ------
    _CaseFaults
        Where fields are lacking, unknown or no such quantity.
    """
    kind = row.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        what = "it has no kind" if kind is None else f"there is no kind of case {_short(kind)}"
        raise _CaseFaults([DescriptionFault(what, f"write one of: {', '.join(KINDS)}")])
    allowed = KINDS[kind]
    faults = [_unknown(kind, key) for key in row if key not in (*allowed, "kind", "source")]
    faults += [
        DescriptionFault(f"a case of kind '{kind}' needs {' or '.join(group)}", f"write {group[0]} = ...")
        for group in _NEEDED.get(kind, ())
        if not any(key in row for key in group)
    ]
    if all(key in row for key in _SPEED):
        faults.append(
            DescriptionFault("both speed and hand_speed are given", "write the wheel's or the hand's speed")
        )
    figures: dict[str, float] = {}
    for key in (k for k in allowed if k in row and k != "person"):
        try:
            figures[key] = _figure(row[key], key)
        except DescriptionFault as fault:
            faults.append(fault)
    person, source = row.get("person", ""), row.get("source", "")
    if "person" in allowed and "person" in row and (not isinstance(person, str) or person not in people()):
        faults.append(
            DescriptionFault(f"there is no person {_short(person)}", f"write one of: {', '.join(people())}")
        )
    if not isinstance(source, str) or not source.strip():
        faults.append(DescriptionFault("its source is no text", 'write source = "..."'))
    if faults:
        raise _CaseFaults(faults)
    return Case(name, kind, str(source), str(person), figures)


def _unknown(kind: str, key: str) -> DescriptionFault:
    near = difflib.get_close_matches(key, KINDS[kind], 1, 0.6)
    known = ", ".join(KINDS[kind]) or "none"
    return DescriptionFault(
        f"a case of kind '{kind}' has no '{key}'",
        f"did you mean '{near[0]}'?" if near else f"known are: {known}",
    )


def _figure(value: object, key: str) -> float:
    """Read a figure of a case.

    Raises
    ------
    DescriptionFault
        Where it is no such quantity, or out of range.
    """
    if key in _COUNTS:
        low, high = _COUNTS[key]
        if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            raise DescriptionFault(f"{key}: {_short(value)} is no such count", f"write {low} to {high}")
        return float(value)
    if key in _SHARES:
        if not isinstance(value, int | float) or isinstance(value, bool) or not 0 <= value <= 1:
            raise DescriptionFault(f"{key}: {_short(value)} is no share", "write a bare number, 0 to 1")
        return float(value)
    try:
        found = quantity(value, DIMENSIONS[key])
    except DescriptionFault as fault:
        raise DescriptionFault(f"{key}: {fault.what}", fault.instead) from None
    least, most = _BETWEEN[key]
    if not quantity(least, DIMENSIONS[key]) <= found <= quantity(most, DIMENSIONS[key]):
        raise DescriptionFault(f"{key}: {_short(value)} is out of range", f"write {least} to {most}")
    return found


def _short(value: object) -> str:
    """Show what was given, cut to a readable length."""
    try:
        words = repr(value)
    except ValueError:  # a whole number of thousands of digits
        return "a number of that length"
    return words if len(words) <= 40 else words[:37] + "..."
