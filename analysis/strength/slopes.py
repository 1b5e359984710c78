"""How far a shaft may lean in its bearings and bend between them."""

from analysis.strength.endurance import Factor
from models.bearing_kinds import BearingKind

_BEND = "general machine parts: Mott, Machine Elements in Mechanical Design, table 20-1 (memory)"
BEND = (
    Factor("deflection over span, good", 0.0005, _BEND),
    Factor("deflection over span, at most", 0.003, _BEND),
)
"""Sideways deflection of a shaft between its bearings as a share of their distance."""


def bush_slope(clearance: float, length: float) -> float:
    """Give the slope, rad, at which a shaft touches both ends of a bush: its clearance over its length.

    Parameters
    ----------
    clearance : bore less shaft, on the diameter, m.
    length : of the bush, m.

    Raises
    ------
    ValueError
        If the clearance is negative or the length is not positive.
    """
    if not (clearance >= 0 and length > 0):
        raise ValueError(f"a bush {length} m long with {clearance} m of clearance allows no slope")
    return clearance / length


def allowed_slope(kind: BearingKind, clearance: float | None = None, length: float | None = None) -> Factor:
    """Give the slope between shaft and housing that a bearing allows, rad, with its source.

    Parameters
    ----------
    kind : of bearing.
    clearance, length : of a plain bush, m; not used for the others.

    Raises
    ------
    ValueError
        If a bush lacks one of them.
    """
    name = f"slope in a {kind.label}"
    if kind.allowed is not None:
        return Factor(name, kind.allowed, kind.source)
    if clearance is None or length is None:
        raise ValueError(f"the slope that a {kind.label} allows needs its clearance and its length")
    return Factor(name, bush_slope(clearance, length), "clearance over length")


def allowed_deflection(span: float) -> Factor:
    """Give the largest deflection between two bearings, m.

    Parameters
    ----------
    span : between them, m.
    """
    return Factor("sideways deflection", BEND[1].value * span, BEND[1].source)
