"""Many runs at once, in processes of their own; what is recorded already is not computed again."""

import contextlib
import multiprocessing
import multiprocessing.connection
import os
import signal
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from models.sculpture import Sculpture
from sim.scenarios import Scenario
from sim.simulate import record, workers

T = TypeVar("T")
R = TypeVar("R")
STARTING = threading.Lock()
"""Held while processes start. Who ends this process takes it first: left half-started, one would show a traceback."""


@dataclass(frozen=True)
class Job:
    """A run to be made; the fields are those of `sim.simulate.record`."""

    sculpture: Sculpture
    scenario: Scenario
    runs: Path
    check: bool = True
    method: str = "engine"


def record_many(jobs: Sequence[Job], done: Callable[[int], None] | None = None) -> list[Path]:
    """Record jobs on all cores and give their files, in the order of the jobs; raises as `together` does.

    Parameters
    ----------
    jobs : what to run.
    done : told how many are finished, after each.
    """
    return together(_one, jobs, done)


def together(
    function: Callable[[T], R], members: Sequence[T], done: Callable[[int], None] | None = None
) -> list[R]:
    """Do the same with many things on all cores and give what comes of them, in their order.

    Parameters
    ----------
    function : of a module, since each process finds it there.
    members : what it is done with.
    done : told how many are finished, after each.

    Raises
    ------
    Exception
        What the first failing one raised.
    KeyboardInterrupt, ChildProcessError
        When interrupted, or when a worker was ended from outside; finished runs stay, unfinished ones leave
        nothing under their final names.
    """
    if len(members) <= 1 or workers() == 1:
        found: list[R] = []
        for member in members:
            found.append(function(member))
            if done is not None:
                done(len(found))
        return found
    # Fresh processes: the engine's library is never forked half-way through something.
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(workers(), mp_context=context, initializer=_quiet)
    try:
        with STARTING:
            futures = [pool.submit(function, member) for member in members]
        for count, future in enumerate(as_completed(futures), 1):
            future.result()
            if done is not None:
                done(count)
        return [f.result() for f in futures]
    except BrokenProcessPool:
        raise ChildProcessError(
            "a worker process was ended from outside, perhaps for lack of memory"
        ) from None
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def _one(job: Job) -> Path:
    return record(job.sculpture, job.scenario, method=job.method, runs=job.runs, check=job.check)


def _leave(number: int, frame: object) -> None:
    del number, frame
    os._exit(130)


def _quiet() -> None:
    """Leave at once and without words when the user interrupts or the parent process is gone."""
    with contextlib.suppress(ValueError):
        signal.signal(signal.SIGINT, _leave)
    threading.Thread(target=_outlive_nobody, daemon=True).start()


def _outlive_nobody() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        multiprocessing.connection.wait([parent.sentinel])
        os._exit(130)
