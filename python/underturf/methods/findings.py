"""What a crew finds out, put into a site: probes and slits dug by hand, valves that were run, drawings, further digs.

Every method returns a new site whose document carries the finding, and leaves the site it is called on as it was. The
document's own checks are the only ones: all faults come back in one `SiteError`, each with its place.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import numpy.typing as npt

from underturf._checks import Length
from underturf._written import entry_in_units
from underturf.digs import Dig, HoldsDigs
from underturf.errors import no_dig
from underturf.options import FoundLine, ProbeTool, Tool, chosen

if TYPE_CHECKING:
    from underturf.site import Site

__all__ = ["with_digs", "with_probe", "with_sketch", "with_slit", "with_station_test"]


def with_probe(
    site: Site,
    x_m: Length,
    y_m: Length,
    radius_m: Length,
    depth_m: Length,
    found: bool,
    *,
    line: FoundLine | None = None,
    tool: Tool | ProbeTool | None = None,
) -> Site:
    """Return the site with the result of a round exploratory hand dig.

    A clear probe says that no line lies within its footprint above its depth, as far as its tool would have met
    one. A find says that a line which answers to what was noted lies there, or that it is false: nothing of other lines.
    A line of gas, electric power, communication or sewer that was met is kept as a mark with its tolerance zone. At most
    ten finds of one site can be weighed: `sample_layouts` refuses more.

    Parameters
    ----------
    x_m, y_m : float or str
        Its centre, metres east and north. Every length may be a text with its unit instead (``"14 ft 6 in"``,
        ``"30 cm"``); the document keeps it so.
    radius_m : float
        Radius, metres.
    depth_m : float
        Depth reached, metres.
    found : bool
        Whether a line was met.
    line : FoundLine, optional
        What was noted of the line that was met: its class, direction and cover.
    tool : {"pothole", "slit", "rod"} or ProbeTool, optional
        What it was dug with, and how far that is to be trusted; a pothole if not given.

    Returns
    -------
    Site
        A new one; this one stays as it is.

    Raises
    ------
    SiteError
        With every fault at once in ``.faults``: a number that is not finite, a radius that is not positive, a
        depth nobody digs, a cover below the probe, a class or tool that does not exist, a chance outside 0 to 1,
        or a ``line`` of a clear probe. Values in the document's units.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> later = site.with_probe(6.7, 3.2, radius_m=0.25, depth_m=0.45, found=False)
    >>> later.to_dict()["probes"]
    [{'x': 6.7, 'y': 3.2, 'radius': 0.25, 'depth': 0.45, 'found': False}]
    >>> "probes" in site.to_dict()
    False
    """
    place = {"x": x_m, "y": y_m, "radius": radius_m}
    return probed(site, {**place, "depth": depth_m, "found": found}, line, tool)


def with_slit(
    site: Site,
    path_m: npt.ArrayLike,
    width_m: Length,
    depth_m: Length,
    found: bool,
    *,
    line: FoundLine | None = None,
    tool: Tool | ProbeTool = "slit",
) -> Site:
    """Return the site with the result of a narrow exploratory trench, dug by hand across where a line may run.

    Parameters
    ----------
    path_m : array_like, shape (n, 2)
        The middle of the slit, metres east and north; n >= 2.
    width_m : float
        Width, metres.
    depth_m, found, line, tool
        As in `with_probe`; the tool is a slit if not given.

    Returns
    -------
    Site
        A new one; this one stays as it is.

    Raises
    ------
    SiteError
        As in `with_probe`; also for a path that is none or has no length, and a width that is not positive.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> later = site.with_slit([[6.7, 2.6], [6.7, 5.4]], 0.15, 0.45, found=True, line=ut.FoundLine(azimuth_deg=90, cover_m=0.28))
    >>> probe = later.to_dict()["probes"][0]
    >>> probe["path"], probe["tool"], probe["cover"]
    ([[6.7, 2.6], [6.7, 5.4]], 'slit', 0.28)
    """
    place = {"path": path_m, "width": width_m}
    return probed(site, {**place, "depth": depth_m, "found": found}, line, tool)


def with_station_test(
    site: Site, zone: str | None, heads: Iterable[str], *, valve: str | None = None, error: float | None = None
) -> Site:
    """Return the site with the result of running one valve: the heads that came up are those it feeds.

    Parameters
    ----------
    zone : str or None
        Name of the zone that was run; None beside ``valve``.
    heads : iterable of str
        Ids of the heads that came up.
    valve : str, optional
        Id of the valve box, one of whose valves was run, where the zone has no name yet.
    error : float, optional
        Chance that one head was noted wrongly.

    Returns
    -------
    Site
        A new one; this one stays as it is.

    Raises
    ------
    SiteError
        With every fault at once in ``.faults``: a zone, valve box or head that the document does not have, both
        or neither of zone and valve, a chance outside 0 to 1.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> later = site.with_station_test("3", ["h21", "h22", "h23", "h24", "h25", "h26"])
    >>> later.to_dict()["station_tests"][0]["zone"]
    '3'
    >>> site.with_station_test("9", ["h21", "h99"])
    Traceback (most recent call last):
    underturf.errors.SiteError: 2 faults in the site document
      station_tests[0].zone: no head and no valve box has zone "9"
      station_tests[0].heads[1]: there is no head "h99"
    """
    up = [heads] if isinstance(heads, str) or not isinstance(heads, Iterable) else list(heads)
    return extended(site, "station_tests", [{"zone": zone, "valve": valve, "heads": up, "error": error}])


def with_sketch(site: Site, path_m: npt.ArrayLike, trust: float) -> Site:
    """Return the site with one line of an old sketch or as-built drawing.

    Parameters
    ----------
    path_m : array_like, shape (n, 2)
        The drawn line, metres east and north; n >= 2.
    trust : float
        Chance that the drawing is right here.

    Returns
    -------
    Site
        A new one; this one stays as it is.

    Raises
    ------
    SiteError
        If the path is none or has no length, or the trust is no chance.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> site.with_sketch([[0.2, 4.0], [13.2, 4.0]], trust=0.7).to_dict()["sketches"]
    [{'path': [[0.2, 4.0], [13.2, 4.0]], 'trust': 0.7}]
    """
    return extended(site, "sketches", [{"path": path_m, "trust": trust}])


def with_digs(site: Site, digs: Dig | Iterable[Dig] | HoldsDigs) -> Site:
    """Return the site with further proposed digs, after those it has.

    Parameters
    ----------
    digs : dig, iterable of digs, or result
        `Hole`, `PostHole`, `Pit` or `Trench`; `Spots` and other results that hold digs.

    Returns
    -------
    Site
        A new one; this one stays as it is.

    Raises
    ------
    DigError
        If something is not a dig.
    SiteError
        If a dig cannot be dug or its name is taken; every fault at once.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.Site.from_dict({"format": "underturf-site/2", "units": "m"})
    >>> site.with_digs([ut.Hole(4, 3, 0.3, 0.5, id="rose"), ut.PostHole(6, 3, 0.2, 0.7)]).dig_ids
    ('rose', 'dig2')
    """
    held = digs.digs if isinstance(digs, HoldsDigs) else digs
    given = held if isinstance(held, Iterable) else [held]
    return extended(site, "digs", [entry_of(dig) for dig in given])


def probed(site: Site, entry: dict[str, Any], line: FoundLine | None, tool: Tool | ProbeTool | None) -> Site:
    """Return the site with a probe, given with what it met and what it was dug with."""
    noted = chosen(line, FoundLine, "line")
    trusted = tool if isinstance(tool, ProbeTool) else ProbeTool(tool)
    kind = "slit" if trusted.kind is None and "path" in entry else trusted.kind
    outcome = {"class": noted.line_class, "azimuth_deg": noted.azimuth_deg, "cover": noted.cover_m}
    doubt = {"tool": kind, "p_detect": trusted.p_detect, "p_false": trusted.p_false}
    written = entry_in_units({**entry, **outcome, **doubt}, site.unit_m)
    return type(site)(site._handle.with_probe(written))


def extended(site: Site, key: str, entries: Iterable[Mapping[str, Any]]) -> Site:
    """Return the site with further entries, lengths in metres, at the end of one list of its document."""
    document = site._document()
    added = [entry_in_units(entry, site.unit_m) for entry in entries]
    return site.from_dict({**document, key: [*document.get(key, []), *added]})


def entry_of(dig: object) -> dict[str, Any]:
    """Return a dig as documents write it, in metres."""
    if not isinstance(dig, Dig):
        raise no_dig(dig)
    return dig._entry()
