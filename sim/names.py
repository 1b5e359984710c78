"""The names of bodies, joints and channels, made in one place so that builders and readers agree."""

WHEEL = "wheel"
WHEEL_BEARINGS = "wheel bearings"
WHEEL_SHAFT = "wheel shaft"
LIMITER = "torque limiter"
BLOCK = "block"
CENTRE = "centre shaft"
HAND = "hand"
WHEEL_DRAG = "wheel drag"


def crankshaft(side: str) -> str:
    """Name a side's crankshaft."""
    return f"{side} crankshaft"


def coupling(side: str) -> str:
    """Name what joins a side's crankshaft to the drive."""
    return f"{side} coupling"


def friction(side: str) -> str:
    """Name the friction of a side, as felt at its crankshaft."""
    return f"{side} friction"


def locating(side: str) -> str:
    """Name the crankshaft bearing that also holds it lengthwise."""
    return f"{side} locating bearing"


def radial(side: str) -> str:
    """Name the crankshaft bearing that lets it move lengthwise."""
    return f"{side} radial bearing"


def panel(side: str, name: str) -> str:
    """Name a panel's body."""
    return f"{side} {name} panel"


def rod(side: str, name: str) -> str:
    """Name a panel's rod."""
    return f"{side} {name} rod"


def hinge(side: str, name: str) -> str:
    """Name a panel's hinge."""
    return f"{side} {name} hinge"


def crank_eye(side: str, name: str) -> str:
    """Name the rod end on the crank pin."""
    return f"{side} {name} rod end at crank"


def yoke_eye(side: str, name: str) -> str:
    """Name the rod end at the panel's yoke."""
    return f"{side} {name} rod end at yoke"


def stage_shaft(number: int, count: int) -> str:
    """Name the shaft that a chain stage drives: the last one is the centre shaft."""
    return CENTRE if number == count else f"stage {number} shaft"


def driven_sprocket(number: int) -> str:
    """Name a stage's driven sprocket where a torque limiter parts it from its shaft."""
    return f"stage {number} driven sprocket"


def stage(number: int) -> str:
    """Name a chain stage."""
    return f"stage {number} chain"


def shaft_bearing(number: int, count: int, which: int) -> str:
    """Name a bearing of the shaft after a stage (0: the wheel's), the first on the right, the second on the left."""
    shaft = WHEEL_SHAFT if number == 0 else stage_shaft(number, count)
    return f"{shaft} {('right', 'left')[which]} bearing"


def shaft_friction(number: int, count: int) -> str:
    """Name the friction of the shaft that a stage drives."""
    return f"{stage_shaft(number, count)} friction"


def further(side: str, number: int) -> str:
    """Name a crankshaft's bearing beyond the two that hold a rigid shaft, counted from 3."""
    return f"{side} bearing {number}"


def wind(panel: str) -> str:
    """Name the wind on a panel's body."""
    return f"wind on {panel}"
