"""The command line. Each command's help is its docstring."""

import contextlib
import io
import sys
from collections.abc import Sequence
from importlib.metadata import version
from typing import Any, cast

from cyclopts import App, CycloptsError

from analysis.commands import (
    balance,
    compare,
    description,
    fit,
    parts,
    releases,
    runs,
    shafts,
    sheets,
    study,
    tolerance,
    wheels,
)
from analysis.commands.interrupting import INTERRUPTED, WORDS, leave_at_once
from analysis.commands.telling import CAUTION, complain
from models.loading import DescriptionError
from models.units import DescriptionFault
from sim.run import RunFileError

app = App(
    name="wingwright",
    help="Says before steel is cut how a hand-cranked flapping sculpture moves, feels, lets go and loads its "
    f"parts.\n\n{CAUTION}",
    version=lambda: version("wingwright"),
    help_format="plaintext",
)
for command in (
    description.new,
    description.check,
    description.cases,
    runs.simulate,
    wheels.wheels,
    balance.balance,
    compare.compare,
    fit.fit,
    study.study,
    shafts.shafts,
    parts.parts,
    parts.catalogue,
    sheets.sheets,
    releases.release_map,
    tolerance.tolerance,
    runs.findings,
):
    app.command(command)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit code: 0, 1 (beyond a limit, --strict) or 2 (bad input)."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal of few letters shows the others as escapes instead of failing.
            stream.reconfigure(errors="backslashreplace")
    leave_at_once(lambda line: complain([line]))
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and give its exit code."""
    try:
        tokens = sys.argv[1:] if arguments is None else list(arguments)
        code = cast("Any", app)(tokens, exit_on_error=False, print_error=False, result_action="return_value")
        sys.stdout.flush()  # here, where it is caught when the reader has gone
        return code if isinstance(code, int) else 0
    except DescriptionError as error:
        complain(error.lines)
    except (RunFileError, DescriptionFault) as error:
        complain([str(error)])
    except CycloptsError as error:
        complain([" ".join(str(error).split()) + " See wingwright --help."])
    except KeyboardInterrupt:
        complain([WORDS])
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of the output has gone; there is nobody left to tell.
        with contextlib.suppress(OSError):
            sys.stdout.close()
        return 0
    except ChildProcessError as error:
        complain([f"{error}; finished runs are kept, call again to go on"])
    except OSError as error:
        complain([f"{error.filename or 'a file'}: {error.strerror or error}; check the place and its rights"])
    return 2
