"""Parallel keys, metric and square inch ones, by the diameters of the shafts they belong to."""

from dataclasses import dataclass

from models.parts.catalogue import Column, Family


@dataclass(frozen=True)
class Key:
    """A section of parallel key.

    Attributes
    ----------
    size, system, source : as of all families.
    above, upto : it belongs to shafts thicker than the one and not thicker than the other, m.
    width, height : m.
    shaft_depth, hub_depth : of the keyways, m; of inch keys half the height each.
    shortest, longest : lengths in which it comes, m; None where it is cut from bar.
    """

    size: str
    system: str
    source: str
    above: float
    upto: float
    width: float
    height: float
    shaft_depth: float
    hub_depth: float
    shortest: float | None
    longest: float | None

    @property
    def side(self) -> float:
        """The least depth in which a side of the key bears on its hub, m: what stands out of the shaft."""
        return min(self.height - self.shaft_depth, self.shaft_depth)


KEYS = Family(
    "keys",
    Key,
    {
        "above": Column("length"),
        "upto": Column("length"),
        "width": Column("length"),
        "height": Column("length"),
        "shaft_depth": Column("length"),
        "hub_depth": Column("length"),
        "shortest": Column("length", open=True),
        "longest": Column("length", open=True),
    },
    order="width",
)


def for_shaft(keys: tuple[Key, ...], diameter: float) -> Key | None:
    """Give the key of a shaft, or None where the table has none.

    Parameters
    ----------
    keys : of one system.
    diameter : of the shaft, m.
    """
    # A thousandth of a millimetre: 22 mm as an inch shaft is written may come out a bit above 22 mm.
    return next((k for k in keys if k.above + 1e-6 < diameter <= k.upto + 1e-6), None)
