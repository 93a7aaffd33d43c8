"""The page to look at a site with, before it is a file: a notebook shows it in a frame."""

from __future__ import annotations

import os
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any

from underturf._atomic import replacing
from underturf._checks import output
from underturf.cautions import CAUTIONS, NOT_CONVERGED
from underturf.exploring.page import html

__all__ = ["ENDINGS", "Exploration"]

#: What names of pages may end in.
ENDINGS = (".html", ".htm")

#: Height of the frame in a notebook, pixels.
HEIGHT = 720


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Exploration:
    """A page to look at a site with, as one self-contained text of HTML. Made by `Layouts.explore`.

    Attributes
    ----------
    html : str
        The page.
    cell_m : float
        Side of a cell of its stored maps, metres.
    converged : bool
        Whether its figures can be relied on.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7)
    >>> page = layouts.explore(options=ut.ExploreOptions(radii_m=0.3, depths_m=0.4, cell_m=0.5))
    >>> page
    <Exploration: 1 stored map of cells of 0.5 m, 50 draws, seed 7>
    >>> page.html.startswith("<!DOCTYPE html>")
    True
    """

    _content: dict[str, Any]

    @property
    def html(self) -> str:
        """The page."""
        return html(self._content)

    @property
    def cell_m(self) -> float:
        """Side of a cell of its stored maps, metres."""
        return float(self._content["grid"]["cell_m"])

    @property
    def converged(self) -> bool:
        """Whether its figures can be relied on."""
        return bool(self._content["converged"])

    @property
    def cautions(self) -> tuple[str, ...]:
        """The cautions that the page shows at all times."""
        return CAUTIONS

    def save(self, path: str | os.PathLike[str]) -> Path:
        """Write the page to a file; it is the old one or the new one at every moment.

        Raises
        ------
        ArgumentError
            If the name does not end in ``.html``.
        OSError
            If the file cannot be written.

        Examples
        --------
        >>> import tempfile, underturf as ut
        >>> layouts = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7)
        >>> page = layouts.explore(options=ut.ExploreOptions(radii_m=0.3, depths_m=0.4, cell_m=0.5))
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     page.save(f"{folder}/site.html").stat().st_size > 100_000
        True
        """
        path = output(path, ENDINGS)
        with replacing(path) as written:
            written.write_text(self.html, encoding="utf-8")
        return path

    def _repr_html_(self) -> str:
        look = f"width:100%;height:{HEIGHT}px;border:1px solid #8a8a8a"
        return f'<iframe title="map" sandbox="allow-scripts" style="{look}" srcdoc="{escape(self.html)}"></iframe>'

    def __repr__(self) -> str:
        mark = "" if self.converged else f"{NOT_CONVERGED}: "
        maps = len(self._content["grid"]["maps"])
        return (
            f"<Exploration: {mark}{maps} stored map{'' if maps == 1 else 's'} of cells of {self.cell_m:g} m, "
            f"{self._content['draws']} draws, seed {self._content['seed']}>"
        )
