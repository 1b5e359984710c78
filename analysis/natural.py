"""The natural frequencies of a sculpture, side by side: drive line, strands, shafts sideways, post."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from analysis.excitation import CRANK, GUSTS, WHEEL, shaft_turn, tooth
from models.mechanism import Mechanism, Side
from sim import names
from sim.builders import Linkage
from sim.vibration.drive_line import DriveModes, drive_modes
from sim.vibration.post import sway
from sim.vibration.shafts import Shaft, crankshaft_frequencies, shafts
from sim.vibration.strand import strands

Kind = Literal["torsion", "strand", "lateral", "sway"]
TORSIONAL = 4
"""Elastic modes of the drive line that are told: what excites them hardly reaches beyond."""
SWEPT = 0.2
"""Share by which a frequency changes over the turn from which no speed stays with it."""
TWO_PI = 2 * np.pi


@dataclass(frozen=True)
class Natural:
    """A natural frequency.

    Attributes
    ----------
    name : what swings.
    kind : how.
    least, mean, greatest : rad/s; alike where it is one number. A strand's mean is at its tensions' geometric mean.
    excited : names of the excitations that act on it.
    source : how it was found.
    note : what else to know.
    """

    name: str
    kind: Kind
    least: float
    mean: float
    greatest: float
    excited: tuple[str, ...]
    source: str
    note: str

    @property
    def swept(self) -> bool:
        """Whether it changes so much over each turn that no speed stays with it."""
        return self.kind in ("torsion", "strand") and self.greatest > (1 + SWEPT) * self.least

    @property
    def hertz(self) -> str:
        """It in words, with its range."""
        if self.greatest - self.least < 0.01 * self.mean:
            return f"{hertz(self.mean)} Hz"
        return f"{hertz(self.mean)} Hz, {hertz(self.least)} to {hertz(self.greatest)}"


def hertz(frequency: float) -> str:
    """Say a frequency, rad/s, in cycles a second, to three digits or the whole part."""
    found = frequency / TWO_PI
    return f"{found:.3g}" if found < 1000 else f"{found:.0f}"


def naturals(
    closed: Linkage, tensions: Mapping[int, tuple[float, float]] | None = None
) -> tuple[Natural, ...]:
    """Give what can swing, the drive line's slowest modes first.

    Parameters
    ----------
    closed : the sculpture.
    tensions : by stage, the least and the greatest tension of a strand in use, N; see `sim.vibration.strand`.
    """
    m = closed.mechanism
    found = [*_torsion(closed, drive_modes(closed)), *_strands(closed, dict(tensions or {}))]
    found += [_lateral(m, shaft) for shaft in shafts(closed)]
    found += [_crankshaft(side) for side in m.sides]
    swaying = sway(closed)
    if swaying is not None:
        found.append(
            Natural("post", "sway", swaying, swaying, swaying, (WHEEL, *CRANK, GUSTS),
                    "cantilever tube of steel with the moving masses, beam elements",
                    "ground, foot plate and anchors give, and lower it: the structural engineer's matter")
        )  # fmt: skip
    return tuple(found)


def _torsion(closed: Linkage, found: DriveModes) -> list[Natural]:
    m = closed.mechanism
    teeth = tuple(tooth(k) for k, s in enumerate(m.stages, 1) if s.kind == "chain")
    elastic = found.modes.elastic
    rows: list[Natural] = []
    for k in range(min(TORSIONAL, len(elastic))):
        most = _moves_most(found, k)
        rows.append(
            Natural(f"drive line, mode {k + 1}", "torsion", float(found.least[k]), float(elastic[k]),
                    float(found.greatest[k]), (WHEEL, *CRANK, *teeth),
                    "rotors and torsional springs, undamped, wings at their mean inertia; range over the turn",
                    f"moves most at the {most}" + ("; holds while a strand is taut" if teeth else ""))
        )  # fmt: skip
    return rows


def _moves_most(found: DriveModes, mode: int) -> str:
    """Name the rotor whose angle, referred to the crank, is the largest."""
    angles = {
        name: abs(x)
        for path in found.built.paths
        for name, x in zip(path, found.referred(mode, path), strict=True)
    }
    return max(angles, key=lambda name: angles[name])


def _strands(closed: Linkage, tensions: dict[int, tuple[float, float]]) -> list[Natural]:
    rows: list[Natural] = []
    for s in strands(closed, tensions):
        low, high = s.frequency(s.least), s.frequency(s.greatest)
        rows.append(
            Natural(f"strands of the {names.stage(s.number)}", "strand", low, float(np.sqrt(low * high)), high,
                    (WHEEL, *CRANK, tooth(s.number), GUSTS),
                    "string, n / 2 L sqrt(T / mu), from a slack strand's own weight to the greatest tension",
                    f"{s.length:.3g} m free, {s.least:.3g} to {s.greatest:.3g} N")
        )  # fmt: skip
    return rows


def _lateral(m: Mechanism, shaft: Shaft) -> Natural:
    low, high = shaft.least, shaft.highest
    turning = [shaft_turn(m, shaft.after)]
    # The chains of the stage before and of the one behind run on its sprockets.
    beside = (shaft.after, shaft.after + 1)
    teeth = [tooth(k) for k in beside if 1 <= k <= len(m.stages) and m.stages[k - 1].kind == "chain"]
    return Natural(
        f"{shaft.name}, sideways", "lateral", low, low, low,
        tuple(dict.fromkeys((*turning, *(CRANK if shaft.wings else ()), *teeth))),
        "straight bar on its bearings, beam elements, gyroscopic moments left out (cautious)",
        f"at most: built-up throws bend more; with the wings on them, alone {hertz(high)} Hz" if shaft.wings else "",
    )  # fmt: skip


def _crankshaft(side: Side) -> Natural:
    low, alone = crankshaft_frequencies(side)
    return Natural(
        f"{names.crankshaft(side.name)}, sideways", "lateral", low, low, low, CRANK,
        "frame of bars, webs and pins on its bearings, bending and twisting at once, gyroscopic moments left out",
        f"with the wings hung on its throws; alone {hertz(alone)} Hz",
    )  # fmt: skip
