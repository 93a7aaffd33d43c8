"""The engine's sampling, with every argument checked: what `sample_layouts` and the log of evidence stand on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from underturf import _core
from underturf._checks import at_least, flag, worker_threads
from underturf._limits import effort_number, memory_limit
from underturf._progress import Progress, progress_callback
from underturf._seed import Seed, seed_number

if TYPE_CHECKING:
    from underturf.site import Site

__all__ = ["sampled"]


def sampled(
    site: Site,
    draws: int,
    seed: Seed,
    *,
    accept_unconverged: bool,
    longest: int = 16,
    effort: float,
    memory_limit_gb: float | None = None,
    threads: int | None = None,
    progress: Progress = None,
) -> _core.Layouts:
    """Draw layouts; see `underturf.sample_layouts`."""
    with memory_limit(memory_limit_gb), progress_callback(progress, "sampling layouts") as callback:
        return _core.sample_layouts(
            site._handle,
            at_least(2, draws, "draws"),
            seed_number(seed),
            worker_threads(threads),
            callback,
            at_least(1, longest, "longest"),
            flag(accept_unconverged, "accept_unconverged"),
            effort_number(effort),
        )
