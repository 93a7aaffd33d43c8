"""A site from survey files: each by the reader of its format, all on one plane, the same things merged, and a report."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from underturf import _core
from underturf._checks import Length, as_path, either, length
from underturf.errors import ArgumentError, DocumentSyntaxError, SiteError
from underturf.frames import LocalFrame
from underturf.reading import read_site
from underturf.site import Site
from underturf.survey.assembling import DECIMALS, Base, assembled, base_things, checked_site, named_things
from underturf.survey.context import Context
from underturf.survey.csv_files import read_csv_file
from underturf.survey.drawings import read_drawing
from underturf.survey.faults import Faults
from underturf.survey.gpx_files import read_gpx
from underturf.survey.mapping import SurveyMapping, read_mapping
from underturf.survey.merging import merged
from underturf.survey.observed import Batch, Plane
from underturf.survey.placing import frame_of, made_frame, placed, system_named
from underturf.survey.report import ReportRow, SurveyReport
from underturf.survey.spreadsheets import read_spreadsheet
from underturf.survey.survey import Survey
from underturf.survey.tape_notes import read_tape_notes
from underturf.survey.things import Thing, things_of
from underturf.survey.units import FOOT, SURVEY_FOOT, UNITS, unit_named
from underturf.survey.vectors import read_vectors

__all__ = ["read_survey"]

#: Paths of files, one or several.
Paths = str | os.PathLike[str] | Sequence[str | os.PathLike[str]]

#: Ending -> reader.
READERS: dict[str, Callable[[Path, str, Context], list[Batch]]] = {
    **dict.fromkeys([".csv", ".tsv", ".txt"], read_csv_file),
    **dict.fromkeys([".xlsx", ".xlsm"], read_spreadsheet),
    ".gpx": read_gpx,
    **dict.fromkeys([".geojson", ".gpkg", ".shp"], read_vectors),
    ".dxf": read_drawing,
    ".tapes.toml": read_tape_notes,
}

#: Endings that people try, and what to do.
INSTEAD = {
    ".dwg": "save it as .dxf",
    ".xls": "save it as .xlsx",
    ".ods": "save it as .xlsx or .csv",
    ".kml": "export it as .gpx or .geojson",
    ".kmz": "export it as .gpx or .geojson",
    ".dbf": "name the .shp beside it",
    ".shx": "name the .shp beside it",
    ".zip": "unpack it and name the files",
}


def read_survey(
    paths: Paths,
    mapping: Mapping[str, object] | str | os.PathLike[str] | None = None,
    *,
    units: str | None = None,
    frame: Mapping[str, float] | None = None,
    origin: Sequence[Length] | None = None,
    crs: str | None = None,
    flatten_m: Length = 0.01,
) -> Survey:
    r"""Read a site from survey files; see ``python/docs/surveys.md``.

    Parameters
    ----------
    paths : str, path or sequence of them
        Points with codes (``.csv``, ``.tsv``, ``.txt``, ``.xlsx``), waypoints and tracks (``.gpx``), vector files (``.geojson``,
        ``.gpkg``, ``.shp``), drawings (``.dxf``), tape notes (``.tapes.toml``), and at most one site document (``.toml``,
        ``.json``) that everything else is added to.
    mapping : mapping or path, optional
        Your own words for codes, columns, layers and blocks, and what files leave unsaid: a dict, or a TOML file.
    units : str, optional
        Unit of lengths in files that name none: ``"m"``, ``"ft"``, ``"us_ft"``, ``"in"``, ``"cm"``, ``"mm"``, ``"yd"``. It also
        settles whether a new document is in metres or feet.
    frame : mapping, optional
        Where the origin of the site lies: ``lon`` and ``lat`` in degrees, ``azimuth_deg`` of its y axis. Without it the frame of
        the site document counts; without that one is made about the middle of the first file that lies on Earth.
    origin : (length, length), optional
        Taken off x and y of files in plane coordinates: metres, or numbers in ``units`` where that is given.
    crs : str, optional
        Reference system of plane coordinates in files that name none, like ``"EPSG:26915"``.
    flatten_m : float or str, optional
        How far the chord of a flattened curve may lie from it, in metres or as a text with its unit.

    Returns
    -------
    Survey
        With ``.site``, ``.report`` and ``.document``.

    Raises
    ------
    ArgumentError
        With every fault of the files and of the mapping, each with its file and place.
    OSError
        If a file is not there or cannot be opened.
    ImportError
        If a format needs an extra that is not installed.

    Examples
    --------
    >>> import pathlib, tempfile
    >>> import underturf as ut
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     points = pathlib.Path(folder, "points.csv")
    ...     _ = points.write_text(
    ...         "id,northing_ft,easting_ft,code,depth_in\n"
    ...         "1,0,0,BLD1,\n2,0,30,BLD1,\n3,20,30,BLD1,\n4,20,0,BLD1,\n5,24,6,SPRY,\n6,30,8,POST,30\n"
    ...     )
    ...     survey = ut.read_survey(points, {"codes": {"SPRY": "SPR"}, "defaults": {"digs": {"radius": "6 in"}}})
    >>> survey.site.to_dict()["digs"]
    [{'id': '6', 'x': 8.0, 'y': 30.0, 'radius': 0.5, 'depth': 2.5}]
    >>> [(row.place, row.what) for row in survey.report if row.action == "taken"]
    [('row 6', 'SPRY (heads)'), ('row 7', 'POST (digs)'), ('row 2 to row 5', 'BLD1 (obstacles)')]
    """
    named = None if units is None else unit_named(units, "units")
    own_frame = frame_of(frame)
    files = named_files(paths)
    words = read_mapping(mapping, named)
    context = Context(words, crs, chord(flatten_m), Faults())
    systems(context)
    unknown_files(words, files, context.faults)
    base, batches = read_all(files, context)
    if context.faults.lines:
        first_frame, _ = settled_frame(own_frame, base, batches, Faults())
        gathered(batches, first_frame, (0.0, 0.0), context, whole=False)
    context.faults.stop()
    own_frame, frame_notes = settled_frame(own_frame, base, batches, context.faults)
    context.faults.stop()
    things, rows = gathered(batches, own_frame, origin_of(origin, words, batches), context)
    context.faults.stop()
    unit = document_unit(base, words, batches)
    return finished(
        things, rows, (base, unit, own_frame), [*frame_notes, *notes_of(batches, things, unit)], context.faults
    )


def named_files(paths: object) -> dict[str, Path]:
    """Return the files by the name that messages call them: the bare name where it is the only one so called."""
    given = [paths] if isinstance(paths, str | os.PathLike) else paths
    if not isinstance(given, Sequence) or not given:
        raise ArgumentError(f"paths is {paths!r}; give the path of a survey file, or a list of them")
    found = [as_path(path) for path in given]
    names = [path.name for path in found]
    files = {path.name if names.count(path.name) == 1 else str(path): path for path in found}
    if len(files) < len(found):
        twice = next(str(path) for path in found if found.count(path) > 1)
        raise ArgumentError(f"{twice} is given twice")
    for path in found:
        if not path.exists():
            raise FileNotFoundError(f"there is no file {path}")
        if path.is_dir():
            raise IsADirectoryError(f"{path} is a folder; name the files in it")
    return files


def chord(flatten_m: object) -> float:
    """Check how far a chord may lie from its curve."""
    found = length(flatten_m, "flatten_m")
    if not 1e-4 <= found <= 1.0:
        raise ArgumentError(f"flatten_m is {flatten_m!r}; it must be from 0.0001 to 1 m")
    return found


def systems(context: Context) -> None:
    """Check the reference systems that are named."""
    if context.crs is not None:
        if not isinstance(context.crs, str):
            raise ArgumentError(f'crs is {context.crs!r}; it must be a text such as "EPSG:26915"')
        system_named(context.crs, "crs")
    for file, words in context.mapping.files.items():
        if words.crs not in (None, "local"):
            system_named(str(words.crs), f"crs of {file} in the mapping")


def unknown_files(words: SurveyMapping, files: Mapping[str, Path], faults: Faults) -> None:
    """Note files that the mapping speaks of and that are not read."""
    for name in words.files:
        if name not in files:
            faults.add(
                "mapping",
                f"files.{name}",
                f"no such file is read; there are {', '.join(files)}{_core.spelling_hint(name, list(files))}",
            )


def read_all(files: Mapping[str, Path], context: Context) -> tuple[Base | None, list[Batch]]:
    """Return the site document, if there is one, and what the other files hold."""
    base, batches = None, []
    for file, path in files.items():
        ending = ending_of(path)
        if is_document(path, ending):
            if base is not None:
                context.faults.add(file, "", f"is a second site document beside {base.file}; one can be added to")
                continue
            site = read_document(path, file, context.faults)
            base = base if site is None else Base(site, file)
        elif ending == ".json":
            batches += read_vectors(path, file, context)
        elif ending in READERS:
            batches += READERS[ending](path, file, context)
        else:
            more = INSTEAD.get(ending)
            known = either([*READERS, ".toml", ".json"])
            context.faults.add(file, "", f"cannot be read: {more}" if more else f"must end in {known}")
    return base, batches


def ending_of(path: Path) -> str:
    """Return the ending by which a reader is found."""
    return ".tapes.toml" if path.name.lower().endswith(".tapes.toml") else path.suffix.lower()


def is_document(path: Path, ending: str) -> bool:
    """Whether a file is a site document; a ``.json`` may be GeoJSON too."""
    if ending != ".json":
        return ending == ".toml"
    try:
        found = json.loads(path.read_bytes())
    except ValueError:
        return True  # whose reader says what is wrong with it
    return not (isinstance(found, dict) and "type" in found and "format" not in found)


def read_document(path: Path, file: str, faults: Faults) -> Site | None:
    """Return the site of a document; note its faults."""
    try:
        return read_site(path)
    except SiteError as error:
        for place, said in error.faults:
            faults.add(file, place, said)
    except (ArgumentError, DocumentSyntaxError) as error:
        faults.add(file, "", error)
    return None


def settled_frame(
    given: LocalFrame | None, base: Base | None, batches: Sequence[Batch], faults: Faults
) -> tuple[LocalFrame | None, list[str]]:
    """Return the frame of the site, and what must be said of it; note where there can be none."""
    held: Any = {} if base is None else base.site.to_dict()
    written = frame_of(held.get("frame"))
    if given is not None and written is not None and given != written:
        faults.add(base.file if base else "", "frame", f"says {written}, the call says {given}; leave one out")
        return None, []
    found = given or written
    on_earth = [of for of in batches if not isinstance(of.coordinates, Plane) and of.observed]
    if found is not None or not on_earth:
        return found, []
    local = [of.file for of in batches if isinstance(of.coordinates, Plane) and of.observed]
    local += [base.file] if base is not None and len(held) > 3 else []
    if local:
        faults.add(
            local[0],
            "",
            f"is on the plane of the site, {on_earth[0].file} on Earth: say where the origin lies, as "
            'frame={"lon": ..., "lat": ..., "azimuth_deg": ...}, or as crs="EPSG:..." of the plane coordinates',
        )
        return None, []
    made = made_frame(batches)
    return made, [] if made is None else [
        f"No frame was given. One was made about the middle of {on_earth[0].file}: lon {made.lon!r}, lat {made.lat!r}, "
        "y axis to the north."
    ]


def origin_of(origin: object, words: SurveyMapping, batches: Sequence[Batch]) -> tuple[float, float]:
    """Return what is taken off plane coordinates, in metres."""
    if origin is None:
        return 0.0, 0.0
    if isinstance(origin, str) or not isinstance(origin, Sequence) or len(origin) != 2:
        raise ArgumentError(f"origin is {origin!r}; it must be two lengths, x and y")
    if not any(isinstance(of.coordinates, Plane) and of.observed for of in batches):
        raise ArgumentError("origin is given, and no file is in plane coordinates without a reference system")
    unit_m = 1.0 if words.units is None else UNITS[words.units]
    return length(origin[0], "origin", unit_m), length(origin[1], "origin", unit_m)


def gathered(
    batches: Sequence[Batch],
    frame: LocalFrame | None,
    origin_m: tuple[float, float],
    context: Context,
    whole: bool = True,
) -> tuple[list[Thing], list[ReportRow]]:
    """Return the things of all files, and rows of the report about what was left or changed.

    Where some of the files could not be read whole, this only looks for further faults, and joins no corners.
    """
    things: list[Thing] = []
    rows: list[ReportRow] = []
    for batch in batches:
        if frame is None and batch.observed and not isinstance(batch.coordinates, Plane):
            continue
        before = len(context.faults.lines)
        places = placed(batch, frame, origin_m, context.faults)
        if len(context.faults.lines) == before:
            found, said = things_of(batch, places, context, whole)
            things, rows = [*things, *found], [*rows, *said]
    return things, rows


def document_unit(base: Base | None, words: SurveyMapping, batches: Sequence[Batch]) -> str:
    """Return the unit of the document: its own, else that of the call, else that of the first file on the plane of the site."""
    if base is not None:
        return base.site.units
    first = next((of.coordinates.said for of in batches if isinstance(of.coordinates, Plane) and of.observed), "m")
    return "ft" if (words.units or first) in ("ft", "us_ft", "in", "yd") else "m"


def notes_of(batches: Sequence[Batch], things: Sequence[Thing], unit: str) -> list[str]:
    """Return the sentences of the report: how places came about, what is said of accuracy, rounding."""
    notes = list(dict.fromkeys(note for batch in batches for note in batch.notes))
    for batch in batches:
        mine = [of for of in things if of.file == batch.file and of.key in ("heads", "flags", "marks")]
        if batch.accuracy_note and any(not {"sd", "accuracy_95"} & of.entry.keys() for of in mine):
            notes.append(f"{batch.file}: {batch.accuracy_note}.")
    read = {of.coordinates.said for of in batches if isinstance(of.coordinates, Plane) and of.observed}
    if "us_ft" in read:
        notes.append(
            f"US survey feet are 1200/3937 m = {SURVEY_FOOT:.10f} m; the document's feet are international, {FOOT} m."
        )
    far = [of.file for of in things if max(max(abs(x), abs(y)) for x, y in of.points) > 20_000]
    if far:
        notes.append(f"{far[0]}: places lie far from the origin; take a round figure off with origin=(x, y).")
    return [*notes, f"Places are rounded to {10**-DECIMALS:g} {unit}."]


def finished(
    things: Sequence[Thing],
    rows: list[ReportRow],
    whole: tuple[Base | None, str, LocalFrame | None],
    notes: list[str],
    faults: Faults,
) -> Survey:
    """Return the survey: things merged, named, written into a document and checked by the engine."""
    base, unit, frame = whole
    if not things and base is None:
        left = [row for row in rows if row.action == "left"][:5]
        why = "; ".join(f"{row.file}{', ' if row.place else ''}{row.place}: {row.what}: {row.reason}" for row in left)
        faults.add("", "nothing of the files makes a site", why or "they hold nothing")
        faults.stop()
    held = base_things(base)
    fresh, said = merged(things, held)
    rows = [*rows, *said, *named_things(fresh, base)]
    made = assembled(fresh, base, unit, UNITS[unit], faults)
    completed(held, base, made.document)
    if frame is not None and "frame" not in made.document:
        turned = {"azimuth_deg": frame.azimuth_deg} if frame.azimuth_deg else {}
        made.document["frame"] = {"lon": frame.lon, "lat": frame.lat, **turned}
    faults.stop()
    site = checked_site(made, base, faults)
    faults.stop()
    assert site is not None  # noqa: S101 - what cannot be checked has faults
    return Survey(site, SurveyReport(tuple(rows), tuple(notes)), made.origins)


def completed(held: Sequence[Thing], base: Base | None, document: dict[str, Any]) -> None:
    """Give entries of the document what files say of them and it did not."""
    from underturf.survey.assembling import entry_rest

    unit_m = 1.0 if base is None else base.site.unit_m
    for thing in held:
        key, _, rest = thing.place.partition("[")
        if not rest:
            continue
        entry = document[key][int(rest.rstrip("]"))]
        for name, value in entry_rest(thing, unit_m).items():
            entry.setdefault(name, value)
