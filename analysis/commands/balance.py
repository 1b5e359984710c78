"""The command that finds counterweights."""

from pathlib import Path
from typing import TYPE_CHECKING

from analysis.commands import options
from analysis.commands.options import Changes, Json, SignedOrNone, Strict
from analysis.commands.telling import CAUTION, print_json, verdict
from models.loading import DescriptionError, load
from models.shown import shown

if TYPE_CHECKING:
    from analysis.balance import Balance, Limit
    from analysis.finding import Finding
    from models.mechanism import Mechanism

BOUNDS = {
    "--most-mass": ("mass", 0.0, 100.0, "write a mass from 0 kg to 100 kg"),
    "--most-radius": ("length", 1e-3, 10.0, "write a length between 1 mm and 10 m"),
    "--place": ("length", -100.0, 100.0, "write a length between -100 m and 100 m"),
}
"""Of each option: its dimension, least and largest value and what to write instead."""


def balance(
    file: Path,
    /,
    *,
    most_mass: SignedOrNone = None,
    most_radius: SignedOrNone = None,
    place: SignedOrNone = None,
    set_: Changes = None,
    json_: Json = False,
    strict: Strict = False,
) -> int:
    """Find the counterweight that leaves the least peak torque at the wheel.

    Parameters
    ----------
    file
        The description.
    most_mass
        Largest counterweight per crankshaft, by default "10 kg".
    most_radius
        Largest radius of its centre; by default that of the described counterweights, else that of the largest throw.
    place
        Its place along the shaft, out from the post; by default where the described ones are, else midway between the
        main bearings.
    set_
        Use another value: wheel.diameter="600 mm". May be repeated.
    json_
        Print all of it as JSON.
    strict
        Leave with 1 when the counterweight found runs into another part.
    """
    from analysis.balance import balance as found_for
    from analysis.balance import clearing
    from analysis.questions import closed, ready

    sculpture = load(file, options.changes(set_))
    ready(sculpture)
    linkage = closed(sculpture)
    found = found_for(linkage, _limit(linkage.mechanism, most_mass, most_radius, place))
    near = clearing(sculpture, found.choices[-1])
    if json_:
        print_json({**found.table(), "clearances": [f.table() for f in near]})
    else:
        print("\n".join(_lines(found, near)))
    return verdict(near, strict)


def _limit(m: "Mechanism", mass: str | None, radius: str | None, place: str | None) -> "Limit":
    """Read the options, all of them at once."""
    from analysis.balance import limits

    faults: list[str] = []
    read: dict[str, float | None] = {}
    for option, text in zip(BOUNDS, (mass, radius, place), strict=True):
        try:
            dimension, low, high, instead = BOUNDS[option]
            read[option] = options.bounded(text, option, dimension, (low, high), instead)
        except DescriptionError as error:
            faults += error.lines
    given, (near, far) = read.get("--place"), m.sides[0].crank.ends
    if given is not None and not near <= given <= far:
        faults.append(
            f"--place: {1000 * given:.0f} mm is not on the crankshaft; "
            f"write a place from {1000 * near:.0f} mm to {1000 * far:.0f} mm"
        )
    if faults:
        raise DescriptionError(faults)
    return limits(m, read["--most-mass"], read["--most-radius"], given)


def _lines(found: "Balance", near: "tuple[Finding, ...]") -> list[str]:
    from analysis.balance import bearing_table, choice_table, description, step_table
    from analysis.summary.layout import columns, wrapped

    limit = found.limit
    loads = bearing_table(found)
    written = description(found.choices[-1])
    said = [
        f"{found.sculpture}: counterweights against the wings' weight, the same on every crankshaft",
        *columns(choice_table(found)),
        *wrapped(
            f"limits: {shown(limit.mass, 'mass')} ({limit.mass_source}) at a radius of {shown(limit.radius, 'length')} "
            f"({limit.radius_source}), {shown(limit.out, 'length')} out ({limit.out_source})"
        ),
        *wrapped(
            f"no counterweight removes {shown(found.least, 'torque')} of peak torque; what leaves no more, of any "
            f"size, has a mass times radius of {found.least_moment:.3g} kg m"
        ),
    ]
    if found.cancelling:
        said += wrapped(
            "the two sides are keyed so that equal counterweights undo each other: none takes anything off the hand"
        )
    if found.drifting > 0:
        said += wrapped(
            f"the wheel's own unbalance comes round at any crank angle, as it makes no whole number of turns for one "
            f"of the crank: its {shown(found.drifting, 'torque')} are in every peak as a bound"
        )
    elif found.grip == "grip":
        said += wrapped("the handle's own weight is in every peak, at its own angle")
    said += ["", "What each further kilogram buys, at that radius", *columns(step_table(found))]
    if len(loads) > 1:
        said += [
            "",
            f"What they add to the bearings, turned at {shown(found.wheel_speed, 'angular_speed')} of the wheel "
            "(an adult's comfortable hand speed; assumption)",
            *columns(loads),
        ]
    if found.further:
        said += wrapped("shared between the two main bearings alone: one between them takes some of it")
    said += ["", "To write in, in place of those described:", *written.splitlines()] if written else [
        "", "Nothing to write in: without counterweights the peak is least within these limits"
    ]  # fmt: skip
    if written:
        said += ["", "How near it comes, taken for a steel ball, the least it can take up"]
        said += [line for f in near for line in wrapped(f.line())] or wrapped(
            "to nothing within 100 mm (3.94 in)"
        )
    said += [
        *wrapped(
            "torques hold the piece at rest without friction, which a hand has to overcome beside them, and with "
            "drives that do not give; gaps that close on people, and all else, are for wingwright study, after it is "
            "written in"
        ),
        CAUTION,
    ]
    return said
