"""A page to look at a site with, as a file, in a notebook, or as a widget that answers exactly."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, overload

from underturf._checks import output
from underturf._extras import needs
from underturf.dig_lists import Digs
from underturf.exploring import Exploration, content_of
from underturf.exploring.exploration import ENDINGS
from underturf.exploring.widget import make_widget
from underturf.options import ExploreOptions, Running, chosen

if TYPE_CHECKING:
    from anywidget import AnyWidget

    from underturf.layouts import Layouts

__all__ = ["explore", "explore_widget"]


@overload
def explore(
    layouts: Layouts,
    path: None = None,
    *,
    digs: Digs = None,
    options: ExploreOptions | None = None,
    run: Running | None = None,
) -> Exploration: ...


@overload
def explore(
    layouts: Layouts,
    path: str | os.PathLike[str],
    *,
    digs: Digs = None,
    options: ExploreOptions | None = None,
    run: Running | None = None,
) -> Path: ...


def explore(
    layouts: Layouts,
    path: str | os.PathLike[str] | None = None,
    *,
    digs: Digs = None,
    options: ExploreOptions | None = None,
    run: Running | None = None,
) -> Exploration | Path:
    """Make a page to look at the site with: one HTML file that needs no network and opens on a phone.

    It holds the map with layers to switch on and off, likely lines, metal lines with their bands of doubt, some layouts
    to look at one by one, marks with their tolerance zones, and digs with their verdict. Tap a place for the chance of
    a round hole there. Such chances come from stored maps, one for each radius and depth: the page tells the value of
    the cell that the place lies in, with its Monte Carlo error, and never interpolates. Where a tolerance zone or
    flagged metal begins, it tells no chance. The cautions are always in view.

    Parameters
    ----------
    path : str or path, optional
        Where to write; the name ends in ``.html``. Without it the page is returned for a notebook.
    digs : dig, name, list of them, result or DataFrame, optional
        Digs to show; the site's own if not given.
    options : ExploreOptions, optional
        Radii, depths and cells of the stored maps, number of layouts, size of the file.
    run : Running, optional
        Threads, progress and memory.

    Returns
    -------
    Path or Exploration
        The file written, or the page.

    Raises
    ------
    ArgumentError
        If the name ends in anything else, or maps of the cells asked for would make a larger file than allowed.
    DigError
        If a dig has no size or its name is unknown.
    ConvergenceError
        As `assess`.
    OSError
        If the file cannot be written; before any work, if there is no such folder or it may not be written to.

    Examples
    --------
    >>> import tempfile, underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> options = ut.ExploreOptions(radii_m=(0.15, 0.3), depths_m=0.45, cell_m=0.5)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     layouts.explore(f"{folder}/site.html", options=options).name
    'site.html'
    """
    where = None if path is None else output(path, ENDINGS)
    page = Exploration(content_of(layouts, digs, chosen(options, ExploreOptions, "options"), run))
    return page if where is None else page.save(where)


def explore_widget(
    layouts: Layouts,
    *,
    digs: Digs = None,
    options: ExploreOptions | None = None,
    run: Running | None = None,
) -> AnyWidget:
    """Make the page of `explore` as a widget for notebooks: a tap also tells the exact chance, as `strikes` does.

    Parameters
    ----------
    digs, options, run
        As in `explore`.

    Returns
    -------
    AnyWidget
        Its traits ``hole`` (dict: ``x_m``, ``y_m``, ``radius_m``, ``depth_m``) and ``answer`` (dict: ``hole``, ``known``, ``p``,
        ``mcse``, ``upper95``, ``converged``; or ``error``) are kept the same on both sides: setting ``hole`` in Python
        asks as a tap does.

    Raises
    ------
    ImportError
        If anywidget is not installed (``pip install underturf[widget]``).
    ArgumentError, DigError, ConvergenceError
        As in `explore`.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> widget = layouts.explore_widget(options=ut.ExploreOptions(radii_m=0.3, depths_m=0.4, cell_m=1.0))
    >>> widget.hole = {"x_m": 4.0, "y_m": 3.0, "radius_m": 0.3, "depth_m": 0.4}
    >>> 0 < widget.answer["p"] < 1
    True
    """
    needs("a widget", "anywidget")
    return make_widget(layouts, content_of(layouts, digs, chosen(options, ExploreOptions, "options"), run))
