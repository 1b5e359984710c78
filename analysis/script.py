"""Makes an analysis a script: `python -m analysis.bearing_loads RUN...`."""

import contextlib
import sys
from collections.abc import Callable

from analysis.finding import Finding
from sim.run import Run, RunFileError


def script(analyse: Callable[[Run], list[Finding]], words: str | None) -> None:
    """Print the findings of the runs named on the command line; leave with 2 when one cannot be read."""
    from sim.store import open_run  # the file format's library is slow to load

    files = sys.argv[1:]
    if not files or files[0] in {"-h", "--help"}:
        print((words or "").strip() or "Give one or more recorded runs.")
        print(f"\nUsage: python {sys.argv[0].rsplit('/', 1)[-1]} RUN...")
        raise SystemExit(0 if files else 2)
    file = ""
    try:
        for file in files:
            run = open_run(file)
            print(f"{run.sculpture}, {run.label}:")
            for finding in analyse(run):
                print("  " + finding.line() + (f" [{finding.note}]" if finding.note else ""))
        sys.stdout.flush()  # here, where it is caught when the reader has gone
    except RunFileError as error:
        print(error, file=sys.stderr)
        raise SystemExit(2) from None
    except KeyError as error:
        # A run that failed at its first step has no channels.
        print(f"{file}: this run has not recorded {error}; simulate it again", file=sys.stderr)
        raise SystemExit(2) from None
    except BrokenPipeError:
        # The reader of the output has gone; there is nobody left to tell.
        with contextlib.suppress(OSError):
            sys.stdout.close()
