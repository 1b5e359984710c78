"""Wind on the panels, with nobody at the wheel."""

from dataclasses import dataclass
from typing import ClassVar, final

from sim import names
from sim.arrays import Array
from sim.builders import Linkage, scene
from sim.mass import plate_mass
from sim.scenarios.base import Moving, falling
from sim.scene import Push, Rest, Scene
from sim.wind import PlateInWind, Wind, plate_in_wind


@dataclass(frozen=True)
class Blowing:
    """A panel's flow in the scene's terms: wrench about the centre of mass, from a turn since the start.

    Attributes
    ----------
    plate : the panel's cells about its centre of mass, in the panel's own axes, of its own side.
    start : (3, 3) panel's axes to the world's at the start.
    air : (3,) m/s.
    """

    plate: PlateInWind
    start: Array
    air: Array

    def wrench(
        self, rotation: Array, position: Array, velocity: Array, angular_velocity: Array
    ) -> tuple[Array, Array]:
        """Give force (3,), N, and moment (3,), N m, about the centre of mass, in world axes."""
        del position  # the air is the same all over a panel
        return self.plate.wrench(self.air, rotation @ self.start, velocity, angular_velocity)


@final
@dataclass(frozen=True)
class Gust(Moving):
    """A steady wind sets in while the piece stands and nobody holds the wheel.

    Attributes
    ----------
    wind, direction, slope, lee : speed, m/s, way, rad, rise, rad, and share in the lee, as of `sim.wind.Wind`.
    start : crank angle, rad.
    lasts : how long it is followed, s.
    """

    case: ClassVar[str] = "gust"
    wind: float
    direction: float
    start: float = 0.0
    lasts: float = 20.0
    slope: float = 0.0
    lee: float = 1.0

    @property
    def label(self) -> str:
        """The load case in words."""
        return f"gust of {self.air.words}, wheel free{self.rubbing}"

    @property
    def air(self) -> Wind:
        """The wind."""
        return Wind(self.wind, self.direction, self.slope, self.lee)

    def scene(self, closed: Linkage) -> Scene:
        """Build the scene with the wind on every panel."""
        made = scene(closed, self.start, 0.0, pushes=())
        bodies = {b.name: b for b in made.bodies}
        pushes: list[Push] = []
        for side in closed.sides:
            for panel in side.side.panels:
                plate = plate_in_wind(panel.plate).shifted(-plate_mass(panel.plate).com)
                plate = plate if side.side.sign > 0 else plate.mirrored()
                name = names.panel(side.side.name, panel.name)
                flow = Blowing(plate, bodies[name].rotation, self.air.on(side.side.sign))
                pushes.append(Push(names.wind(name), name, flow=flow))
        return scene(closed, self.start, 0.0, pushes=tuple(pushes), rest=Rest())

    def end(self, closed: Linkage) -> float:
        """Give how long it is followed, s."""
        del closed
        return self.lasts

    def fastest(self, closed: Linkage) -> float:
        """Give twice the speed that its own fall would give it."""
        return 2 * falling(closed, 0.0)
