"""``underturf survey``: other people's files made into a site document."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

import underturf as ut
from underturf._checks import DOCUMENT_ENDINGS, length
from underturf.commands.answers import Answer, about, json_rows, say
from underturf.commands.given import Given, command, length_option, option, out_option
from underturf.commands.writing import target

__all__ = ["survey"]

OPTIONS = (
    click.argument("files", nargs=-1, required=True, metavar="FILES..."),
    option("--mapping", metavar="FILE", help="What codes, columns, layers and blocks mean, .toml."),
    option("--units", metavar="UNIT", help="Unit of files that do not say theirs: m, ft, us_ft, in, cm, mm or yd."),
    option("--crs", metavar="NAME", help="Reference system of files that do not say theirs, such as EPSG:26915."),
    option("--origin", nargs=2, metavar="X Y", help="Taken off x and y of files in plane coordinates."),
    option(
        "--frame",
        metavar="LON,LAT[,AZIMUTH]",
        help="Where the origin lies, degrees east and north, and the azimuth of the y axis, degrees clockwise from north.",
    ),
    length_option("--flatten", "1cm", "How far the chord of a flattened curve may lie from it."),
    *out_option("Where the document goes, .toml or .json; standard output if not given."),
)


@command("survey", OPTIONS)
def survey(given: Given) -> None:
    """Make a site document of FILES: tables of points, GPX, GeoJSON, GeoPackage, shapefiles, DXF, tape notes.

    What was taken, what was left and why goes to standard error.
    """
    frame = None if given.frame is None else frame_of(given.frame)
    flatten_m = length(given.flatten, "--flatten")
    if given.out is None and not given.state.json:
        given.out = "-"
    place = target(given, DOCUMENT_ENDINGS)
    found = read(given, frame=frame, flatten_m=flatten_m)
    site = found.site
    if not given.state.json:
        click.echo(str(found.report), err=True)
    if place is not None and place.path is not None:
        found.write(place.path)  # whole or not at all, with a comment where each thing came from
    elif place is not None:
        with place.file() as path:
            found.write(path)
    known, files = about(site), [] if place is None else place.files
    text = "" if place is None else place.said("Document")
    rows = json_rows(found.report.table())
    say(given, Answer(text=text, about=known, rows=rows, result={"document": site.to_dict()}, files=files))


def read(given: Given, **more: Any) -> ut.Survey:
    """Read the files; where a refusal speaks of what Python calls are given, say how the command line calls it."""
    files = [Path(name) for name in given.files]
    try:
        return ut.read_survey(files, given.mapping, units=given.units, origin=given.origin, crs=given.crs, **more)
    except ut.ArgumentError as error:
        named = [name for name in ("units", "frame", "origin", "crs", "mapping") if name in str(error)]
        if named:
            error.add_note(f"On the command line: {', '.join(f'--{name}' for name in named)}.")
        raise


def frame_of(text: str) -> dict[str, Any]:
    """Return a frame as it was typed.

    Examples
    --------
    >>> frame_of("-122.5, 45.5, 10")
    {'lon': -122.5, 'lat': 45.5, 'azimuth_deg': 10.0}
    """
    try:
        parts = [float(part) for part in text.split(",")]
    except ValueError:
        parts = []
    if len(parts) not in (2, 3):
        raise ut.ArgumentError(f'--frame: "{text}" must be LON,LAT or LON,LAT,AZIMUTH in degrees, such as -122.5,45.5')
    lon, lat = parts[:2]
    if not (-180 <= lon <= 180 and -90 <= lat <= 90):
        said = "longitude lies in -180 to 180, latitude in -90 to 90; longitude comes first"
        raise ut.ArgumentError(f'--frame: "{text}": {said}')
    return dict(zip(("lon", "lat", "azimuth_deg"), parts, strict=False))
