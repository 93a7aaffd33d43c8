"""A site: what can be seen on the ground, read from a document of the format ``underturf-site/2``.

The engine parses, checks and keeps documents; this file opens them and adds what belongs to Python. A `Site` never
changes: the methods that add findings, in `underturf.methods.findings`, return a new one.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

import pandas as pd

from underturf import _core
from underturf._atomic import replacing
from underturf._checks import as_path, at_least, document_ending, document_text, flag
from underturf._extras import needs
from underturf._page import page
from underturf.methods import exports, findings
from underturf.site_tables import LISTS, counted, table_of_list
from underturf.toml_style import kept_toml

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.dig_lists import Digs
    from underturf.layouts import Layouts
    from underturf.plotting.styled import Style

__all__ = ["JsonValue", "Note", "Site"]

#: What a document holds under its keys.
JsonValue: TypeAlias = "bool | int | float | str | list[JsonValue] | dict[str, JsonValue] | None"


class Note(NamedTuple):
    """Something about a document that is no fault but must be known; `Site.notes` lists them.

    Examples
    --------
    >>> import underturf as ut
    >>> [note.kind for note in ut.read_site(ut.example("green")).notes]
    ['metal']
    """

    #: Where it is, like ``heads[3]``; empty for the document as a whole.
    place: str
    #: What sort of note it is; the name of a rule of `plausibility_table` for what is odd.
    kind: str
    #: The sentence.
    sentence: str


class Site:
    """What is known of a site. Make one with `read_site`, `from_dict`, `from_toml` or `from_json`.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.Site.from_dict({
    ...     "format": "underturf-site/2",
    ...     "units": "m",
    ...     "boundary": [[0, 0], [12, 0], [12, 9], [0, 9]],
    ...     "heads": [{"id": "a", "x": 1, "y": 1, "zone": "1"}, {"id": "b", "x": 5, "y": 1, "zone": "1"}],
    ...     "digs": [{"id": "post", "x": 3, "y": 1, "radius": 0.15, "depth": 0.6}],
    ... })
    >>> site.units, site.dig_ids
    ('m', ('post',))
    >>> ut.Site.from_dict(site.to_dict()) == site
    True
    >>> site.heads[["id", "x_m", "y_m", "zone"]]
      id  x_m  y_m zone
    0  a  1.0  1.0    1
    1  b  5.0  1.0    1
    """

    __slots__ = ("_handle",)

    _handle: _core.Site

    def __init__(self, core: _core.Site) -> None:
        self._handle = core

    # reading and writing

    @classmethod
    def from_dict(cls, document: Mapping[str, object]) -> Site:
        """Read a site from a document as Python dicts and lists.

        Parameters
        ----------
        document : mapping
            The keys of ``underturf-site/2``. Lengths are numbers in the document's own units, or texts with their unit
            (``"14 ft 6 in"``, ``"30 cm"``). Numpy numbers and arrays, exact numbers, days, rows of a DataFrame
            (``table.to_dict("records")``) and a DataFrame itself are fine. None, NaN, NA and empty texts in optional keys mean
            absent. Names are trimmed.

        Returns
        -------
        Site

        Raises
        ------
        SiteError
            With every fault of the document at once in ``.faults``.

        Examples
        --------
        >>> import underturf as ut
        >>> head = {"id": 1.0, "x": "14 ft 6 in", "y": 2, "zone": float("nan")}
        >>> ut.Site.from_dict({"format": "underturf-site/2", "units": "ft", "heads": [head]}).to_dict()["heads"]
        [{'id': '1', 'x': '14 ft 6 in', 'y': 2.0}]
        """
        return cls(_core.Site.from_object(document))

    @classmethod
    def from_json(cls, text: str) -> Site:
        """Read a site from JSON text.

        Raises
        ------
        DocumentSyntaxError
            If the text is no JSON.
        SiteError
            With every fault of the document at once in ``.faults``.

        Examples
        --------
        >>> import underturf as ut
        >>> ut.Site.from_json('{"format": "underturf-site/2", "units": "ft"}').unit_m
        0.3048
        """
        return cls(_core.Site.from_json(document_text(text)))

    @classmethod
    def from_toml(cls, text: str) -> Site:
        r"""Read a site from TOML text.

        Raises
        ------
        DocumentSyntaxError
            If the text is no TOML.
        SiteError
            With every fault of the document at once in ``.faults``.

        Examples
        --------
        >>> import underturf as ut
        >>> ut.Site.from_toml('format = "underturf-site/2"\nunits = "m"').units
        'm'
        """
        return cls(_core.Site.from_toml(document_text(text)))

    def to_dict(self) -> dict[str, JsonValue]:
        """Return the document as Python dicts and lists, in its own units; nothing of it is lost.

        Examples
        --------
        >>> import underturf as ut
        >>> ut.Site.from_dict({"format": "underturf-site/2", "units": "m"}).to_dict()
        {'format': 'underturf-site/2', 'units': 'm'}
        """
        return self._document()

    def to_json(self) -> str:
        """Return the document as JSON text.

        Examples
        --------
        >>> import underturf as ut
        >>> site = ut.read_site(ut.example("green"))
        >>> ut.Site.from_json(site.to_json()) == site
        True
        """
        return self._handle.to_json()

    def _document(self) -> dict[str, Any]:
        """Return the document as Python dicts and lists."""
        return dict(json.loads(self._handle.to_json()))

    def _plain(self) -> dict[str, Any]:
        """Return the document with every length as a number in its unit, for those that compute."""
        return dict(json.loads(self._handle.to_plain_json()))

    def to_toml(self) -> str:
        """Return the document as TOML text.

        Examples
        --------
        >>> import underturf as ut
        >>> ut.read_site(ut.example("green")).to_toml().splitlines()[0]
        'format = "underturf-site/2"'
        """
        return self._handle.to_toml()

    def write(self, path: str | os.PathLike[str], *, keep_comments: bool = True) -> None:
        """Write the document to a file whose name ends in ``.toml`` or ``.json``.

        Parameters
        ----------
        path : str or path
            The file; it is put in place whole.
        keep_comments : bool, optional
            Whether a TOML file that is there keeps comments and order.

        Raises
        ------
        ArgumentError
            If the name ends in anything else, or comments cannot be kept (no TOML, or no extra ``toml``).
        OSError
            If the file cannot be written.

        Examples
        --------
        >>> import tempfile, underturf as ut
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     ut.read_site(ut.example("green")).write(f"{folder}/green.json")
        """
        path = as_path(path)
        text = self.to_toml() if (ending := document_ending(path)) == ".toml" else self.to_json()
        if flag(keep_comments, "keep_comments") and ending == ".toml" and path.is_file():
            text = kept_toml(path, self._document(), text)
        with replacing(path) as part:
            part.write_text(text, encoding="utf-8")

    export = exports.export

    # what it holds

    @property
    def name(self) -> str | None:
        """Name of the site, if the document gives one."""
        return self._handle.name

    @property
    def units(self) -> str:
        """Unit of length of the document: ``"m"`` or ``"ft"``."""
        return self._handle.units

    @property
    def unit_m(self) -> float:
        """Metres in one unit of the document."""
        return self._handle.unit_m

    @property
    def dig_ids(self) -> tuple[str, ...]:
        """Names of the digs that the document proposes."""
        return tuple(dig.id for dig in self._handle.digs())

    @property
    def warnings(self) -> tuple[str, ...]:
        """Every sentence about the document that its reader must know, though it is no fault.

        What counts as metal lines, what takes no part in any chance, what is read otherwise than written, what is odd.
        """
        return tuple(self._handle.warnings)

    @property
    def notes(self) -> tuple[Note, ...]:
        """The notes behind `warnings`, station tests apart, with their place in the document and their kind."""
        return tuple(Note(*note) for note in self._handle.notes)

    # its lists as tables: one row an entry, lengths in metres, keys that are not given empty

    @property
    def heads(self) -> pd.DataFrame:
        """Heads: ``id``, place, ``kind``, ``zone``, ``sd_m``, ``accuracy_95_m``, ``radius_m``, ``arc_deg``, ``flow``."""
        return self._list("heads")

    @property
    def valve_boxes(self) -> pd.DataFrame:
        """Valve boxes: ``id``, ``x_m``, ``y_m``, ``zones``, ``valves``, ``spare``."""
        return self._list("valve_boxes")

    @property
    def sources(self) -> pd.DataFrame:
        """Where water comes from: ``id``, ``x_m``, ``y_m``, ``kind``."""
        return self._list("sources")

    @property
    def outlets(self) -> pd.DataFrame:
        """Hose bibs, hydrants and couplers: ``id``, ``x_m``, ``y_m``, ``kind``, ``fed`` (by the house or through the ground)."""
        return self._list("outlets")

    @property
    def obstacles(self) -> pd.DataFrame:
        """Buildings, paving, pools and beds: ``kind``, ``outline_m``."""
        return self._list("obstacles")

    @property
    def trees(self) -> pd.DataFrame:
        """Standing trees: ``x_m``, ``y_m``, ``stem_diameter_m``."""
        return self._list("trees")

    @property
    def station_tests(self) -> pd.DataFrame:
        """Valves that were run: ``zone``, ``valve``, ``heads``, ``error``."""
        return self._list("station_tests")

    @property
    def probes(self) -> pd.DataFrame:
        """Probes that were dug: place, size, ``depth_m``, ``found``, and what was noted of the line."""
        return self._list("probes")

    @property
    def flags(self) -> pd.DataFrame:
        """Flags of a metal detector: ``x_m``, ``y_m``, ``sd_m``, ``accuracy_95_m``, ``line``."""
        return self._list("flags")

    @property
    def swept(self) -> pd.DataFrame:
        """Ground that a detector swept in silence: ``outline_m``, ``p_detect``."""
        return self._list("swept")

    @property
    def marks(self) -> pd.DataFrame:
        """Utility marks: ``class``, ``path_m``, ``sd_m``, ``accuracy_95_m``, ``half_zone_m``, ``quality``, ``date``."""
        return self._list("marks")

    @property
    def services(self) -> pd.DataFrame:
        """Services between known ends: ``class``, ``from_m``, ``to_m``."""
        return self._list("services")

    @property
    def sketches(self) -> pd.DataFrame:
        """Lines of old drawings: ``path_m``, ``trust``."""
        return self._list("sketches")

    @property
    def digs(self) -> pd.DataFrame:
        """Proposed digs: ``id``, place, size, ``depth_m``, ``method`` and the tree; goes into every method that takes digs."""
        return self._list("digs")

    def _list(self, key: str) -> pd.DataFrame:
        """Return a list of the document as a table in metres."""
        entries = self._plain().get(key, [])
        if key == "digs":
            entries = [{**entry, "id": name} for entry, name in zip(entries, self.dig_ids, strict=True)]
        return table_of_list(entries, key, self.unit_m)

    # findings: each returns a new site

    with_probe = findings.with_probe
    with_slit = findings.with_slit
    with_station_test = findings.with_station_test
    with_sketch = findings.with_sketch
    with_digs = findings.with_digs

    # looks

    def plot(
        self,
        ax: Axes | None = None,
        *,
        layouts: Layouts | None = None,
        digs: Digs = None,
        draws: int = 5,
        style: Style = None,
    ) -> Axes:
        """Draw a plan of the site; see `underturf.plotting.plot_site`.

        Raises
        ------
        ImportError
            If matplotlib is not installed.

        Examples
        --------
        >>> from matplotlib.figure import Figure
        >>> import underturf as ut
        >>> ut.read_site(ut.example("green")).plot(Figure().add_subplot()).has_data()
        True
        """
        needs("a plot", "matplotlib")
        from underturf.plotting import plot_site

        return plot_site(self, ax, layouts=layouts, digs=digs, draws=at_least(0, draws, "draws"), style=style)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Site) and self.to_dict() == other.to_dict()

    def __hash__(self) -> int:
        return hash(self.to_json())

    def __repr__(self) -> str:
        document = self._document()
        counts = ", ".join(counted(key, len(document[key])) for key in LISTS if document.get(key))
        return f"<Site {self.name or 'without a name'} in {self.units}: {counts or 'empty'}>"

    def _repr_html_(self) -> str:
        counts = {key.replace("_", " "): len(self._document().get(key, [])) for key in LISTS}
        held = {name: count for name, count in counts.items() if count}
        table = pd.DataFrame({"entries": held.values()}, index=pd.Index(list(held), name="list"))
        return page(f"Site {self.name or 'without a name'}, in {self.units}", table, self.warnings)

    def __reduce__(self) -> tuple[Any, ...]:
        return Site.from_json, (self.to_json(),)
