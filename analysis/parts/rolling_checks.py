"""What is asked of a rolling bearing: life, safety at rest, slope and speed."""

from collections.abc import Sequence
from dataclasses import dataclass

from analysis.parts import rolling_life as life
from analysis.parts.choice import Check
from analysis.parts.journals import Turning
from models.bearing_kinds import bearing_kinds
from models.parts.rolling_bearings import RollingBearing
from models.shown import shown
from sim.arrays import Array

ALIGNING = "self-aligning ball"
ROLLERS = ("cylindrical roller", "tapered roller")
LIFE = "ISO 281, L10, p = {p:.3g}; cubic mean over a turn of the crank"
REST = "ISO 76, static equivalent load"
LIGHT = 0.01
"""Least load over dynamic rating of ball bearings (makers' guidance, memory)."""
LONGEST = 1e5
"""Hours beyond which a rated life says nothing: grease and seals are long gone (common practice, no source)."""
SAME = 1e-4
"""Share by which a bore may differ from the shaft and still be its size."""


@dataclass(frozen=True)
class Rest:
    """A load at rest: across and along the shaft, N, with its case and crank angle, rad, or None."""

    radial: float
    thrust: float
    case: str
    crank: float | None = None


@dataclass(frozen=True)
class Loaded:
    """What a bearing carries.

    Attributes
    ----------
    turning : turns in ordinary use, the worst counts; `wheel` N, of it and a clamp, come on top across the shaft.
    rest : the worst load over all cases but blocked panels.
    bound : the upper bound with a panel blocked, which chooses as well, or None.
    shaft : its diameter, m.
    slope : of that shaft in it, rad, and its case, or None.
    turns : over the wished years.
    speed : highest, rad/s.
    straight : whether the shaft is a straight bar, and not a crankshaft.
    """

    turning: tuple[Turning, ...]
    rest: Rest
    bound: Rest | None
    shaft: float
    slope: tuple[float, str] | None
    turns: float
    speed: float
    straight: bool = True
    wheel: float = 0.0

    def leaning(self, bore: float) -> tuple[float, str] | None:
        """Give the slope in a bearing of a bore, m: a straight shaft as thick as that leans less, as d^-4."""
        if self.slope is None or not self.straight:
            return self.slope
        return self.slope[0] * (self.shaft / bore) ** 4, self.slope[1]


def exponent(kind: str) -> float:
    """Give ISO 281's exponent of a kind of bearing."""
    return life.ROLLER if kind in ROLLERS else life.BALL


def mean_load(loaded: Loaded, row: RollingBearing) -> tuple[float, str]:
    """Give the steady load that wears a bearing as a turn in ordinary use does, N, and the case it comes from."""
    found = [
        (
            life.cubic_mean(_dynamic(row, t.radial + loaded.wheel, t.thrust), t.turned, exponent(row.kind)),
            t.case,
        )
        for t in loaded.turning
    ]
    return max(found)


def _dynamic(row: RollingBearing, radial: Array, thrust: Array) -> Array:
    if row.kind in ROLLERS:
        return radial
    return (
        radial + life.ALIGNING[0] * thrust
        if row.kind == ALIGNING
        else life.equivalent(radial, thrust, row.static)
    )


def rest_load(row: RollingBearing, rest: Rest) -> float:
    """Give the equivalent load of a bearing at rest, N."""
    if row.kind in ROLLERS:
        return rest.radial
    if row.kind == ALIGNING:
        return rest.radial + life.ALIGNING[1] * rest.thrust
    return life.static_equivalent(rest.radial, rest.thrust)


def checks(shock: float, hours: float, loaded: Loaded, row: RollingBearing) -> tuple[Check, ...]:
    """Give everything that is asked of a bearing.

    Parameters
    ----------
    shock : factor on loads at rest.
    hours : of turning over the wished years.
    loaded : what it carries.
    row : its size.
    """
    p = exponent(row.kind)
    found: list[Check] = []
    if loaded.turning:
        load, case = mean_load(loaded, row)
        lasts = life.rating_life(row.dynamic, load, p) / loaded.turns * hours
        light = "; below 1 % balls may slide (makers' guidance, memory)" if load < LIGHT * row.dynamic else ""
        found.append(Check("dynamic rating for the wished life", life.needed_rating(load, loaded.turns, p), row.dynamic,
                           "force", case, f"{LIFE.format(p=p)}; {row.source}",
                           note=f"mean {shown(load, 'force')}, {100 * load / row.dynamic:.2g} % of the rating{light}; "
                           f"lasts {long(lasts)} hours of turning"))  # fmt: skip
    found.append(
        Check("static rating with shock", shock * rest_load(row, loaded.rest), row.static, "force", loaded.rest.case,
              f"{REST}; {row.source}", loaded.rest.crank, f"safety factor {shock:g} wanted")
    )  # fmt: skip
    if loaded.bound is not None:
        found.append(Check("static rating with a panel blocked", rest_load(row, loaded.bound), row.static, "force",
                           loaded.bound.case, f"{REST}, an upper bound, without shock; {row.source}"))  # fmt: skip
    kind, leaning = bearing_kinds()[row.kind], loaded.leaning(row.bore)
    if leaning is not None and kind.allowed is not None:
        value, case = leaning
        found.append(
            Check("slope of the shaft in it", value, kind.allowed, "angle", case, kind.source, note=kind.note)
        )
    if row.fastest is not None:
        found.append(
            Check(
                "speed", loaded.speed, row.fastest, "angular_speed", "in use and after letting go", row.source
            )
        )
    return tuple(found)


def long(hours: float) -> str:
    """Say how many hours, but no more than the formula is good for."""
    return f"more than {LONGEST:.0f}" if hours > LONGEST else f"{hours:.3g}"


def worse(*of: Sequence[Check]) -> tuple[Check, ...]:
    """Give of each check of several bearings that with the least margin."""
    best: dict[str, Check] = {}
    for found in of:
        for c in found:
            if c.what not in best or c.margin < best[c.what].margin:
                best[c.what] = c
    return tuple(best.values())


def of_shaft(
    rows: Sequence[RollingBearing], shaft: float, *, thicker: bool = False
) -> tuple[RollingBearing, ...]:
    """Give the rows, smallest first, that take a shaft of a diameter, m: of the next bore, or of thicker ones too."""
    taking = [r for r in rows if r.bore >= shaft * (1 - SAME)]
    least = min((r.bore for r in taking), default=None)
    return tuple(sorted((r for r in taking if thicker or r.bore == least), key=lambda r: (r.bore, r.dynamic)))
