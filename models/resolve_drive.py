"""The drive, settled: wheel, stages, their shafts, limiter and couplings."""

import math
from dataclasses import replace

from models.coupling_kinds import LENGTH_OVER_DIAMETER, coupling_kinds
from models.drive import Coupling, DriveShaft, Limiter, Stage, Tensioner, Wheel
from models.parts.chains import overlength
from models.sculpture_drive import Shaft as ShaftTable
from models.sculpture_drive import Stage as StageTable
from models.settling import ASSUMED, Settling

HALF_INCH = 0.0127
"""Pitch of the chain that all chain defaults are known for, m."""
RIGIDITY = 955e3
"""Force over elastic stretch per length, E A, N, of that chain: 1.05 mm/m per kN."""
PLANES_APART = 0.04
"""Distance of neighbouring chain planes, m."""


def post_radius(s: Settling) -> float:
    """Outside radius of the post, m; 100 mm where there is none, as for a stand's frame."""
    return s.sculpture.post.outside / 2 if s.sculpture.post else 0.1


def shaft_diameter(s: Settling) -> float:
    """Diameter of the crankshaft's bar, which every shaft of the drive has unless it says otherwise, m."""
    crank = s.sculpture.crank
    return s.take(crank.shaft if crank else None, "crank.shaft", "25.4 mm", "length")


def wheel(s: Settling) -> Wheel:
    """Settle the wheel or handle."""
    w = s.sculpture.wheel
    if w is None:
        s.lacking.append("wheel")
        none = DriveShaft((0.0, 1.0), 1.0)
        return Wheel("disc", 1, 1, 0, 1, 0, 1, 0, 0, 1, 0, none, None)
    stock = s.stock(w.material, "wheel.material", "A36 steel")
    height = s.take(w.height, "wheel.height", "900 mm", "length")
    hub_mass = s.take(w.hub.mass if w.hub else None, "wheel.hub.mass", "0 kg", "mass")
    hub_diameter = s.take(w.hub.diameter if w.hub else None, "wheel.hub.diameter", "100 mm", "length")
    if s.sculpture.stage:
        out = s.number(w.out, "wheel.out", -(post_radius(s) + 0.12), "length",
                       "120 mm beyond the post on its right; assumption")  # fmt: skip
    else:
        out = s.take(w.out, "wheel.out", "0 mm", "length", "on the crankshaft; assumption")
    shaft = _wheel_shaft(s, w.shaft)
    bolts = (w.hub.bolts or 0, w.hub.circle or 0.0) if w.hub else (0, 0.0)
    if w.kind == "disc":
        diameter = s.need(w.diameter, "wheel.diameter", 1.0)
        thickness = s.need(w.thickness, "wheel.thickness", 0.01)
        bar = w.rim.bar if w.rim else 0.0
        return Wheel("disc", diameter / 2, thickness, bar, stock.density, hub_mass, hub_diameter,
                     0.0, 0.0, height, out, shaft, w.slip, *bolts)  # fmt: skip
    radius = s.need(w.radius, "wheel.radius", 0.2)
    grip = s.take(w.grip.mass if w.grip else None, "wheel.grip.mass", "0.5 kg", "mass")
    flat = stock.density * 0.04 * 0.008 * radius
    arm = s.number(w.arm.mass if w.arm else None, "wheel.arm.mass", flat, "mass",
                   "a flat bar of 40 by 8 mm; assumption")  # fmt: skip
    return Wheel("handle", radius, 0.0, 0.0, stock.density, hub_mass, hub_diameter, arm, grip, height,
                 out, shaft, w.slip, *bolts)  # fmt: skip


def _wheel_shaft(s: Settling, given: ShaftTable | None) -> DriveShaft:
    """Settle what the wheel turns on; without a stage that is the crankshafts', and a stand-in is given."""
    if s.sculpture.stage:
        return _shaft(s, given, "wheel.shaft")
    if given is not None:
        s.faults.append(
            "wheel.shaft: without a stage the wheel sits on the crankshafts; remove it, or write a [[stage]]"
        )
    r = post_radius(s)
    return DriveShaft((-r, r), shaft_diameter(s))


def _shaft(s: Settling, given: ShaftTable | None, name: str) -> DriveShaft:
    """Settle a shaft of the drive; as thick as the crankshafts and held on either side of the post."""
    diameter = s.number(given.diameter if given else None, f"{name}.diameter", shaft_diameter(s), "length",
                        "as the crankshaft; assumption")  # fmt: skip
    if given is not None and given.bearings is not None:
        return DriveShaft((given.bearings[0], given.bearings[1]), diameter)
    r = post_radius(s)
    source = "on either side of the post; assumption"
    first, second = (
        s.number(None, f"{name}.bearings.{k}", place, "length", source) for k, place in ((1, -r), (2, r))
    )
    return DriveShaft((first, second), diameter)


def stages(s: Settling) -> tuple[Stage, ...]:
    """Settle the stages."""
    count = len(s.sculpture.stage)
    return tuple(_stage(s, x, k, count) for k, x in enumerate(s.sculpture.stage, 1))


def _stage(s: Settling, x: StageTable, k: int, count: int) -> Stage:
    """Settle stage `k` of `count`."""
    at = f"stage.{k}"
    if x.kind is None:
        s.note(f"{at}.kind", "chain")
    kind = x.kind or "chain"
    chain = kind == "chain"
    usual = "ASME B29.1 No. 40, half-inch pitch" if chain else "as sprockets of half-inch pitch; assumption"
    pitch = s.take(x.pitch, f"{at}.pitch", "12.7 mm", "length", usual)
    # Single-strand teeth are a little narrower than the chain inside: .284 in for half-inch pitch.
    width = s.number(x.width, f"{at}.width", 0.57 * pitch, "length", "ASME B29.1, .57 pitch; memory")
    if chain and x.chordal is None:
        s.note(f"{at}.chordal", "false")
    centres, slack = _centres_and_slack(s, x, at, pitch) if chain else (x.centres, None)
    rigidity, damping, weight = _strand(s, x, at, pitch) if chain else (0.0, 0.0, 0.0)
    holes, adjustment, over = _as_made(s, x, at, pitch) if chain else (0.0, 0.0, 0.0)
    return Stage(
        kind=kind,
        driver=x.teeth[0],
        driven=x.teeth[1],
        pitch=pitch,
        width=width,
        centres=centres,
        links=x.links,
        slack=slack,
        sideways=x.sideways,
        tight=x.tight or 0.0,
        tensioner=_tensioner(s, x, at),
        rigidity=rigidity,
        damping=damping,
        weight=weight,
        efficiency=s.number(x.efficiency, f"{at}.efficiency", 0.98, "ratio",
                            "between 95 and 99 %, makers and textbooks, read"),
        chordal=bool(x.chordal),
        out=s.number(x.out, f"{at}.out", (k - (count + 1) / 2) * PLANES_APART, "length",
                     "planes 40 mm apart about the post's axis; assumption"),
        shaft=_shaft(s, x.shaft, f"{at}.shaft"),
        slips=(x.slips.driver, x.slips.driven) if x.slips else (None, None),
        holes=holes,
        adjustment=adjustment,
        overlength=over,
    )  # fmt: skip


def _centres_and_slack(
    s: Settling, x: StageTable, at: str, pitch: float
) -> tuple[float | None, float | None]:
    """Give a chain's centres and slack as far as they are given or needed: centres, or links and what they
    leave over.
    """  # noqa: D205
    if x.centres is not None:
        return x.centres, x.slack
    if x.links is not None and x.tensioner is not None:
        # A tensioner takes up whatever the links leave: they fix no distance.
        return s.need(None, f"{at}.centres", 40 * pitch), None
    if x.links is not None:
        left_over = any(v is not None for v in (x.slack, x.sideways, x.tight))
        # Links alone reach round both sprockets at one distance: any other default might not fit.
        return None, x.slack if left_over else s.take(None, f"{at}.slack", "0 mm", "length")
    # Pitch circles of n teeth have a radius of about n / (2 pi) pitches; large ones need more than 40.
    apart = max(40.0, math.ceil(1.2 * sum(x.teeth) / (2 * math.pi)))
    source = "40 pitches or clear of each other; textbook advice 30 to 50 pitches; memory"
    return s.number(None, f"{at}.centres", apart * pitch, "length", source), x.slack


def _strand(s: Settling, x: StageTable, at: str, pitch: float) -> tuple[float, float, float]:
    """Give a chain's force over elongation per length, N, damping, s/m, and mass per length, kg/m."""
    scale = (pitch / HALF_INCH) ** 2
    scaled = "" if scale == 1 else ", scaled from half-inch pitch with the pitch squared"
    return (
        s.number(x.rigidity, f"{at}.rigidity", RIGIDITY * scale, "force",
                 f"1.05 mm/m per kN, a calculator after a maker's data (read, low authority){scaled}"),
        s.number(x.damping, f"{at}.damping", 5.0, "time_per_length",
                 "assumption; rebounds with three quarters of .1 m/s by Hunt and Crossley's law"),
        s.number(x.weight, f"{at}.weight", 0.62 * scale, "mass_per_length",
                 f"ASME B29.1 table, .61 to .64 kg/m at half-inch pitch, read{scaled}"),
    )  # fmt: skip


def _as_made(s: Settling, x: StageTable, at: str, pitch: float) -> tuple[float, float, float]:
    """Give how far the centres may be off and how far they can be moved, m, and a new chain's share over nominal."""
    over, source = overlength(pitch)
    return (
        s.take(x.holes, f"{at}.holes", "0.5 mm", "length", "holes marked out and drilled; assumption"),
        s.take(x.adjustment, f"{at}.adjustment", "0 mm", "length", "fixed centres; assumption"),
        s.number(x.overlength, f"{at}.overlength", over, "ratio", source),
    )


def _tensioner(s: Settling, x: StageTable, at: str) -> Tensioner | None:
    """Settle the sprung idler of a stage, if it has one."""
    t = x.tensioner
    if t is None:
        return None
    return Tensioner(
        t.force, t.rate, t.travel, s.take(t.lean, f"{at}.tensioner.lean", "30 deg", "angle", ASSUMED)
    )


def limiter(s: Settling) -> Limiter | None:
    """Settle the torque limiter, if there is one."""
    given = s.sculpture.limiter
    return None if given is None else Limiter(given.place, given.torque)


def coupling(s: Settling) -> Coupling:
    """Settle what joins a crankshaft to the centre shaft."""
    at = "crank.coupling"
    c = s.sculpture.crank.coupling if s.sculpture.crank else None
    kind = (c.kind if c else None) or "clamp"
    if c is None or c.kind is None:
        s.note(f"{at}.kind", kind)
    mass = s.take(c.mass if c else None, f"{at}.mass", "0 kg", "mass")
    diameter = s.take(c.diameter if c else None, f"{at}.diameter", "50 mm", "length")
    service = s.number(c.service if c else None, f"{at}.service", 5.0, "ratio",
                       "for sudden reversal; makers' guidance, read")  # fmt: skip
    length, rated = None, c.rated if c else None
    if kind == "double-cardan":
        length = s.number(c.length if c else None, f"{at}.length", LENGTH_OVER_DIAMETER * diameter, "length",
                          "twice the diameter; assumption")  # fmt: skip
    known = coupling_kinds()[kind]
    angular = s.number(
        c.angular if c else None, f"{at}.angular", known.angular, "angle", known.sources["angular"]
    )
    # An angle of its own turns a double-cardan's offset too.
    own = replace(known, angular=angular).offset(length)
    parallel = s.number(c.parallel if c else None, f"{at}.parallel", own, "length",
                        known.sources.get("parallel", "length between the crosses times the sine of each joint's angle")
                        )  # fmt: skip
    allowed = (angular, parallel, length)
    if c is None or c.stiffness is None:
        return Coupling(kind, mass, diameter, None, 0.0, 0.0, rated, service, *allowed)
    damping = s.number(c.damping, f"{at}.damping", 2e-3 * c.stiffness, "torsional_damping",
                       "2 ms times the stiffness; assumption")  # fmt: skip
    backlash = s.number(c.backlash, f"{at}.backlash", known.backlash, "angle", known.sources["backlash"])
    return Coupling(kind, mass, diameter, c.stiffness, damping, backlash, rated, service, *allowed)
