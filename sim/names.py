"""The names of bodies, joints and channels, made in one place so that builders and readers agree."""

WHEEL = "wheel"
WHEEL_BEARINGS = "wheel bearings"
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


def stage(number: int) -> str:
    """Name a chain stage."""
    return f"stage {number} chain"
