"""What a coupling makes of two shafts that miss each other: its limits, and the load on their ends.

All in one plane that holds both axes: displacements to one side, slopes and moments in the sense that turns the
shaft's axis, both shafts' alike. A coupling of no length of its own joins two ends; a double-cardan has two crosses,
between which its middle part leans.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from analysis.finding import Finding, Limit
from models.coupling_kinds import LENGTH_OVER_DIAMETER, CouplingKind, coupling_kinds
from models.drive import Coupling
from models.shown import shown
from sim.arrays import Array

ANGULAR = "angular misalignment"
PARALLEL = "parallel misalignment"
OWN = "limit of the description"
SUM = "shares of both limits added; makers' guidance, memory"
SMALL = "what its insert puts on the shafts is small, not judged: its sideways stiffness is not known"
FORCED = "the shafts are forced in line: judge them and their bearings by this load"
EVEN = 1e-9
"""Angle, rad, below which a shaft that runs ahead of the other does so by rounding."""
PHASED = "with the inner forks in one plane and both shafts in one"


@dataclass(frozen=True)
class Misaligned:
    """How the second shaft's end lies to the first's before they are joined.

    Attributes
    ----------
    angular : slope of the second less that of the first, rad.
    parallel : place of the second less that of the first, m; for a double-cardan those of the two crosses.
    """

    angular: float
    parallel: float


@dataclass(frozen=True)
class Verdict:
    """What a kind of coupling makes of a misalignment.

    Attributes
    ----------
    kind : as a description names it.
    label : in words.
    share : of its limits that is used, 1 being all; None for a clamp, which has none.
    force, moment : largest on a shaft's end, N and N m; None where it is not known.
    variation : of the speed that it passes on, highest less lowest over the mean.
    ahead : largest angle, rad, by which it lets one shaft run ahead of the other within a turn.
    reversing : whether it is meant for a drive that reverses often.
    note : where all that comes from, in words.
    """

    kind: str
    label: str
    share: float | None
    force: float | None
    moment: float | None
    variation: float
    ahead: float
    reversing: bool
    note: str

    @property
    def fits(self) -> bool | None:
        """Whether it stands the misalignment; None for a clamp, where the shafts have to."""
        return None if self.share is None else self.share <= 1


def verdicts(
    coupling: Coupling,
    off: Misaligned,
    ends: tuple[Array, Array],
    torque: float,
    gives: tuple[float, float] | None = None,
) -> tuple[Verdict, ...]:
    """Give the verdict on a description's coupling, and after it on the other kinds in its place.

    Parameters
    ----------
    coupling : of the description, whose own limits count for its own kind.
    off : how far the shafts miss each other.
    ends : flexibilities (2, 2) of both shafts' ends, what a force, N, and a moment, N m, there move them, m and rad.
    torque : largest through the coupling, N m.
    gives : lateral and angular stiffness, N/m and N m/rad, of a spider's insert, where they are known.
    """
    first = allowed(coupling)
    length = coupling.length or LENGTH_OVER_DIAMETER * coupling.diameter
    kinds = (first, *(k for k in coupling_kinds().values() if k.name != coupling.kind))
    found: list[Verdict] = []
    for kind in kinds:
        match kind.name:
            case "clamp":
                found.append(clamped(kind, off, ends))
            case "elastic":
                found.append(spider(kind, off, ends, gives))
            case _:
                found.append(double_cardan(kind, off, length, torque))
    return tuple(found)


def allowed(coupling: Coupling) -> CouplingKind:
    """Give the kind of a settled coupling with the limits that its description settles."""
    kind = coupling_kinds()[coupling.kind]
    return replace(kind, angular=coupling.angular, parallel=coupling.parallel)


def joining(off: Misaligned, ends: tuple[Array, Array], own: Array | None = None) -> Array:
    """Give what joins two misaligned ends: force, N, and moment, N m, (2,) on the first end, the reverse on the second.

    The first end is moved by S1 f and the second by -S2 f from where it was; a coupling of flexibility S gives by S f:
    u = (S1 + S2 + S) f (compatibility of linear ends, mechanics).

    Parameters
    ----------
    off : u, the second end's place and slope less the first's.
    ends : S1, S2 (2, 2) symmetric flexibilities, rows place and slope, columns force and moment.
    own : S (2, 2) of the coupling; none for a rigid one.

    Raises
    ------
    ValueError
        Where nothing gives, so that no load brings the ends together.
    """
    total = ends[0] + ends[1] + (np.zeros((2, 2)) if own is None else own)
    # A force times its way is of one unit with a moment times its turn: freed of units, the rank means something.
    scale = np.sqrt(np.abs(np.diag(total)))
    if not np.all(scale > 0) or np.linalg.cond(total / np.outer(scale, scale)) > 1e12:
        raise ValueError(
            "neither shaft's end gives; give flexibilities of which at least one is above nothing"
        )
    found: Array = np.linalg.solve(total, np.array([off.parallel, off.angular])).astype(np.float64)
    return found


def clamped(kind: CouplingKind, off: Misaligned, ends: tuple[Array, Array]) -> Verdict:
    """Give the verdict on a rigid clamp: no limit of its own, and the load with which it forces the shafts in line."""
    load = joining(off, ends)
    force, moment = (float(abs(x)) for x in load)
    words = f"{FORCED}; where the misalignment stands still it bends both shafts to and fro once a turn"
    return Verdict(kind.name, kind.label, None, force, moment, 0.0, 0.0, kind.reversing, words)


def spider(
    kind: CouplingKind,
    off: Misaligned,
    ends: tuple[Array, Array],
    gives: tuple[float, float] | None = None,
) -> Verdict:
    """Give the verdict on an elastomer insert: the shares of both its limits added, and its load where it is known."""
    shares = (_share(off.angular, kind.angular), _share(off.parallel, kind.parallel or 0.0))
    force = moment = None
    load = SMALL
    if gives is not None:
        force, moment = (float(abs(x)) for x in joining(off, ends, np.diag(1 / np.array(gives))))
        load = "the load is that of its own stiffness in row with both shafts' ends"
    return Verdict(kind.name, kind.label, sum(shares), force, moment, 0.0, 0.0, kind.reversing,
                   f"{SUM}; {load}; {kind.sources['reversing']}")  # fmt: skip


def double_cardan(kind: CouplingKind, off: Misaligned, length: float, torque: float) -> Verdict:
    """Give the verdict on two universal joints in a row.

    With its middle part leaning by g = asin(parallel / length), the joints turn by g and angular - g. At a torque T
    into the first shaft each joint bends its shaft with a secondary couple that comes and goes twice a turn: up to
    T tan(g) on the first, T |sin(angular - g)| / cos(g) on the second; and a force across, T |sin(angular)| /
    (length cos(angular - g)), up to which the couples on the middle part differ a quarter turn later. Each follows
    from a cross's passing a couple square to both its pins only (statics; see the tests).

    Parameters
    ----------
    kind : with its limits.
    off : how far the crosses miss each other.
    length : between the two crosses, m.
    torque : N m.
    """
    lean = off.parallel / length
    if abs(lean) >= 1:
        words = f"offset beyond the length between its crosses, {shown(length, 'length')}"
        return Verdict(kind.name, kind.label, math.inf, None, None, math.inf, math.inf, kind.reversing, words)
    first, second = joint_angles(off, length)
    # An offset's limit counts as the lean that it stands for: where it follows from the joints' it is the same one.
    most = math.asin(min(1.0, kind.offset(length) / length))
    shares = (_share(max(abs(first), abs(second)), kind.angular), _share(first, most))
    size = abs(torque)
    moment = size * max(math.tan(abs(first)), math.sin(abs(second)) / math.cos(first))
    force = size * abs(math.sin(off.angular)) / (length * math.cos(second))
    variation, ahead = unevenness(first, second)
    even = "its joints turn by the same angle and it runs smoothly" if ahead < EVEN else (
        f"its joints turn by {shown(abs(first), 'angle')} and {shown(abs(second), 'angle')}, so that one shaft runs "
        f"ahead by up to {shown(ahead, 'angle')} twice a turn")  # fmt: skip
    words = f"{even}, {PHASED}; force and moment are not at their largest at once"
    return Verdict(kind.name, kind.label, max(shares), force, moment, variation, ahead, kind.reversing, words)


def _share(value: float, most: float) -> float:
    """Give the share of a limit that a value uses; infinite where nothing is allowed and something is there."""
    return abs(value) / most if most else (math.inf if value else 0.0)


def joint_angles(off: Misaligned, length: float) -> tuple[float, float]:
    """Give the angles, rad, by which the axis turns at the first and at the second joint; their sum is `angular`.

    Parameters
    ----------
    off : with a parallel misalignment below the length.
    length : between the two crosses, m.
    """
    lean = math.asin(off.parallel / length)
    return lean, off.angular - lean


def unevenness(first: float, second: float = 0.0) -> tuple[float, float]:
    """Give how uneven one or two universal joints run: variation of speed, and the largest angle ahead, rad.

    tan(out) = c tan(in) with c = cos(first) / cos(second) where the inner forks lie in one plane: the speed out over
    that in goes from c to 1 / c, and the angle ahead is at most asin(|1 - c| / (1 + c)) (a single joint's relation
    tan(out) = cos(b) tan(in), read; applied twice).

    Parameters
    ----------
    first, second : angles of the joints, rad; a single one has no second.
    """
    c = math.cos(first) / math.cos(second)
    return abs(1 / c - c), math.asin(abs(1 - c) / (1 + c))


def findings(
    coupling: Coupling, off: Misaligned, where: str, case: str, crank: float | None = None, source: str = ""
) -> list[Finding]:
    """Give a coupling's angular and parallel misalignment against the limits of its description.

    Parameters
    ----------
    coupling : as settled.
    off : how far the shafts miss each other.
    where, case, crank, source : of the findings.
    """
    angle, offset = abs(off.angular), abs(off.parallel)
    notes = ("", "")
    limits: tuple[Limit | None, Limit | None] = (None, None)
    if coupling.kind == "clamp":
        notes = (FORCED, FORCED)
    else:
        limits = _limits(coupling)
    if coupling.length is not None:
        notes = ("angle of the joint that turns further", "between its crosses")
        inside = offset < coupling.length
        angle = max(abs(x) for x in joint_angles(off, coupling.length)) if inside else math.inf
    return [
        Finding(ANGULAR, angle, "angle", where, case, None, crank, limits[0], source, notes[0]),
        Finding(PARALLEL, offset, "length", where, case, None, crank, limits[1], source, notes[1]),
    ]


def _limits(coupling: Coupling) -> tuple[Limit, Limit]:
    """Give what a coupling allows, with the source where it is what its kind is taken to allow."""
    kind = coupling_kinds()[coupling.kind]
    usual = kind.sources["angular"] if coupling.angular == kind.angular else OWN
    # Of a double-cardan the offset follows from its length, which the description may leave open too.
    other = kind.sources.get("parallel", OWN) if coupling.parallel == kind.parallel else OWN
    return Limit(coupling.angular, "most", usual), Limit(coupling.parallel, "most", other)
