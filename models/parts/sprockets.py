"""What a sprocket leaves for its shaft, by teeth and chain: no catalogue, geometry."""

import math

HUB_OVER_BORE = 1.45
"""Diameter of the least hub over its bore: a keyway of an eighth of the bore and a tenth of it as wall, all round;
assumption, within a sixteenth of an inch of what plain-bore sprockets of half-inch pitch are sold with (memory)."""
CLEAR = 0.03 * 0.0254
"""What a hub stays clear of the link plates, m (ASME B29.1, memory)."""
SOURCE = "hub within the plates, p (cot(pi/N) - 1) - .03 in (ASME B29.1, memory), over 1.45 for key, wall (assumption)"


def largest_hub(teeth: int, pitch: float) -> float:
    """Give the largest hub diameter, m, that the chain's plates clear: p (cot(pi/N) - 1) less .03 in.

    Parameters
    ----------
    teeth : of the sprocket, 5 or more.
    pitch : of the chain, m.
    """
    return max(0.0, pitch * (1 / math.tan(math.pi / teeth) - 1) - CLEAR)


def largest_bore(teeth: int, pitch: float) -> float:
    """Give the largest bore, m, with a keyway of usual size and a wall over it.

    Parameters
    ----------
    teeth, pitch : as of `largest_hub`.
    """
    return largest_hub(teeth, pitch) / HUB_OVER_BORE


def root_diameter(teeth: int, pitch: float, roller: float) -> float:
    """Give the diameter at the bottom of the teeth, m: the pitch diameter less the roller's (ISO 606, memory).

    Parameters
    ----------
    teeth, pitch : as of `largest_hub`.
    roller : its diameter, m.
    """
    return pitch / math.sin(math.pi / teeth) - roller
