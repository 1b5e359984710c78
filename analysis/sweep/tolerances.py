"""What a build may be off by: each value's tolerance, and builds drawn at random within all of them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, cast

import numpy as np

from models.keyways import Keyways
from models.loading import DescriptionError, given
from models.mechanism import Mechanism
from models.sculpture import Sculpture
from models.units import DescriptionFault
from models.written import read, written
from sim.builders import Linkage
from sim.layout import excess_of, fit_of
from sim.mass import bare_plate

ASSUMED = "assumption"
LENGTHS = (("throw.radius", 5e-4), ("rod", 5e-4), ("yoke_pin.out", 5e-4), ("yoke_pin.below", 5e-4),
           ("hinge.out", 1e-3))  # fmt: skip
"""What of each panel's linkage is off by how much, m: welded on the bench to half a millimetre, on the post to one."""
UP = 1e-3
_SIDED = (*(name for name, _ in LENGTHS), "hinge.up", "hinge.above", "hinge.forward", "yoke_pin.forward", "throw.out",
          "throw.angle", "mass", "thickness")  # fmt: skip
"""What a description can give for one side alone."""
KEY = np.radians(0.5)
"""Of a keyway's angle, and of a welded throw's."""
MASS = 0.03
RUB = 0.5
"""Share of a coefficient of friction: the description's low estimate is half of it."""
SLACK = 1e-3
"""Of a chain's excess length as it is set, m; never below none."""


@dataclass(frozen=True)
class Tolerance:
    """A value and what it may be off by, either way.

    Attributes
    ----------
    field : dotted name; `left.` or `right.` before it where the sides are made one by one.
    nominal, off : SI.
    dimension : of both.
    least : what the value cannot go below.
    source : where `off` comes from.
    """

    field: str
    nominal: float
    off: float
    dimension: str
    least: float = -np.inf
    source: str = ASSUMED

    def at(self, share: float) -> float:
        """Give the value at a share, -1 to 1, of what it may be off by."""
        return max(self.least, self.nominal + share * self.off)


def usual(closed: Linkage) -> list[Tolerance]:
    """Give what a shop's builds are taken to be off by; each value is an assumption, to be replaced by one's own.

    Parameters
    ----------
    closed : the sculpture.
    """
    m = closed.mechanism
    found: list[Tolerance] = []
    for side in m.sides:
        for number, panel in enumerate(side.panels):
            at = f"{side.name}.panel.{panel.plate.name}"
            up = "hinge.above" if number else "hinge.up"
            found += [_length(f"{at}.{name}", m, off) for name, off in (*LENGTHS, (up, UP))]
            found.append(Tolerance(f"{at}.throw.angle", panel.throw_angle, KEY, "angle"))
            mass = _plate_mass(m, side.name, panel.plate.name)
            found.append(Tolerance(f"{at}.mass", mass, MASS * mass, "mass"))
    if m.keyways is not None and m.keyways.centre is not None:
        found += _keyways(m.keyways, m.keyways.centre)
    elif len(m.sides) > 1:
        found.append(Tolerance("right.key_angle", m.sides[1].key_angle, KEY, "angle"))
    for name in ("bush", "rod_end", "hinge", "bearing"):
        value = getattr(m.friction, name)
        found.append(Tolerance(f"friction.{name}", value, RUB * value, "ratio", 0.0))
    found.append(
        Tolerance("friction.wheel_drag", m.friction.wheel_drag, RUB * m.friction.wheel_drag, "torque", 0.0)
    )
    found += [
        Tolerance(f"stage.{k}.slack", excess_of(stage), SLACK, "length", 0.0)
        for k, stage in enumerate(m.stages, 1)
        if stage.kind == "chain" and not stage.tight and stage.tensioner is None and stage.sideways is None
    ]
    return found


def own(sculpture: Sculpture, closed: Linkage, field: str, text: str) -> Tolerance:
    """Read what a field may be off by, as a quantity or as "5 %" of its value.

    Raises
    ------
    DescriptionError
        When the field has no value to be off from, or the text is no such quantity.
    """
    nominal, dimension = nominal_of(sculpture, closed, field)
    least = 0.0 if field.startswith("friction.") or field.endswith(".slack") else -np.inf
    try:
        if text.endswith("%"):
            off = abs(nominal) * read(float(text[:-1]))[0] / 100
        else:
            off, kind = read(float(text) if dimension in ("ratio", "count") else text)
            if kind != dimension and dimension not in ("ratio", "count"):
                raise DescriptionFault(
                    f"'{text}' is of another kind than its value", "write both in units of one kind"
                )
    except (DescriptionFault, ValueError) as fault:
        words = (
            str(fault)
            if isinstance(fault, DescriptionFault)
            else f"'{text}' is no number; write 0.05, or \"5 %\""
        )
        raise DescriptionError([f"--off: {field}: {words}"]) from None
    if off < 0:
        raise DescriptionError(
            [f"--off: {field}: '{text}' is below nothing; write how far it may be off either way"]
        )
    return Tolerance(field, nominal, off, dimension, least, "given")


def nominal_of(sculpture: Sculpture, closed: Linkage, field: str) -> tuple[float, str]:
    """Give a field's value and its dimension: as written, as settled by default, or for both sides alike.

    Raises
    ------
    DescriptionError
        When it has none that is a number.
    """
    m = closed.mechanism
    side, _, rest = field.partition(".")
    parts = field.split(".")
    if (
        parts[0] == "stage"
        and parts[2:] == ["slack"]
        and parts[1].isdigit()
        and 0 < int(parts[1]) <= len(m.stages)
    ):
        return excess_of(m.stages[int(parts[1]) - 1]), "length"
    names = (field, rest) if side in {"left", "right"} else (field,)
    for name in names:
        value = given(sculpture.source.document, name)
        if isinstance(value, str | float | int) and not isinstance(value, bool):
            try:
                return read(value)
            except DescriptionFault:
                continue
        for default in m.defaults:
            if default.field == name and not isinstance(default.value, str):
                return default.value, default.dimension
    if parts[-1] == "mass" and "panel" in parts:
        sides = [s for s in m.sides if s.name == side] or list(m.sides[:1])
        panel = parts[parts.index("panel") + 1]
        if any(p.plate.name == panel for p in sides[0].panels):
            return _plate_mass(m, sides[0].name, panel), "mass"
    if parts[-1] == "key_angle" and len(parts) == 2:
        return 0.0, "angle"
    raise DescriptionError(
        [
            f"--off: {field}: the description has no such number; name a field that has one, such as friction.bush"
        ]
    )


def draws(tolerances: Sequence[Tolerance], count: int, seed: int) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Give for each of so many builds and each tolerance the share, -1 to 1, that it is off by: (count, n).

    Every value between the limits is as likely as another, which is what is known where only limits are (JCGM
    100:2008, 4.3.7; memory), and none hangs on another's.
    """
    return np.random.default_rng(seed).uniform(-1.0, 1.0, (count, len(tolerances)))


def changes(
    sculpture: Sculpture, closed: Linkage, tolerances: Sequence[Tolerance], shares: Sequence[float]
) -> dict[str, object]:
    """Give a build's values as changes of the description."""
    whole: dict[str, object] = {}
    single: dict[str, object] = {}
    for t, share in zip(tolerances, shares, strict=True):
        parts = t.field.split(".")
        if parts[0] == "stage" and parts[2:] == ["slack"]:
            whole[f"stage.{parts[1]}"] = _slackened(sculpture, closed.mechanism, int(parts[1]), t.at(share))
        else:
            single[t.field] = written(t.at(share), t.dimension)
    return {**whole, **single}


def values(tolerances: Sequence[Tolerance], shares: Sequence[float]) -> dict[str, object]:
    """Give a build's values by the fields of their tolerances, as a table has them."""
    return {t.field: written(t.at(u), t.dimension) for t, u in zip(tolerances, shares, strict=True)}


def without(tolerances: Sequence[Tolerance], others: Sequence[Tolerance]) -> list[Tolerance]:
    """Give tolerances with others in place of those of the same field, and none that is nothing."""
    fields = {t.field for t in others}
    return [t for t in (*(t for t in tolerances if t.field not in fields), *others) if t.off > 0]


def _keyways(keys: Keyways, centre: tuple[float, float]) -> list[Tolerance]:
    """Give what the readings of the keyways are off by, from which the phase of the sides follows."""
    readings = {"left": keys.left, "right": keys.right, "centre.1": centre[0], "centre.2": centre[1]}
    source = "uncertainty of the reading"
    return [Tolerance(f"keyways.{k}", v, keys.measured, "angle", source=source) for k, v in readings.items()]


def _length(field: str, m: Mechanism, off: float) -> Tolerance:
    side, _, panel, *rest = field.split(".")
    p = next(p for s in m.sides if s.name == side for p in s.panels if p.plate.name == panel)
    values = {"throw.radius": p.throw_radius, "rod": p.rod.length, "yoke_pin.out": p.yoke_out,
              "yoke_pin.below": p.yoke_below, "hinge.out": p.hinge_out, "hinge.up": p.hinge_up,
              "hinge.above": p.hinge_up}  # fmt: skip
    return Tolerance(field, values[".".join(rest)], off, "length")


def _plate_mass(m: Mechanism, side: str, panel: str) -> float:
    """Give the mass that a description may replace: without lumps."""
    plate = next(p.plate for s in m.sides if s.name == side for p in s.panels if p.plate.name == panel)
    return bare_plate(replace(plate, lumps=())).mass


def _slackened(sculpture: Sculpture, m: Mechanism, k: int, slack: float) -> dict[str, object]:
    """Give a stage with the links that it has and another slack, its centres following: bearings are set by hand."""
    fit = fit_of(m.stages[k - 1])
    own = cast("dict[str, object]", given(sculpture.source.document, f"stage.{k}"))
    kept = {name: value for name, value in own.items() if name not in {"centres", "links", "slack"}}
    return {**kept, **({"links": fit.links} if fit else {}), "slack": written(slack, "length")}


def both_sides(tolerance: Tolerance, closed: Linkage) -> list[Tolerance]:
    """Give a tolerance of a panel's linkage for each side, which are made one by one; any other as it is."""
    parts = tolerance.field.split(".")
    sided = parts[0] == "panel" and ".".join(parts[2:]) in _SIDED
    if not sided:
        return [tolerance]
    return [replace(tolerance, field=f"{side.side.name}.{tolerance.field}") for side in closed.sides]
