"""CSV files of points with codes: any usual encoding, commas, semicolons or tabs."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from underturf.survey.context import Context
from underturf.survey.observed import Batch
from underturf.survey.tables import read_table

__all__ = ["decoded_text", "read_csv_file"]

#: Marks of byte order, longest first, and the encodings that they tell.
MARKS = (
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)


def decoded_text(data: bytes) -> tuple[str, str]:
    """Return a text and the encoding it was in: by its mark of byte order, else UTF-8, else Windows-1252.

    Examples
    --------
    >>> decoded_text("é".encode("cp1252")), decoded_text("é".encode("utf-16"))
    (('é', 'cp1252'), ('é', 'utf-16'))
    """
    for mark, name in MARKS:
        if data.startswith(mark):
            return data.decode(name), name
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return data.decode("cp1252"), "cp1252"


def read_csv_file(path: Path, file: str, context: Context) -> list[Batch]:
    """Return the things in a CSV file. Lines before the header that begin with ``#`` are comments."""
    data = path.read_bytes()
    try:
        text, encoding = decoded_text(data)
    except UnicodeDecodeError as error:
        context.faults.add(
            file, "", f"is no text that can be read ({error.reason} at byte {error.start}); save it as UTF-8"
        )
        return []
    if "\0" in text:
        context.faults.add(file, "", "holds zero bytes: it is no text, or UTF-16 without its mark; save it as UTF-8")
        return []
    lines = text.splitlines(keepends=True)
    start = next((k for k, line in enumerate(lines) if line.strip() and not line.lstrip().startswith("#")), None)
    if start is None:
        context.faults.add(file, "", "is empty")
        return []
    marks = {mark: lines[start].count(mark) for mark in (",", ";", "\t")}
    mark = max(marks, key=lambda of: marks[of])
    if not marks[mark]:
        context.faults.add(
            file,
            f"row {start + 1}",
            f"has one column, {lines[start].strip()!r}: columns are parted by commas, semicolons or tabs",
        )
        return []
    rows = csv.reader(io.StringIO("".join(lines[start:]), newline=""), delimiter=mark, strict=True)
    found: list[tuple[int, list[str]]] = []
    try:
        for cells in rows:
            found.append((start + rows.line_num, cells))
    except csv.Error as error:
        context.faults.add(file, f"row {start + rows.line_num}", f"cannot be parted into cells: {error}")
        return []
    own = context.words(file).header
    names, body = (own, found) if own is not None else (found[0][1], found[1:])
    batch = read_table(file, "", names, body, context)
    if batch is None:
        return []
    if encoding not in ("utf-8", "utf-8-sig"):
        batch.changed.append(
            (
                "",
                "text",
                f"read as {'Windows-1252' if encoding == 'cp1252' else encoding.upper()}, since it is no UTF-8",
            )
        )
    return [batch]
