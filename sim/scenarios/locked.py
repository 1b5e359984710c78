"""The wheel is locked: wind, and a push against a blocked panel or crank."""

from dataclasses import dataclass
from typing import ClassVar, final

import numpy as np

from models.people import people
from sim import names, standing
from sim.arrays import Array
from sim.blocked import blocked, drive_at_stall
from sim.builders import Linkage
from sim.run import Channel
from sim.scenarios.base import Standing
from sim.wind import static_pushes, winds_around

POSES = 72


@final
@dataclass(frozen=True)
class GustLocked(Standing):
    """A wind from every side at every pose, the wheel locked.

    Attributes
    ----------
    wind : speed, m/s.
    directions : how many, evenly around.
    slope, lee : rise and fall, rad, and least share in the lee, as of `sim.wind.winds_around`.
    """

    case: ClassVar[str] = "gust-locked"
    wind: float
    directions: int = 16
    slope: float = 0.0
    lee: float = 1.0

    @property
    def label(self) -> str:
        """The load case in words."""
        return f"gust of {self.wind:.3g} m/s from {self.directions} directions, wheel locked"

    def channels(self, closed: Linkage) -> dict[str, Channel]:
        """Give the forces at every pose and direction."""
        around = winds_around(self.wind, self.directions, self.slope, self.lee)
        winds = [wind for winds in around for wind in winds]
        poses = np.linspace(0, 2 * np.pi, POSES, endpoint=False)
        crank = np.tile(poses, len(winds))
        pushes: dict[str, dict[str, tuple[Array, Array]]] = {}
        for side in closed.sides:
            parts = [static_pushes(side, poses, wind) for wind in winds]
            pushes[side.side.name] = {
                panel: (
                    np.concatenate([p[panel][0] for p in parts]),
                    np.concatenate([p[panel][1] for p in parts]),
                )
                for panel in parts[0]
            }
        found = standing.channels(closed, standing.stand(closed, crank, pushes))
        words = "direction toward which the wind blows, from forward to the left"
        ways = np.repeat([w.direction for w in winds], POSES)
        rises = np.repeat([w.slope for w in winds], POSES)
        shares = np.repeat([w.lee for w in winds], POSES)
        return {
            **found,
            "wind/all/direction": Channel(ways, "rad", words),
            "wind/all/slope": Channel(rises, "rad", "angle by which the wind rises"),
            "wind/all/lee": Channel(shares, "1", "share of the wind that reaches the far side"),
        }


@final
@dataclass(frozen=True)
class Blocked(Standing):
    """Every panel in turn is blocked at its worst pose, and the crank, while somebody pushes the wheel.

    Only the blocked panel's rod gives, so the forces are upper bounds; weights are not counted.

    Attributes
    ----------
    person : who pushes.
    """

    case: ClassVar[str] = "blocked"
    person: str

    @property
    def label(self) -> str:
        """The load case in words."""
        return f"a panel or crank blocked, {people()[self.person].label} pushes the wheel"

    def channels(self, closed: Linkage) -> dict[str, Channel]:
        """Give the forces with each panel blocked, one entry a panel, and what the drive carries in all of them."""
        m = closed.mechanism
        push = people()[self.person].push * m.wheel.radius
        stall = drive_at_stall(m, push)
        entries: list[tuple[float, dict[str, Array]]] = []
        for side in closed.sides:
            torque = stall.torques[names.coupling(side.side.name)]
            for found in blocked(side, torque).values():
                mirror = standing.SIDE if side.side.sign < 0 else 1.0
                entries.append((found.crank, {j: f * mirror for j, f in found.forces.items()}))
        crank = np.array([c for c, _ in entries])
        n = len(crank)
        made = {
            f"angles/{names.crankshaft(s.side.name)}/angle": Channel(
                crank, "rad", f"angle of {s.side.name} crankshaft"
            )
            for s in closed.sides
        }
        for joint in dict.fromkeys(j for _, forces in entries for j in forces):
            force = np.array([forces.get(joint, np.zeros(3)) for _, forces in entries])
            made[f"joints/{joint}/force"] = Channel(force, "N", f"force on {joint}", "world")
        for name, torque in stall.torques.items():
            if name != names.WHEEL:
                made[f"torques/{name}/torque"] = Channel(np.full(n, torque), "N m", f"torque of {name}")
        for name, tension in stall.tensions.items():
            made[f"chains/{name}/tension a"] = Channel(
                np.full(n, tension), "N", f"tension of {name}'s strand a"
            )
            made[f"chains/{name}/tension b"] = Channel(np.zeros(n), "N", f"tension of {name}'s strand b")
        made[f"torques/{names.HAND}/torque"] = Channel(np.full(n, push), "N m", "torque of the hand")
        return made
