"""What a description can answer so far, and which fields the rest still needs."""

from collections.abc import Callable
from dataclasses import dataclass

from analysis import chain_fit, masses, motion
from analysis.finding import Finding
from models.cases import Case, cases
from models.loading import DescriptionError
from models.parts.families import makers
from models.resolve import Lacking, mechanism, plates, post, sides, stages
from models.sculpture import Sculpture
from sim.builders import Linkage, linkage
from sim.linkage import SideLinkage, close


@dataclass(frozen=True)
class Answer:
    """A question and what is known.

    Attributes
    ----------
    question : in words.
    findings : empty while it cannot be answered.
    lacking : the fields that it needs still.
    faults : lines that say what is wrong, such as a rod that cannot reach.
    """

    question: str
    findings: tuple[Finding, ...] = ()
    lacking: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()


def answers(sculpture: Sculpture) -> tuple[Answer, ...]:
    """Answer everything that needs no simulation, as far as the description goes."""
    return (
        _answer("does it flap as meant?", lambda: _motion(sculpture)),
        _answer("who can turn it, what happens on letting go, which loads?", lambda: _whole(sculpture)),
        _answer("do the chains fit?", lambda: _chains(sculpture)),
        _answer("how heavy is it?", lambda: _masses(sculpture)),
    )


def closed(sculpture: Sculpture) -> Linkage:
    """Close the loops of a whole sculpture; raises what `mechanism` and `linkage` raise."""
    return linkage(mechanism(sculpture), sculpture.source.label)


def ready(sculpture: Sculpture) -> dict[str, Case]:
    """Give the load cases of a sculpture that can be simulated.

    Raises
    ------
    DescriptionError
        When the description lacks something, a case or a catalogue is wrong or a linkage does not close: all at once.
    """
    faults: list[str] = []
    named: dict[str, Case] = {}
    try:
        named = cases(sculpture)
    except DescriptionError as error:
        faults += error.lines
    checks: tuple[Callable[[Sculpture], object], ...] = (closed, makers)
    for checked in checks:
        try:
            checked(sculpture)
        except DescriptionError as error:
            faults += error.lines
    if faults:
        raise DescriptionError(faults)
    return named


def _answer(question: str, answer: Callable[[], list[Finding]]) -> Answer:
    try:
        return Answer(question, tuple(answer()))
    except Lacking as error:
        return Answer(question, lacking=error.fields)
    except DescriptionError as error:
        return Answer(question, faults=error.lines)


def _motion(sculpture: Sculpture) -> list[Finding]:
    found: tuple[SideLinkage, ...] = tuple(close(side, sculpture.source.label) for side in sides(sculpture))
    limit = sculpture.rod_ends.swivel if sculpture.rod_ends else None
    return motion.of_sides(found, limit if limit is not None else motion.STANDARD_SWIVEL)


def _whole(sculpture: Sculpture) -> list[Finding]:
    cases(sculpture)
    closed(sculpture)
    return []


def _chains(sculpture: Sculpture) -> list[Finding]:
    if not sculpture.stage:
        return []
    return chain_fit.of_stages(stages(sculpture), post(sculpture))


def _masses(sculpture: Sculpture) -> list[Finding]:
    try:
        return masses.of_linkage(closed(sculpture))
    except DescriptionError:
        return masses.of_plates(plates(sculpture))
