"""Leaving at once when the user interrupts, whatever the engine and the worker processes are doing."""

import contextlib
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable
from multiprocessing import resource_tracker

INTERRUPTED = 130
"""Exit code: 128 and the number of the signal, as shells have it."""
WORDS = "interrupted; finished runs are kept, call again to go on"
PATIENCE = 5.0
"""Seconds that workers being started are waited for."""
SHOW_CURSOR = "\x1b[?25h"
UNSAID = "ignore:resource_tracker:UserWarning"
"""Workers that are ended leave semaphores, which their keeper clears away and need not mention."""


def leave_at_once(complain: Callable[[str], None]) -> None:
    """End this process and its workers at the first interrupt from now on.

    An interrupt raised as an exception would have to pass through the engine's compiled code, which makes an
    error of its own of it, and through workers that are still importing. So the signal is blocked here and in
    the workers, which inherit that, and a thread waits for it. Nothing is lost: a run gets its final name only
    when whole. Where signals cannot be blocked, the usual exception comes.

    Parameters
    ----------
    complain : says the one line that is left to say.
    """
    if not hasattr(signal, "pthread_sigmask") or threading.current_thread() is not threading.main_thread():
        return
    # Started on demand, the keeper would let the signal through again in this thread.
    sys.warnoptions.append(UNSAID)
    resource_tracker.ensure_running()
    sys.warnoptions.remove(UNSAID)
    # The signal may reach any thread, the libraries' own included; all of them wake the one that reads.
    reading, writing = os.pipe()
    os.set_blocking(writing, False)
    signal.set_wakeup_fd(writing)
    signal.signal(signal.SIGINT, _nothing)
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    threading.Thread(target=_wait, args=(reading, complain), daemon=True).start()


def _nothing(number: int, frame: object) -> None:
    del number, frame


def _wait(reading: int, complain: Callable[[str], None]) -> None:
    signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
    while os.read(reading, 1) != bytes([signal.SIGINT]):
        pass
    _leave(complain)


def _leave(complain: Callable[[str], None]) -> None:
    # Not imported here: this has to be in place before anything that takes time to import.
    starting = getattr(sys.modules.get("sim.many"), "STARTING", None)
    if starting is not None:
        starting.acquire(timeout=PATIENCE)
    for worker in multiprocessing.active_children():
        worker.kill()
    if sys.stderr.isatty():
        sys.stderr.write(SHOW_CURSOR)
    complain(WORDS)
    with contextlib.suppress(OSError, ValueError):
        sys.stdout.flush()
        sys.stderr.flush()
    os._exit(INTERRUPTED)
