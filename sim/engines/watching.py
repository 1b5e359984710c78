"""What happens before and after each step of an engine: updates, records, progress, an early end, an interrupt."""

from sim.engines.base import Progress, Stepping, Trace
from sim.engines.each_step import Machine, Updates
from sim.engines.ending import rest_rule, until_rule
from sim.engines.tracing import Rows, traced


class Watch:
    """Follows an engine's steps; its two functions are those that the engine calls.

    Attributes
    ----------
    rows : what was recorded.
    updates : what is set anew at each step.
    stopped : what was raised in here, which the engine would swallow or wrap in an error of its own; or None.
    """

    def __init__(self, machine: Machine, stepping: Stepping, progress: Progress | None) -> None:
        self.machine, self.stepping, self.progress = machine, stepping, progress
        self.rows = Rows()
        self.updates = Updates(machine)
        self.stopped: BaseException | None = None
        self._every = max(1, stepping.steps // 200)
        self._rested, self._over = rest_rule(machine, self.updates, stepping), until_rule(machine)
        self._at_rest = False
        # The rule takes the mean of a step's two ends, so the first torques are there before the solver starts.
        self._held = self.updates.begin()
        self._begun = False

    def before(self, mbs: object, time: float) -> bool:
        """Set what holds over the step that ends at a time, s."""
        del mbs
        try:
            # The first step's torques are set already; friction follows the first accelerations' forces.
            self._held = self.updates.each(time, self._held if not self._begun else None)
            self._begun = True
        except BaseException as error:
            self.stopped = error
        return True

    def after(self, mbs: object, time: float) -> bool:
        """Record the step that ended at a time, s, and say whether to go on."""
        del mbs
        if self.stopped is not None:
            return False
        try:
            place, velocity = self.machine.state()
            second = self.machine.accelerations()
            rubs = self.updates.sticking.torques(place, velocity)  # a step that fails is begun again
            self.rows.add(time, place, velocity, second, self.machine.multipliers(), self._held, rubs)
            if self.progress is not None and self.rows.count % self._every == 0:
                self.progress(min(1.0, time / self.stepping.end))
            self._at_rest = self._rested(place, velocity)
            return not (self._at_rest or self._over(second))
        except BaseException as error:
            self.stopped = error
            return False

    def trace(self) -> Trace | None:
        """Give what was recorded, or None where nothing was."""
        if not self.rows.count:
            return None
        return traced(self.machine.places, self.machine.world, self.rows, self._at_rest)
