"""How a call runs: threads, progress, memory."""

from __future__ import annotations

from dataclasses import dataclass
from typing import SupportsIndex

from underturf._checks import flag, worker_threads
from underturf._limits import gigabytes
from underturf._progress import Progress
from underturf.options.checks import settle

__all__ = ["Running"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """How a call runs. It never changes an answer.

    Parameters
    ----------
    threads : int, optional
        Worker threads; one per core if not given. Use 1 in workers of a task queue.
    progress : bool, callable or None
        True or False for a bar; a callable gets ``(done, total)`` and may raise to stop the run; None draws a bar if somebody
        can see it.
    memory_limit_gb : float, optional
        Memory that the call may take, in gigabytes (1e9 bytes); half of what is free if not given. It decides whether the call
        is refused and nothing else.

    Raises
    ------
    ArgumentError
        If a value is out of range.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7, run=ut.Running(threads=1))
    >>> layouts.draws
    50
    """

    threads: SupportsIndex | None = None
    progress: Progress = None
    memory_limit_gb: float | None = None

    def __post_init__(self) -> None:
        settle(self, threads=worker_threads(self.threads), memory_limit_gb=gigabytes(self.memory_limit_gb))
        if self.progress is not None and not callable(self.progress):
            flag(self.progress, "progress")
