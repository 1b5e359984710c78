"""The keyways, settled, and the phase of the sides that follows from them."""

from models.keyways import Keyways
from models.settling import Settling


def keyways(s: Settling) -> Keyways | None:
    """Settle the keyways, if they are given."""
    k = s.sculpture.keyways
    if k is None:
        return None
    measured = s.take(k.measured, "keyways.measured", "0.5 deg", "angle",
                      "assumption; .1 mm at the rim of a one-inch shaft")  # fmt: skip
    return Keyways(k.left, k.right, None if k.centre is None else (k.centre[0], k.centre[1]), measured)


def key_angles(s: Settling) -> tuple[float, float]:
    """Give the angles, rad, by which the left and the right crank are ahead of the crank angle.

    Where the centre shaft's keyways are measured, the crank angle is the left crank's, and the right one is ahead by
    what the keyways say. Else it is what each side's `key_angle` says, none unless given.
    """
    keys = keyways(s)
    lead = None if keys is None else keys.lead
    if lead is not None:
        return 0.0, lead
    left, right = ((d.key_angle or 0.0) if d else 0.0 for d in (s.sculpture.left, s.sculpture.right))
    return left, right
