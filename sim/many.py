"""Many things at once, in processes of their own; what is recorded already is not computed again."""

import contextlib
import multiprocessing
import multiprocessing.connection
import os
import signal
import threading
from collections.abc import Callable, Generator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar, final

from models.sculpture import Sculpture
from sim.scenarios import Scenario
from sim.simulate import record, workers

T = TypeVar("T")
R = TypeVar("R")
STARTING = threading.Lock()
"""Held while processes start. Who ends this process takes it first: left half-started, one would show a traceback."""
LOST = "a worker process was ended from outside, perhaps for lack of memory"


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
    found: dict[int, R] = {}
    # Closed here and now: left to the garbage collector, the workers would outlast what is raised.
    with contextlib.closing(each(function, members)) as results:
        for number, result in results:
            if isinstance(result, ChildProcessError):
                raise result
            found[number] = result
            if done is not None:
                done(len(found))
    return [found[number] for number in range(len(members))]


def each(
    function: Callable[[T], R], members: Sequence[T], pool: Executor | None = None
) -> Generator[tuple[int, R | ChildProcessError]]:
    """Do the same with many things at once and give what comes of each as it finishes, with its number.

    Parameters
    ----------
    function : of a module, since each process finds it there.
    members : what it is done with.
    pool : where; by default processes of this machine, one a core, or this process where one is enough.

    Yields
    ------
    The member's number, and what came of it; a ChildProcessError where its worker was ended from outside, which loses
    nothing but that member.

    Raises
    ------
    Exception
        What the first failing one raised.
    """
    if pool is None and (len(members) <= 1 or workers() == 1):
        yield from enumerate(map(function, members))
        return
    used = Workers(workers()) if pool is None else pool
    try:
        numbers = {used.submit(function, member): number for number, member in enumerate(members)}
        for future in as_completed(numbers):
            try:
                yield numbers[future], future.result()
            except ChildProcessError as error:
                yield numbers[future], error
    finally:
        used.shutdown(wait=False, cancel_futures=True)


@final
class Workers(Executor):
    """Processes that do not share their fate: one that is ended from outside is replaced and takes only its own task.

    A process pool of the standard library is broken as a whole by the first worker that ends, so each process here is
    a pool of one, fed by a thread.
    """

    def __init__(self, count: int) -> None:
        self._threads = ThreadPoolExecutor(count)
        self._own = threading.local()
        self._pools: list[ProcessPoolExecutor] = []

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Give the future of a call; a lost worker's raises ChildProcessError."""
        return self._threads.submit(self._called, fn, *args, **kwargs)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Take no more; wait for what is under way, or not."""
        self._threads.shutdown(wait=wait, cancel_futures=cancel_futures)
        for pool in self._pools:
            pool.shutdown(wait=wait, cancel_futures=cancel_futures)

    def _called(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Any:
        try:
            with STARTING:
                future = self._pool().submit(fn, *args, **kwargs)
            return future.result()
        except BrokenProcessPool:
            self._own.pool = None
            raise ChildProcessError(LOST) from None

    def _pool(self) -> ProcessPoolExecutor:
        """Give this thread's process."""
        pool: ProcessPoolExecutor | None = getattr(self._own, "pool", None)
        if pool is None:
            # A fresh process: the engine's library is never forked half-way through something.
            context = multiprocessing.get_context("spawn")
            pool = self._own.pool = ProcessPoolExecutor(1, mp_context=context, initializer=_quiet)
            self._pools.append(pool)
        return pool


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
