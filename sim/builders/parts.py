"""Parts of a scene under construction."""

from dataclasses import dataclass

from sim.scene import Body, Drag, Joint, Ratio, Rotor


@dataclass(frozen=True)
class Parts:
    """Some of a scene's parts; they add up."""

    bodies: tuple[Body, ...] = ()
    joints: tuple[Joint, ...] = ()
    rotors: tuple[Rotor, ...] = ()
    ratios: tuple[Ratio, ...] = ()
    drags: tuple[Drag, ...] = ()

    def __add__(self, other: "Parts") -> "Parts":
        return Parts(
            self.bodies + other.bodies,
            self.joints + other.joints,
            self.rotors + other.rotors,
            self.ratios + other.ratios,
            self.drags + other.drags,
        )
