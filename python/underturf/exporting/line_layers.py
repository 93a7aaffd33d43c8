"""Lines as layers: likely lines, metal lines, each with its band of doubt and its stations, and every draw's pieces."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from underturf.crew.likely_lines import lines_of
from underturf.crew.metal import label_of
from underturf.exporting.layer import Layer, as_shapes, lines, points, with_names
from underturf.plotting.courses import stretch

if TYPE_CHECKING:
    from underturf.layouts import Layouts
    from underturf.results import MetalLines

__all__ = ["likely_layers", "metal_layers", "segment_layer"]

#: Stations of a metal line further apart than this do not follow each other, metres: they are half a metre apart.
JOINED_M = 1.2


def likely_layers(table: pd.DataFrame, y_azimuth_deg: float) -> list[Layer]:
    """Return likely lines from the table of their stations: courses, bands of doubt, stations.

    A course that is broken is a line for each of its parts, all with the number of the line.
    """
    rows: list[dict[str, Any]] = []
    paths: list[npt.NDArray[np.float64]] = []
    bands: list[Any] = []
    for line in lines_of(table, y_azimuth_deg):
        here = table[table["line"] == line.number]
        first = here.iloc[0]
        row = {
            "name": f"L{line.number}",
            "class": line.of,
            "line": line.number,
            "zone": first["zone"],
            "zone_share": first["zone_share"],
            "p_line": first["p_line"],
            "half_width_m": float(line.half_width.max()),
            "converged": bool(here["converged"].all()),
        }
        bands.append(merged(line.bands))
        for k, part in enumerate(unbroken(line.course)):
            rows.append({**row, "part": k + 1})
            paths.append(part)
    courses = pd.DataFrame(rows)
    doubt = courses.drop_duplicates("line").drop(columns="part") if len(courses) else courses
    stations = with_names(table, (f"L{line}" for line in table["line"]))
    return [
        Layer("likely_doubt", doubt.reset_index(drop=True), as_shapes(bands)),
        Layer("likely_lines", courses, lines(paths)),
        Layer("likely_stations", stations, points(table[["x_m", "y_m"]].to_numpy(float))),
    ]


def metal_layers(metal: MetalLines) -> list[Layer]:
    """Return metal lines: courses, bands of doubt, stations, crossings; a line without a course is in the list all the same."""
    table, courses = metal.table().reset_index(), metal.courses
    turned = metal.site._handle.y_azimuth_deg
    rows: list[dict[str, Any]] = []
    paths: list[Any] = []
    bands: list[Any] = []
    banded: list[dict[str, Any]] = []
    for row in table.to_dict("records"):
        number = int(row["line"])
        known = {"name": label_of(number), "class": row["treat_as"], "likeliest": row["class"]}
        known |= {str(key): cell for key, cell in row.items() if key not in ("class", "treat_as")}
        parts = parts_of(courses[courses["line"] == number])
        for k, part in enumerate(parts):
            rows.append({**known, "part": k + 1})
            paths.append(part[["x_m", "y_m"]].to_numpy(float))
            course = stretch(part, turned)
            aside = course.half_m[:, None] * np.column_stack([-course.along[:, 1], course.along[:, 0]])
            left, right = course.middle + aside, course.middle - aside
            quads = np.stack([left[:-1], left[1:], right[1:], right[:-1]], axis=1)
            banded.append({"name": known["name"], "class": known["class"], "line": number, "part": k + 1,
                           "half_width_m": float(course.half_m.max()), "converged": row["converged"]})  # fmt: skip
            bands.append(merged(quads))
        if not parts:
            rows.append({**known, "part": None})
            paths.append(None)
    shapes = as_shapes([None if path is None else lines([path])[0] for path in paths])
    crossings = metal.crossings
    crossed = [f"{label_of(int(a))} x {label_of(int(b))}" for a, b in crossings[["line", "crosses"]].to_numpy()]
    stations = with_names(courses, (label_of(int(line)) for line in courses["line"]))
    stations["class"] = courses["line"].map(table.set_index("line")["treat_as"]).to_numpy(object)
    return [
        Layer("metal_doubt", pd.DataFrame(banded), as_shapes(bands)),
        Layer("metal_lines", pd.DataFrame(rows), shapes),
        Layer("metal_stations", stations, points(courses[["x_m", "y_m"]].to_numpy(float))),
        Layer("metal_crossings", with_names(crossings, crossed), points(crossings[["x_m", "y_m"]].to_numpy(float))),
    ]


def segment_layer(layouts: Layouts) -> Layer:
    """Return every straight piece of every draw."""
    import shapely

    table = layouts.segments()
    ends = table[["x0_m", "y0_m", "x1_m", "y1_m"]].to_numpy(float).reshape(-1, 2, 2)
    shapes = np.asarray(shapely.linestrings(ends), dtype=object).reshape(-1)
    table.insert(0, "name", table["zone"].astype(object))
    return Layer("segments", table, shapes)


def unbroken(course: npt.NDArray[np.float64]) -> list[npt.NDArray[np.float64]]:
    """Return the parts of a course between its breaks.

    Examples
    --------
    >>> [part.tolist() for part in unbroken(np.array([[0.0, 0.0], [1.0, 0.0], [np.nan, np.nan], [3.0, 0.0], [4.0, 0.0]]))]
    [[[0.0, 0.0], [1.0, 0.0]], [[3.0, 0.0], [4.0, 0.0]]]
    """
    gaps = np.flatnonzero(np.isnan(course[:, 0]))
    parts = np.split(course, gaps)
    return [part[~np.isnan(part[:, 0])] for part in parts]


def parts_of(courses: pd.DataFrame) -> list[pd.DataFrame]:
    """Return the stations of a metal line that follow each other; a station alone is in the layer of stations only."""
    at = courses[["x_m", "y_m"]].to_numpy(float)
    gaps = np.hypot(*np.diff(at, axis=0).T) if len(at) else np.zeros(0)
    parts = np.split(np.arange(len(at)), np.flatnonzero(gaps > JOINED_M) + 1)
    return [courses.iloc[part] for part in parts if len(part) > 1]


def merged(quads: npt.NDArray[np.float64]) -> Any:
    """Return four-cornered areas as one."""
    import shapely

    return shapely.union_all([shape if shape.is_valid else shape.convex_hull for shape in shapely.polygons(quads)])
