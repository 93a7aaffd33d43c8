"""A call of the engine while it runs: its threads, its progress and its memory."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeAlias

from underturf._limits import memory_limit
from underturf._progress import progress_callback
from underturf.options import Running, chosen

__all__ = ["working"]

Worker: TypeAlias = tuple[int | None, Callable[[int, int], object] | None]


@contextmanager
def working(run: Running | None, what: str) -> Iterator[Worker]:
    """Yield the number of threads and the callback to hand to the engine, and hold it to the memory allowed.

    Examples
    --------
    >>> with working(Running(progress=False, threads=2), "counting") as work:
    ...     print(work)
    (2, None)
    """
    run = chosen(run, Running, "run")
    threads = None if run.threads is None else int(run.threads)
    with memory_limit(run.memory_limit_gb), progress_callback(run.progress, what) as callback:
        yield threads, callback
