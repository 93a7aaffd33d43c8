"""The engine's sampling, with every argument checked: what `sample_layouts` and the log of evidence stand on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from underturf import _core
from underturf._checks import at_least, draw_count, flag
from underturf._limits import effort_number
from underturf._running import working
from underturf._seed import Seed, seed_number
from underturf.options import Running

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
    run: Running | None = None,
) -> _core.Layouts:
    """Draw layouts; see `underturf.sample_layouts`."""
    with working(run, "sampling layouts") as (threads, callback):
        return _core.sample_layouts(
            site._handle,
            draw_count(draws),
            seed_number(seed),
            threads,
            callback,
            at_least(1, longest, "longest"),
            flag(accept_unconverged, "accept_unconverged"),
            effort_number(effort),
        )
