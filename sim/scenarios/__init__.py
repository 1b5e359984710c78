"""What is done to the sculpture: a new scenario is one file here and its class in `SCENARIOS`."""

from sim.scenarios.base import Moving, Scenario, Standing, inertia_at_wheel
from sim.scenarios.broken import Broken
from sim.scenarios.crank import Crank
from sim.scenarios.gust import Gust
from sim.scenarios.hand_on import Grab, HoldOn
from sim.scenarios.hang import HangFree, HangHeld
from sim.scenarios.jam import Jam
from sim.scenarios.let_go import LetGo
from sim.scenarios.lifted import Lifted
from sim.scenarios.locked import Blocked, GustLocked
from sim.scenarios.stop import Stop
from sim.scenarios.turn import Turn

__all__ = [
    "SCENARIOS",
    "Blocked",
    "Broken",
    "Crank",
    "Grab",
    "Gust",
    "GustLocked",
    "HangFree",
    "HangHeld",
    "HoldOn",
    "Jam",
    "LetGo",
    "Lifted",
    "Moving",
    "Scenario",
    "Standing",
    "Stop",
    "Turn",
    "inertia_at_wheel",
]

SCENARIOS: dict[str, type[Scenario]] = {
    s.case: s
    for s in (
        Turn, Crank, LetGo, HoldOn, Grab, Stop, Gust, GustLocked, HangHeld, HangFree, Jam, Blocked, Broken, Lifted,
    )
}  # fmt: skip
