"""Parts of a scene under construction."""

from dataclasses import dataclass, fields

from sim.elastic import Bush, Flexible
from sim.friction import Drag, Station
from sim.scene import Body, Joint, Rotor
from sim.transmission import Limiter, Ratio, Strands, Twist


@dataclass(frozen=True)
class Parts:
    """Some of a scene's parts; they add up."""

    bodies: tuple[Body, ...] = ()
    joints: tuple[Joint, ...] = ()
    rotors: tuple[Rotor, ...] = ()
    ratios: tuple[Ratio, ...] = ()
    strands: tuple[Strands, ...] = ()
    twists: tuple[Twist, ...] = ()
    limiters: tuple[Limiter, ...] = ()
    drags: tuple[Drag, ...] = ()
    stations: tuple[Station, ...] = ()
    flexibles: tuple[Flexible, ...] = ()
    bushes: tuple[Bush, ...] = ()

    def __add__(self, other: "Parts") -> "Parts":
        return Parts(*(getattr(self, f.name) + getattr(other, f.name) for f in fields(self)))
