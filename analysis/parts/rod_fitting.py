"""How a rod is cut and set between its two rod ends: engaged thread, cut length and adjustment."""

from dataclasses import dataclass

from models.parts.rod_ends import RodEnd
from models.parts.threads import Thread
from models.rod_making import RodMaking

NUT = 0.5
"""Height of a thin nut in diameters of its thread: ISO 4035 (memory)."""
SPARE = 2
"""Pitches of thread beyond what is used, for the tap's or the die's lead: common practice, no source."""


@dataclass(frozen=True)
class Fitting:
    """A rod with two alike rod ends, one of them with a left-hand thread.

    Attributes
    ----------
    length : eye to eye, m.
    reach : from an eye's middle to the end of its shank, m.
    thread : of the shank.
    least, most : length of engaged thread at each end, m.
    cut : length of thread to tap into the rod's end, or to cut on it, m.
    """

    length: float
    reach: float
    thread: Thread
    least: float
    most: float
    cut: float

    @property
    def holds(self) -> bool:
        """Whether there is thread enough for any setting at all."""
        return self.most >= self.least

    @property
    def engaged(self) -> float:
        """Engaged thread at each end as it is cut, m: halfway between least and most."""
        return (self.least + self.most) / 2

    @property
    def bar(self) -> float:
        """Length to cut the bar to, m."""
        return self.length - 2 * (self.reach - self.engaged)

    @property
    def each_way(self) -> float:
        """How far the distance of the eyes can be set either way, both ends together, m."""
        return max(0.0, self.most - self.least)

    @property
    def per_turn(self) -> float:
        """How far one turn of the rod sets the eyes apart, m: both ends screw out by a pitch."""
        return 2 * self.thread.pitch


def fitting(row: RodEnd, made: RodMaking, length: float) -> Fitting | None:
    """Fit a size of rod end to a rod; None where that size has no such shank.

    Parameters
    ----------
    row : the size.
    made : how rods are made.
    length : eye to eye, m.
    """
    screw = row.screw
    least, nut, spare = made.engagement * screw.diameter, NUT * screw.diameter, SPARE * screw.pitch
    if made.ends == "tapped":
        # A nut on the shank keeps it from turning and needs its height of thread.
        most = row.thread_length - nut
        return Fitting(length, row.length, screw, least, most, most + spare)
    if row.female_length is None or row.female_depth is None:
        return None
    return Fitting(length, row.female_length, screw, least, row.female_depth, row.female_depth + nut + spare)
