"""The drive with every number settled: what the visitor turns, stages, shafts and couplings up to the crankshafts.

Lengths in metres, torques in N m. `out` is a place along y from the post's axis, positive to the left.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class DriveShaft:
    """A straight shaft on two bearings: their places along y from the post's axis, and its diameter."""

    bearings: tuple[float, float]
    diameter: float


@dataclass(frozen=True)
class Wheel:
    """What the visitor turns.

    Attributes
    ----------
    kind : "disc" or "handle".
    radius : of the rim or the grip's circle.
    thickness, bar, density : of the disc and its rim bar (0 where there is none).
    hub_mass, hub_diameter : of the hub.
    arm_mass, grip_mass : of a handle.
    height : of its axis above ground.
    out : its plane, along y from the post's axis.
    shaft : what it turns on; without a stage it sits on the crankshafts' own, and this one is not used.
    slip : torque at which its hub slips on the shaft, N m, or None.
    bolts, circle : of the hub: how many, and the diameter of the circle through them; 0 where none are described.
    """

    kind: str
    radius: float
    thickness: float
    bar: float
    density: float
    hub_mass: float
    hub_diameter: float
    arm_mass: float
    grip_mass: float
    height: float
    out: float
    shaft: DriveShaft
    slip: float | None
    bolts: int = 0
    circle: float = 0.0


@dataclass(frozen=True)
class Tensioner:
    """A sprung idler on the strand that is slack while the wheel drives forward.

    Attributes
    ----------
    force : with which it presses on the strand at rest, N.
    rate : of its spring, N/m.
    travel : that it can be pushed back before its stop, m.
    lean : angle of either half of the strand to the straight line, rad.
    """

    force: float
    rate: float
    travel: float
    lean: float


@dataclass(frozen=True)
class Stage:
    """A stage of the drive, driver at the wheel's end; centres, links and slack as far as given.

    Attributes
    ----------
    kind : "chain", or "direct" for an exact ratio that neither gives nor slackens.
    driver, driven : teeth.
    pitch, width : of the chain, and of the sprockets, which count as solid steel discs of pitch diameter.
    centres, links : distance of the axes, m, and number of links, or None.
    slack : excess chain length at fixed centres, m, or None.
    sideways : movement of a strand's middle to one side that it leaves, m, or None: another way to say it.
    tight : tension of both strands at rest, N, where the centres are set tight or an idler is locked; else 0.
    tensioner : a sprung idler, or None.
    rigidity : force over elongation per length of a strand, E A, N.
    damping : of the strand's law T = k d (1 + damping d'), s/m.
    weight : of the chain, kg/m.
    efficiency : share of the work that comes through.
    chordal : whether the pitch polygons' swing is computed.
    out : the chain's plane, along y from the post's axis.
    shaft : what the driven sprocket turns on.
    slips : torques at which the driver's and the driven sprocket's hub slip, N m, or None.
    holes : by how much the centre distance as made may miss the one given, either way, m.
    adjustment : by how much the shafts can be moved apart from there, m; 0 where the centres are fixed.
    overlength : share by which a new chain may be longer than nominal.
    """

    kind: str
    driver: int
    driven: int
    pitch: float
    width: float
    centres: float | None
    links: int | None
    slack: float | None
    sideways: float | None
    tight: float
    tensioner: Tensioner | None
    rigidity: float
    damping: float
    weight: float
    efficiency: float
    chordal: bool
    out: float
    shaft: DriveShaft
    slips: tuple[float | None, float | None]
    holes: float = 0.0005
    adjustment: float = 0.0
    overlength: float = 0.0016


@dataclass(frozen=True)
class Limiter:
    """A torque limiter: at the wheel's hub (0) or at the driven hub of a stage (1, 2, ...), slipping at N m."""

    at: int
    torque: float


@dataclass(frozen=True)
class Coupling:
    """What joins a crankshaft to the centre shaft, or to the wheel where there is no stage.

    Attributes
    ----------
    kind : "clamp" joins rigidly, "elastic" winds up, "double-cardan" is two universal joints in a row.
    mass, diameter : a solid disc.
    stiffness : torsional, N m/rad; None for what does not wind up: a clamp, and a double-cardan unless it is given.
    damping : N m s/rad.
    backlash : whole free angle, rad.
    rated : torque, N m, or None where no rating is given.
    service : factor by which the rating is divided for a drive that reverses.
    angular, parallel : misalignment that it allows, rad and m; of a double-cardan the angle of each joint, and the
        offset. None of a clamp.
    length : between the two crosses of a double-cardan, m, else None.
    """

    kind: str
    mass: float
    diameter: float
    stiffness: float | None
    damping: float
    backlash: float
    rated: float | None
    service: float
    angular: float
    parallel: float
    length: float | None
