"""Maps of strike probability: arrays with their coordinates, and the ways out to other tools.

Rows run from north to south and columns from west to east, as rasters do: row 0 lies at the greatest y. Coordinates
are those of cell centres, in metres of the site plane.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from underturf._extras import needs
from underturf._page import page
from underturf.cautions import CAUTIONS, NOT_CONVERGED
from underturf.directions import azimuth_deg
from underturf.methods.exports import export as export_it

if TYPE_CHECKING:
    import xarray
    from matplotlib.axes import Axes
    from matplotlib.colors import Colormap

    from underturf import _core
    from underturf.dig_lists import Digs
    from underturf.layouts import Layouts
    from underturf.plotting.styled import Style

__all__ = ["Shift", "StrikeMap"]

#: Levels drawn as lines and written at them: the default limit above which to probe or shift first, and one half.
LEVELS = (0.05, 0.5)

Raster = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Shift:
    """The best small move of a dig.

    Parameters
    ----------
    dx_m, dy_m : float
        The move, metres east and north.
    p_strike : float
        Chance of a strike after the move.
    loss : float, optional
        Expected loss of strikes after the move.
    p_setback : float, optional
        Chance of a line within the setback of its tree after the move.
    y_azimuth_deg : float
        Azimuth of the plan's y axis, degrees clockwise from north.

    Examples
    --------
    >>> import underturf as ut
    >>> shift = ut.Shift(0.3, 0.4, p_strike=0.02)
    >>> shift.distance_m, round(shift.azimuth_deg, 1)
    (0.5, 36.9)
    """

    dx_m: float
    dy_m: float
    p_strike: float
    loss: float | None = None
    p_setback: float | None = None
    y_azimuth_deg: float = 0.0

    @property
    def distance_m(self) -> float:
        """Length of the move, metres."""
        return math.hypot(self.dx_m, self.dy_m)

    @property
    def azimuth_deg(self) -> float:
        """Direction of the move, degrees clockwise from north."""
        return azimuth_deg(self.dx_m, self.dy_m, self.y_azimuth_deg)


class Moved(NamedTuple):
    """The dig that a map is of, and its best place nearby."""

    dig: _core.Dig
    shift: Shift | None
    no_better: bool
    setback_limit: float


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class StrikeMap:
    """Chance of a strike at each cell. Made by ``Layouts.strike_map`` and ``Layouts.dig_maps``.

    Attributes
    ----------
    p : ndarray, shape (rows, cols), float64
        Chance that a dig centred at the cell strikes a line (assessed classes and unmapped lines only); row 0 is north; NaN
        where it may not be moved (out of the boundary, into a building or pool, into a tolerance zone). Read-only.
    mcse : ndarray, shape (rows, cols), float64
        Its Monte Carlo standard error. Read-only.
    upper : ndarray, shape (rows, cols), float64
        One-sided 95 % bound. Read-only.
    in_tolerance_zone : ndarray, shape (rows, cols), bool
        Whether the dig, centred there, enters the tolerance zone of a mark: it is never judged on probability alone there.
        Read-only.
    on_flagged_metal : ndarray, shape (rows, cols), bool
        Whether the dig, centred there, stands on metal that a detector heard: it is never judged on probability alone there.
        Read-only.
    x_m : ndarray, shape (cols,), float64
        Cell centres, metres east, ascending.
    y_m : ndarray, shape (rows,), float64
        Cell centres, metres north, descending.
    cell_m : float
        Side of a cell, metres.
    what : str
        What is dug.
    classes : tuple of str
        Classes counted.
    shift : Shift or None
        For the map of one dig: the best move found, if any helps.
    no_better : bool
        For the map of one dig: whether it should go elsewhere, and no place within reach is better.
    p_setback : ndarray or None, shape (rows, cols), float64
        For the map of one dig: chance of a line within the setback of its tree, by counts; None without one. Read-only.
    setback_limit : float or None
        For the map of one dig: greatest chance of a line within the setback at which its tree is moved to a place.
    layouts : Layouts
        What the map was made from.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
    >>> smap = layouts.strike_map(radius_m=0.3, depth_m=0.4, cell_m=0.5)
    >>> smap.p.shape == (smap.y_m.size, smap.x_m.size)
    True
    >>> bool(smap.y_m[0] > smap.y_m[-1])
    True
    """

    p: Raster
    mcse: Raster
    upper: Raster
    in_tolerance_zone: npt.NDArray[np.bool_]
    on_flagged_metal: npt.NDArray[np.bool_]
    x_m: npt.NDArray[np.float64]
    y_m: npt.NDArray[np.float64]
    cell_m: float
    what: str
    classes: tuple[str, ...]
    shift: Shift | None
    layouts: Layouts = field(repr=False)
    no_better: bool = False
    p_setback: Raster | None = None
    setback_limit: float | None = None
    _dig: _core.Dig | None = None

    @classmethod
    def _wrap(
        cls,
        core: _core.StrikeMap,
        layouts: Layouts,
        what: str,
        *,
        classes: tuple[str, ...],
        of: Moved | None = None,
    ) -> StrikeMap:
        p, mcse, upper, zone = core.p, core.mcse, core.upper, core.in_tolerance_zone
        metal, p_setback = core.on_flagged_metal, core.p_setback
        rows, cols = p.shape
        x_m = np.asarray(core.x0_m + np.arange(cols) * core.cell_m, np.float64)
        y_m = np.asarray(core.y0_m + np.arange(rows)[::-1] * core.cell_m, np.float64)
        for array in (p, mcse, upper, zone, metal, x_m, y_m, *([] if p_setback is None else [p_setback])):
            array.flags.writeable = False
        return cls(
            p=p,
            mcse=mcse,
            upper=upper,
            in_tolerance_zone=zone,
            on_flagged_metal=metal,
            x_m=x_m,
            y_m=y_m,
            cell_m=core.cell_m,
            what=what,
            classes=classes,
            shift=None if of is None else of.shift,
            layouts=layouts,
            no_better=of is not None and of.no_better,
            p_setback=p_setback,
            setback_limit=None if of is None else of.setback_limit,
            _dig=None if of is None else of.dig,
        )

    @property
    def converged(self) -> bool:
        """Whether its figures can be relied on, as ``Layouts.converged`` says."""
        return self.layouts.converged

    def to_xarray(self) -> xarray.Dataset:
        """Return the map as a labelled dataset after the CF conventions (1.11).

        Returns
        -------
        xarray.Dataset
            Variables ``p_strike``, ``mcse``, ``p_upper95``, ``in_tolerance_zone``, ``on_flagged_metal``, and for a dig for a
            tree ``p_setback``, with dimensions ("y", "x");
            coordinates are cell centres in metres, y descending (row 0 is north). The attribute ``converged`` is 1 or 0
            (CF knows no truth values); where it is 0, title and comment say so.

        Raises
        ------
        ImportError
            If xarray is not installed (``pip install underturf[xarray]``).

        References
        ----------
        CF Metadata Conventions, version 1.11, sections 3 and 4.

        Examples
        --------
        >>> import underturf as ut
        >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
        >>> data = layouts.strike_map(cell_m=0.5).to_xarray()
        >>> data["p_strike"].dims, data.attrs["converged"]
        (('y', 'x'), 1)
        """
        needs("an xarray dataset", "xarray")
        import xarray

        dims = ("y", "x")
        chance = {"units": "1", "valid_range": [0.0, 1.0]}
        words = "chance of a line within the setback of its tree"
        setback = (
            {} if self.p_setback is None else {"p_setback": (dims, self.p_setback, {**chance, "long_name": words})}
        )
        mark = "" if self.converged else f"{NOT_CONVERGED}. "
        return xarray.Dataset(
            {
                "p_strike": (
                    dims,
                    self.p,
                    {**chance, "long_name": f"chance that a dig centred here strikes a line: {self.what}"},
                ),
                "mcse": (
                    dims,
                    self.mcse,
                    {"units": "1", "long_name": "Monte Carlo standard error of p_strike"},
                ),
                "p_upper95": (dims, self.upper, {**chance, "long_name": "one-sided 95 % bound of p_strike"}),
                "in_tolerance_zone": (
                    dims,
                    self.in_tolerance_zone.astype(np.int8),
                    {
                        "flag_values": np.array([0, 1], np.int8),
                        "flag_meanings": "outside inside",
                        "long_name": "whether a dig centred here enters the tolerance zone of a mark",
                    },
                ),
                "on_flagged_metal": (
                    dims,
                    self.on_flagged_metal.astype(np.int8),
                    {
                        "flag_values": np.array([0, 1], np.int8),
                        "flag_meanings": "off on",
                        "long_name": "whether a dig centred here stands on metal that a detector heard",
                    },
                ),
                **setback,
            },
            coords={
                "x": ("x", self.x_m, axis_attrs("x", "east")),
                "y": ("y", self.y_m, axis_attrs("y", "north")),
            },
            attrs={
                "Conventions": "CF-1.11",
                "title": f"{mark}Strike probability: {self.what}",
                "source": f"underturf, {self.layouts.draws} draws, seed {self.layouts.seed}",
                "comment": f"{mark}Total of assessed classes and unmapped lines only ({', '.join(self.classes)}). "
                + " ".join(CAUTIONS),
                "converged": int(self.converged),
            },
        )

    export = export_it

    def plot(
        self,
        ax: Axes | None = None,
        *,
        digs: Digs = (),
        levels: tuple[float, ...] = LEVELS,
        cmap: str | Colormap | None = None,
        style: Style = None,
    ) -> Axes:
        """Draw the map over a plan of the site.

        Parameters
        ----------
        ax : Axes, optional
            Where to draw; a new figure if not given.
        digs : dig, name, list of them, or result, optional
            Digs to show with their own chances; none if not given, the site's own for None.
        levels : tuple of float
            Probabilities at which to draw lines.
        cmap : str or Colormap, optional
            Colours from chance 0 to chance 1; light to dark if not given.
        style : str, mapping or list of them, optional
            A style of matplotlib by name, or settings of it: fonts, sizes. Ink, paper and the colours that mean something stay.

        Raises
        ------
        ImportError
            If matplotlib is not installed (``pip install underturf[plot]``).
        ArgumentError
            If there are no such colours or no such style.

        Examples
        --------
        >>> from matplotlib.figure import Figure
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green"))
        >>> layouts = ut.sample_layouts(site, draws=50, seed=7)
        >>> axes = layouts.strike_map(cell_m=0.5).plot(Figure().add_subplot())
        >>> axes.has_data()
        True
        """
        needs("a plot", "matplotlib")
        from underturf.plotting import plot_map

        return plot_map(self, ax, digs=digs, levels=levels, cmap=cmap, style=style)

    def _repr_html_(self) -> str:
        known = self.p[np.isfinite(self.p)]
        shares = (
            {f"{share:.0%} of cells below": np.quantile(known, share) for share in (0.05, 0.5, 0.95)}
            if known.size
            else {}
        )
        table = pd.DataFrame({"strike probability": shares.values()}, index=list(shares))
        return page(repr(self), table, [f"Classes counted: {', '.join(self.classes)}."], self.converged)

    def __repr__(self) -> str:
        rows, cols = self.p.shape
        mark = "" if self.converged else f"{NOT_CONVERGED}: "
        return f"<StrikeMap {mark}{rows} x {cols} cells of {self.cell_m:g} m: {self.what}>"


def axis_attrs(axis: str, direction: str) -> dict[str, str]:
    """CF attributes of a coordinate."""
    return {
        "standard_name": f"projection_{axis}_coordinate",
        "long_name": f"metres {direction} on the site plane",
        "units": "m",
        "axis": axis.upper(),
    }
