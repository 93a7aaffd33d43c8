"""Spreadsheets of points with codes: every sheet whose first row names columns of places."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any

from underturf._checks import absent
from underturf._extras import needs
from underturf.survey.context import Context
from underturf.survey.faults import Faults
from underturf.survey.observed import Batch
from underturf.survey.tables import read_table

__all__ = ["read_spreadsheet"]


def read_spreadsheet(path: Path, file: str, context: Context) -> list[Batch]:
    """Return the things in a spreadsheet. Formulas count with the values that were saved with them."""
    needs(f"reading {file}", "openpyxl")
    import openpyxl

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(path, data_only=True)
            sheets = [(str(sheet.title), sheet_rows(sheet)) for sheet in book.worksheets]
    except Exception as error:  # the library raises many kinds, from five packages
        context.faults.add(file, "", f"is no spreadsheet that can be read, or is cut off: {error}")
        return []
    batches, refusals = [], []
    for title, rows in sheets:
        where = f"sheet {title}, "
        if not rows:
            refusals.append((f"sheet {title}", "is empty"))
            continue
        own = context.words(file).header
        names, body = (own, rows) if own is not None else ([("" if absent(of) else of) for of in rows[0][1]], rows[1:])
        trial = Context(context.mapping, context.crs, context.flatten_m, Faults())
        batch = read_table(file, where, names, body, trial)
        if batch is None and len(sheets) > 1:
            refusals += [(f"sheet {title}", line.partition(": ")[2]) for line in trial.faults.lines]
            continue
        context.faults.lines += trial.faults.lines
        batches += [] if batch is None else [batch]
    if not batches and not context.faults.lines:
        for place, said in refusals:
            context.faults.add(file, place, said)
    elif batches:
        batches[0].left += [(place, "sheet", said) for place, said in refusals]
    return batches


def sheet_rows(sheet: Any) -> list[tuple[int, list[Any]]]:
    """Return rows with their numbers, without empty ones before the header, all as wide as the widest."""
    rows = [(k, list(cells)) for k, cells in enumerate(sheet.iter_rows(values_only=True), start=1)]
    start = next((k for k, (_, cells) in enumerate(rows) if not all(map(absent, cells))), len(rows))
    return rows[start:]
