"""A recorded run: what went in, what came out, how far to trust it."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sim.arrays import Array


class RunFileError(Exception):
    """A file that is not a run, in one line: what is wrong and what to do."""


@dataclass(frozen=True)
class Channel:
    """A quantity over time.

    Attributes
    ----------
    values : (n,) or (n, 3) in world axes or (n, 4) quaternion, scalar first.
    unit : SI.
    long_name : in words.
    frame : "world", or "1" for what has no direction.
    """

    values: Array
    unit: str
    long_name: str
    frame: str = "1"

    @property
    def size(self) -> Array:
        """The values, or the length of each vector: (n,)."""
        return self.values if self.values.ndim == 1 else np.linalg.norm(self.values, axis=1)


@dataclass(frozen=True)
class Extreme:
    """The largest or smallest value of a channel.

    Attributes
    ----------
    channel : its name.
    kind : "largest" (length of a vector), "max" or "min".
    value : in the channel's unit.
    vector : (3,) world components of a vector's largest, else zeros.
    time, crank : when, s, and at which crank angle, rad.
    """

    channel: str
    kind: str
    value: float
    vector: tuple[float, float, float]
    time: float
    crank: float


@dataclass(frozen=True)
class Peak:
    """A peak found with three steps.

    Attributes
    ----------
    channel, kind : as in `Extreme`.
    values : with step h, h/2 and h/4.
    """

    channel: str
    kind: str
    values: tuple[float, float, float]

    @property
    def moved(self) -> float:
        """Largest relative change between the steps."""
        size = max(abs(v) for v in self.values)
        return 0.0 if size == 0 else (max(self.values) - min(self.values)) / size

    @property
    def order(self) -> float:
        """Order of convergence that the three values show: log2 of the ratio of their differences.

        NaN where the differences are lost in rounding.
        """
        a, b, c = self.values
        first, second = abs(a - b), abs(b - c)
        noise = 1e-9 * max(abs(a), abs(b), abs(c))
        return float(np.log2(first / second)) if min(first, second) > noise else float("nan")


@dataclass(frozen=True)
class Run:
    """A recorded run.

    Attributes
    ----------
    id : first 12 hex digits of the SHA-256 of everything that decides the result.
    sculpture : its name.
    case, label : the load case's kind, and in words.
    scenario, settings, versions : what went in, as recorded.
    description : the settled description as canonical JSON in SI units.
    text : the description as written.
    status, reason : "finished", or "failed" and why.
    rested : whether the piece came to rest before the end.
    time : (n,) s.
    channels : by name, such as "joints/left inner hinge/force".
    extrema : of every channel.
    peaks : the halving check of the peaks that findings rest on; empty when it was not asked for.
    """

    id: str
    sculpture: str
    case: str
    label: str
    scenario: Mapping[str, object]
    settings: Mapping[str, object]
    versions: Mapping[str, str]
    description: str
    text: str
    status: str
    reason: str
    rested: bool
    time: Array
    channels: Mapping[str, Channel]
    extrema: tuple[Extreme, ...]
    peaks: tuple[Peak, ...]

    def __getitem__(self, name: str) -> Array:
        """Give the values of a channel."""
        return self.channels[name].values

    def extreme(self, channel: str, kind: str) -> Extreme:
        """Find an extreme of a channel.

        Raises
        ------
        KeyError
            When the run has none such.
        """
        for e in self.extrema:
            if e.channel == channel and e.kind == kind:
                return e
        raise KeyError(f"run {self.id} has no {kind} of '{channel}'")

    def names(self, group: str) -> list[str]:
        """Name the members of a group of channels, such as "joints", in the order recorded."""
        found = [c.split("/")[1] for c in self.channels if c.startswith(f"{group}/")]
        return list(dict.fromkeys(found))

    @property
    def restless(self) -> tuple[Peak, ...]:
        """The peaks that move by more than 1 % between the steps, worst first."""
        return tuple(sorted((p for p in self.peaks if p.moved > 0.01), key=lambda p: -p.moved))


def extrema(channels: Mapping[str, Channel], time: Array, crank: Array) -> tuple[Extreme, ...]:
    """Find the extrema of every channel over all recorded steps.

    Parameters
    ----------
    channels : by name.
    time, crank : (n,) s and rad.
    """
    found: list[Extreme] = []
    for name, channel in channels.items():
        values = channel.values
        if values.ndim == 2 and values.shape[1] == 4:
            continue  # the size of a unit quaternion says nothing
        vectors = values.ndim == 2
        kinds = (("largest", int(np.argmax(channel.size))),) if vectors else (
            ("max", int(np.argmax(values))), ("min", int(np.argmin(values)))
        )  # fmt: skip
        for kind, k in kinds:
            x, y, z = (float(v) for v in values[k]) if vectors else (0.0, 0.0, 0.0)
            found.append(
                Extreme(name, kind, float(channel.size[k]), (x, y, z), float(time[k]), float(crank[k]))
            )
    return tuple(found)
