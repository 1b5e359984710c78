"""What is compared from build to build: every finding of a brief study under a name that all builds share."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from analysis import bearing_loads, drive_line, handle
from analysis.finding import Finding, worst
from analysis.loads import BOUND
from analysis.study import Study

_SIDE = re.compile(r"\b(left|right) (?=\w)")
JOINTS = "all joints: largest force"
CHAINS = "all chains: largest pull of a strand"
COUPLINGS = "all couplings: largest torque"
CLEARANCE = "all parts: least clearance"
RIM = "wheel: peak rim or grip speed after letting go"
REST = "whole piece: time to rest"
START = "wheel: force that starts the wheel forward"
TURNED = "slow-turn"
HAND = f"wheel: largest hand force, {TURNED}"
KICK = f"wheel: largest force with which the wheel drives the hand, {TURNED}"
KEYS = {
    HAND: "hand, slow turn",
    KICK: "kick, slow turn",
    START: "to start",
    RIM: "rim, let go",
    REST: "to rest",
    JOINTS: "worst joint",
    CHAINS: "worst chain",
    COUPLINGS: "worst coupling",
    CLEARANCE: "least gap",
}
"""What a table on the screen and the figures show where a piece has it, and what they call it."""


@dataclass(frozen=True)
class Reading:
    """One thing found of a build.

    Attributes
    ----------
    name : the same in every build.
    value, dimension : SI.
    limit, side : what it must not exceed ("most") or fall below ("least"), or None and "".
    case : the part, with its side, and the load case that it comes from.
    """

    name: str
    value: float
    dimension: str
    limit: float | None
    side: str
    case: str

    @property
    def beyond(self) -> bool:
        """Whether the value is beyond its limit."""
        if self.limit is None:
            return False
        return not (self.value <= self.limit if self.side == "most" else self.value >= self.limit)


def readings(study: Study) -> tuple[Reading, ...]:
    """Give what was found of a build: a few over all parts first, then everything."""
    loads = study.envelope.loads
    bounds = {g.name for g in study.campaign.groups if g.case.kind == BOUND}
    met = [f for name, own in study.envelope.by_case.items() if name not in bounds for f in own]
    found: list[Reading] = []
    for name, what in (
        (JOINTS, bearing_loads.LARGEST),
        (CHAINS, bearing_loads.PULL),
        (COUPLINGS, drive_line.PEAK),
    ):
        own = [f for f in met if f.what == what]
        found += [_over(name, max(own, key=lambda f: f.value))] if own else []
    near = [f for f in study.clearances if f.dimension == "length" and f.what.startswith("least clearance")]
    found += [_over(CLEARANCE, min(near, key=lambda f: f.value))] if near else []
    for group in study.campaign.groups:
        if group.case.kind in ("turn", "crank"):
            hand = worst(f for run in group.runs for f in handle.findings(run))
            found += [replace(_reading(f), name=f"{_name(f)}, {group.name}") for f in hand]
    rest = (study.motion, study.clearances, study.start, study.reach, study.let_go, study.safety, loads, study.drive,
            study.whip, study.chains, study.paths, study.masses)  # fmt: skip
    found += [_reading(f) for part in rest for f in part]
    return _once(found)


def _name(f: Finding) -> str:
    """Name a finding without its side: which one is worse may change from build to build, and mirrored ones are one."""
    return f"{_SIDE.sub('', f.where)}: {f.what}"


def _reading(f: Finding) -> Reading:
    limit = (None, "") if f.limit is None else (f.limit.value, f.limit.side)
    return Reading(_name(f), float(f.value), f.dimension, *limit, f"{f.where}, {f.case}")


def _over(name: str, f: Finding) -> Reading:
    return replace(_reading(f), name=name)


def _once(found: Iterable[Reading]) -> tuple[Reading, ...]:
    """Keep of readings of one name the worse: beyond its limit, else the larger, or the smaller of what must not be."""
    kept: dict[str, Reading] = {}
    for r in found:
        before = kept.get(r.name)
        if before is None or (r.beyond, _badness(r)) > (before.beyond, _badness(before)):
            kept[r.name] = r
    return tuple(kept.values())


def _badness(r: Reading) -> float:
    return -r.value if r.side == "least" else r.value


def keys(found: Sequence[Sequence[Reading]]) -> list[str]:
    """Give the names of `KEYS` that any of several builds has, in their order."""
    names = {r.name for own in found for r in own}
    return [name for name in KEYS if name in names]
