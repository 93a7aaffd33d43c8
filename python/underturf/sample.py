"""From a site to sampled layouts: the one call in which randomness enters."""

from __future__ import annotations

from typing import TYPE_CHECKING

from underturf import _core
from underturf._sampling import sampled
from underturf._seed import Seed
from underturf.errors import must_be
from underturf.layouts import Layouts
from underturf.options import Running

if TYPE_CHECKING:
    from underturf.site import Site

__all__ = ["sample_layouts"]


def sample_layouts(
    site: Site,
    draws: int = 2000,
    seed: Seed = None,
    *,
    accept_unconverged: bool = False,
    longest: int = int(_core.DEFAULTS["longest"]),
    effort: float = 1.0,
    run: Running | None = None,
) -> Layouts:
    """Draw pipe layouts that agree with a site.

    Each zone's lateral is a random tree over its heads, drawn exactly (Kirchhoff's matrix-tree theorem;
    draws by undoing the elimination), given a grid bearing, a routing habit and what stands in the way.

    Where labels and station tests that name their zone place every head, draws are independent: there is no burn-in and
    nothing to thin. Where they do not, the zones of heads are unknown too, and four tempered chains walk over all
    ways to assign heads to the valves that are there or may be. They are lengthened by doubling until every quantity
    watched passes the checks of `Layouts.diagnostics`; if none of the lengths allowed is enough, no answer is given.

    Parameters
    ----------
    site : Site
        What is known. Heads need no zone; a valve box that counts its valves, and station tests, narrow zones down most.
    draws : int
        Number of layouts, at least 2. The Monte Carlo error falls as 1 / sqrt(draws). Where zones are sampled you get all layouts
        that were checked: as many as you ask for or more, 2,000 at least.
    accept_unconverged : bool
        Whether to return layouts whose chains did not pass. They are marked: ``Layouts.converged`` is false, and so is a
        column of every table made from them; digs put elsewhere by `Layouts.shifted` carry it, and sheet, plans and maps say
        so in words. Without it, a dig whose own chance these layouts do not tell closely enough raises `ConvergenceError` when
        it is asked for; among the site's digs, the chains run on until they do.
    longest : int
        How many times their first length chains may grow to, at least 1; powers of two count. Without effect where
        draws are independent.
    effort : float
        How much work the call may take, as a multiple of what is shipped: 1 is about a minute on a machine of two cores. It is
        counted in work and not in seconds, so that the same call ends the same way on every machine and for any number of
        threads. Evidence that hardly fits the picture asks for most. Later calls of these layouts that may run long (exact
        forms, `Layouts.rank` until digs are told apart, `Layouts.evidence_log`) are allowed as much each.
    seed : int, numpy Generator, SeedSequence or None
        The same seed gives the same bits on one platform, for any number of threads; None takes fresh entropy, and
        ``Layouts.seed`` tells which.
    run : Running, optional
        Threads, progress and memory: they never change an answer.

    Returns
    -------
    Layouts

    Raises
    ------
    LayoutError
        If a zone cannot be piped round its obstacles, or there are fewer heads than zones; names them.
    ConvergenceError
        If chains over unknown zones did not converge within the length allowed; ``.failures`` say which.
    EffortError
        If layouts that agree with all evidence are not found within the effort allowed, or there are none; names the probes that
        the rest of the picture hardly explains.
    MemoryLimitError
        If so many draws would pass the memory allowed; says how many fit.
    ArgumentError
        If an argument is out of range.
    KeyboardInterrupt
        On Ctrl-C, within 0.2 s.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
    >>> layouts.draws, layouts.seed
    (50, 7)

    Zones need not be known:

    >>> unlabelled = ut.sample_layouts(ut.read_site(ut.example("unlabelled")), draws=100, seed=7)
    >>> unlabelled.independent, unlabelled.converged
    (False, True)
    """
    if not hasattr(site, "_handle"):
        raise must_be("site", site, "a Site, as read_site and Site.from_dict return it")
    core = sampled(
        site,
        draws,
        seed,
        accept_unconverged=accept_unconverged,
        longest=longest,
        effort=effort,
        run=run,
    )
    return Layouts(core, site)
