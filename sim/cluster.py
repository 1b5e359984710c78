"""Workers on other machines: a Dask cluster as one more place where builds are run."""

from collections.abc import Callable, Generator
from concurrent.futures import CancelledError, Executor, Future
from contextlib import contextmanager
from typing import Any, final

from models.loading import DescriptionError
from sim.identity import code

LOST = "its worker was ended from outside, or the cluster is gone"
EXTRA = "pip install 'wingwright[cluster]'"
PATIENCE = 10.0
"""Seconds that a scheduler may take to answer."""


@contextmanager
def cluster(address: str) -> Generator[Executor]:
    """Give the workers of a cluster that is running.

    Parameters
    ----------
    address : of its scheduler, such as "tcp://192.0.2.7:8786".

    Raises
    ------
    DescriptionError
        When `distributed` is not installed, nothing answers, there is no worker, or one cannot be used.
    """
    try:
        from distributed import Client
    except ImportError:
        raise DescriptionError([f"--cluster: it needs another package; {EXTRA}"]) from None
    try:
        client: Any = Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError):
        instead = "start dask scheduler, and dask worker ADDRESS --nthreads 1 on each machine"
        raise DescriptionError([f"--cluster: no scheduler answers at '{address}'; {instead}"]) from None
    with client:
        _check(client)
        yield Cluster(client.get_executor(pure=False))


@final
class Cluster(Executor):
    """A cluster's executor that says of a lost worker what the local ones say."""

    def __init__(self, inner: Any) -> None:
        self._inner = inner

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Give the future of a call; a lost worker's raises ChildProcessError."""
        told: Future[Any] = Future()

        def tell(inner: Future[Any]) -> None:
            try:
                told.set_result(inner.result())
            except CancelledError:
                told.set_exception(ChildProcessError(LOST))
            except Exception as error:
                told.set_exception(ChildProcessError(LOST) if _lost(error) else error)

        self._inner.submit(fn, *args, **kwargs).add_done_callback(tell)
        return told

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Take no more; what is under way is cancelled unless it is waited for."""
        del cancel_futures
        self._inner.shutdown(wait=wait)


def _lost(error: Exception) -> bool:
    from distributed import KilledWorker

    return isinstance(error, KilledWorker)


def _check(client: Any) -> None:
    """Refuse a cluster without workers, with several threads in one, or with another version of this program."""
    threads: dict[str, int] = client.nthreads()
    if not threads:
        raise DescriptionError(
            ["--cluster: it has no workers; start dask worker ADDRESS --nthreads 1 on each machine"]
        )
    lines = [
        f"--cluster: worker {worker} runs {count} threads, and the engine takes one; start it with --nthreads 1"
        for worker, count in threads.items() if count > 1
    ]  # fmt: skip
    try:
        found: dict[str, str] = client.run(code, further="analysis")
    except Exception as error:
        what = f"a worker cannot load this program ({error})"
        raise DescriptionError(
            [*lines, f"--cluster: {what}; install the same version on all of them"]
        ) from None
    own = code(further="analysis")
    lines += [
        f"--cluster: worker {worker} has another version of this program; install the same one there"
        for worker, other in found.items() if other != own
    ]  # fmt: skip
    if lines:
        raise DescriptionError(lines)
