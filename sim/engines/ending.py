"""When a run may end before its time: all at rest, or something thrown off."""

from collections.abc import Callable

from sim.arrays import Array
from sim.engines.base import Stepping
from sim.engines.each_step import Machine, Updates


def rest_rule(model: Machine, updates: Updates, stepping: Stepping) -> Callable[[Array, Array], bool]:
    """Give a function of all coordinates and their rates that says whether the scene has come to rest."""
    rest = model.places.scene.rest
    if rest is None or not model.places.scene.drags:
        return lambda _, __: False
    angles = [at.place for at in model.places.angles.values()]
    needed = max(1, round(rest.hold / stepping.step))
    slow = 0

    def rested(place: Array, velocity: Array) -> bool:
        nonlocal slow
        # Most steps end at the first angle that moves.
        still = all(abs(velocity[k]) < rest.speed for k in angles)
        still = still and updates.sticking.stuck(place, velocity)
        slow = slow + 1 if still else 0
        return slow >= needed

    return rested


def until_rule(model: Machine) -> Callable[[Array], bool]:
    """Give a function of all coordinates' accelerations that says whether something has been thrown off."""
    until = model.places.scene.until
    if until is None:
        return lambda _: False
    first, up = model.places.placed[until.body].first, model.world[:, 2]
    before = False

    def over(acceleration: Array) -> bool:
        nonlocal before
        now = float(up @ acceleration[first : first + 3]) > until.most
        before, twice = now, now and before
        return twice

    return over
