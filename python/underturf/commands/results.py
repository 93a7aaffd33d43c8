"""Answers that are results: shown as a page or a JSON object, and kept in a file where one is named."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import underturf as ut
from underturf.commands.answers import Answer, about, facts, json_rows, say
from underturf.commands.given import Given
from underturf.commands.texts import Column, page, table
from underturf.commands.writing import Target

__all__ = ["Shown", "keep", "say_result"]


class Shown:
    """How a result is shown to people.

    Parameters
    ----------
    columns : sequence of Column
        Columns of its table.
    said : sequence of str
        Notes below it.
    lines : sequence of str
        A line for each thing that needs words.
    chances : bool
        Whether the table shows chances of strikes.
    """

    def __init__(
        self, columns: Sequence[Column], said: Sequence[str] = (), lines: Sequence[str] = (), chances: bool = True
    ) -> None:
        self.columns, self.said, self.lines, self.chances = columns, said, lines, chances


def keep(result: ut.Result[Any], place: Target | None) -> list[Path]:
    """Write a result to where it is asked for, and return the file."""
    if place is None:
        return []
    with place.file() as path:
        result.save(path)
    return place.files


def say_result(
    given: Given, result: ut.Result[Any], layouts: ut.Layouts, shown: Shown, place: Target | None = None
) -> None:
    """Show a result, and keep it where that is asked for."""
    files = keep(result, place)
    rows, known = json_rows(result.table()), about(result, layouts)
    body = table(rows, shown.columns, result.site.units) if rows else ""
    text = page(body, known, said=shown.said, lines=shown.lines, chances=shown.chances)
    if place is not None:
        text += f"\n\n{place.said('Whole answer', result.converged)}"
    say(given, Answer(text=text, about=known, rows=rows, result=facts(result), files=files))
