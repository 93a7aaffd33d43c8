"""Results as files: JSON that holds everything, or CSV whose table people can read and whose comments hold the rest."""

from __future__ import annotations

import csv
import io
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from underturf._atomic import replacing
from underturf._checks import as_path, either, output
from underturf.cautions import CAUTIONS, NOT_CONVERGED, TOTAL
from underturf.errors import ArgumentError, at, must_be, must_end
from underturf.results.codec import from_text, to_text

__all__ = ["ENDINGS", "is_written", "read_fields", "read_lines", "write_fields"]

#: What names of files may end in.
ENDINGS = (".csv", ".json")

#: How the comment of a CSV file begins that holds what is not in its table.
REST = "# content: "

#: The field that CSV holds as its table.
TABLE = "_table"


def write_fields(path: str | os.PathLike[str], form: str, fields: Mapping[str, Any]) -> Path:
    """Write the encoded fields of a result."""
    path = output(path, ENDINGS)
    warnings = () if fields["converged"] else (NOT_CONVERGED,)
    if path.suffix.lower() == ".json":
        whole = {"format": form, "warnings": list(warnings), "cautions": list(CAUTIONS), **fields}
        text = json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=1)
        with replacing(path) as part:
            part.write_text(text + "\n", encoding="utf-8")
        return path
    table = fields[TABLE]["$table"]
    columns, index = table["columns"], table["index"]
    kinds = [[of["name"], of["kind"]] for of in (index, *columns)]
    rest = {key: value for key, value in fields.items() if key != TABLE} | {"table": kinds}
    said = [*warnings, form, f"p_strike: {TOTAL}", *CAUTIONS]
    unknown = {f"{what}_{name}" for what in ("p", "mcse") for name in fields["not_assessed"]}
    with replacing(path) as part, part.open("w", encoding="utf-8", newline="") as file:
        file.writelines(f"# {line}\n" for line in said)
        file.write(REST + json.dumps(rest, ensure_ascii=False, allow_nan=False) + "\n")
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow([of["name"] for of in (index, *columns)])
        for k, name in enumerate(index["cells"]):
            texts = [to_text(of["kind"], of["cells"][k]) for of in columns]
            blanks = ["not assessed" if of["name"] in unknown else "" for of in columns]
            rows.writerow([name, *(text or blank for text, blank in zip(texts, blanks, strict=True))])
    return path


def read_lines(path: str | os.PathLike[str]) -> list[str]:
    """Read the lines of a file."""
    path = as_path(path)
    try:
        return path.read_text(encoding="utf-8-sig").splitlines(keepends=True)
    except UnicodeDecodeError as error:
        raise at(path, f"not a text in UTF-8: {error}") from None


def is_written(lines: list[str], form: str) -> bool:
    """Whether the lines of a CSV file are those of a result of that format."""
    return any(line.strip().strip(",") == f"# {form}" for line in lines[:2])


def read_fields(path: str | os.PathLike[str], form: str) -> dict[str, Any]:
    """Read the encoded fields of a result.

    Raises
    ------
    ArgumentError
        If the name ends in neither ``.csv`` nor ``.json``, the file holds another thing, or it is broken.
    OSError
        If the file cannot be read.
    """
    path = as_path(path)
    if path.suffix.lower() not in ENDINGS:
        raise must_end(path, either(ENDINGS))
    lines = read_lines(path)
    try:
        if path.suffix.lower() == ".json":
            whole = json.loads("".join(lines))
            if not isinstance(whole, dict) or whole.get("format") != form:
                found = whole.get("format") if isinstance(whole, dict) else None
                raise at(path, must_be("its format", found, repr(form)))
            return {key: value for key, value in whole.items() if key not in ("format", "warnings", "cautions")}
        if not is_written(lines, form):
            raise at(path, f"it must begin with the line '# {form}'")
        return csv_fields(lines)
    except (ValueError, KeyError, TypeError, IndexError, AttributeError) as error:
        if isinstance(error, ArgumentError):
            raise
        raise at(path, f"the file is broken: {error}") from None


def csv_fields(lines: list[str]) -> dict[str, Any]:
    """Return the encoded fields that a CSV file holds."""
    start = next((k for k, line in enumerate(lines) if not line.startswith("#")), len(lines))
    (rest,) = (json.loads(line.removeprefix(REST)) for line in lines[:start] if line.startswith(REST))
    kinds = rest.pop("table")
    rows = list(csv.DictReader(io.StringIO("".join(lines[start:]))))
    index, *columns = (
        {"name": name, "kind": kind, "cells": [from_text(kind, row[name]) for row in rows]} for name, kind in kinds
    )
    return {**rest, TABLE: {"$table": {"index": index, "columns": columns}}}
