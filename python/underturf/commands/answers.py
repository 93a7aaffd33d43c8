"""How commands answer: text for people, in the units of the document, or one JSON object for programs, lengths in metres."""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import click
import pandas as pd

import underturf as ut
from underturf.commands.given import Given, State
from underturf.results.base import records

__all__ = ["Answer", "about", "facts", "json_rows", "refusal", "say"]

#: Name and version of the JSON object.
FORMAT = "underturf-answer/1"


@dataclasses.dataclass(frozen=True, kw_only=True)
class Answer:
    """What a command has found out.

    Attributes
    ----------
    text : str
        For people.
    about : mapping
        Site, seed, draws, convergence, classes not assessed and warnings, as `about` gives them.
    rows : sequence of mappings
        The answer for programs, lengths in metres.
    result : mapping
        What is known of the answer as a whole.
    files : sequence of paths
        Files that were written.
    """

    text: str
    about: Mapping[str, Any]
    rows: Sequence[Mapping[str, Any]] = ()
    result: Mapping[str, Any] = dataclasses.field(default_factory=dict)
    files: Sequence[Path] = ()


def about(
    thing: ut.Layouts | ut.Result[Any] | ut.Site | None = None, layouts: ut.Layouts | None = None
) -> dict[str, Any]:
    """Return what every answer says of where it comes from; what does not apply is None.

    Examples
    --------
    >>> about(ut.read_site(ut.example("green")))["units"], about()["seed"]
    ('m', None)
    """
    site = thing if isinstance(thing, ut.Site) else getattr(thing, "site", None)
    warned = thing if layouts is None else layouts
    return {
        "site": getattr(site, "name", None),
        "units": getattr(site, "units", None),
        "seed": getattr(thing, "seed", None),
        "draws": getattr(thing, "draws", None),
        "converged": getattr(thing, "converged", None),
        "not_assessed": list(getattr(thing, "not_assessed", None) or ()) if hasattr(thing, "not_assessed") else None,
        "warnings": list(getattr(warned, "warnings", ())),
    }


def say(given: Given, answer: Answer) -> None:
    """Print an answer: text, or a JSON object where that is asked for.

    Where the command writes its file to standard output, nothing else goes there: notes go to standard error.
    """
    state: State = given.state
    if answer.about["converged"] is False and not getattr(given, "accept_unconverged", False):
        state.reliable = False
    if state.json:
        click.echo(to_json(state, answer))
        return
    notes = [f"Note: {warning}" for warning in answer.about["warnings"]]
    if getattr(given, "out", None) == "-":
        for note in notes:
            click.echo(note, err=True)
        return
    click.echo("\n".join([*notes, *([""] if notes else []), answer.text]))


def to_json(state: State, answer: Answer) -> str:
    """Return an answer as a JSON object on one line."""
    whole = {
        **head(state),
        **answer.about,
        "cautions": list(ut.CAUTIONS),
        "result": cell(answer.result),
        "rows": cell(answer.rows),
        "files": [str(path) for path in answer.files],
    }
    return json.dumps(whole, ensure_ascii=False, allow_nan=False)


def refusal(state: State, error: Exception, said: str, code: int) -> str:
    """Return a refusal as a JSON object on one line."""
    faults = [{"place": place, "message": message} for place, message in getattr(error, "faults", ())]
    told = {"kind": type(error).__name__, "message": said, "faults": faults, "exit_code": code}
    return json.dumps({**head(state), "error": told, "cautions": list(ut.CAUTIONS)}, ensure_ascii=False)


def head(state: State) -> dict[str, Any]:
    """Return what every JSON object begins with."""
    return {"format": FORMAT, "command": state.command, "version": ut.__version__}


def facts(result: ut.Result[Any]) -> dict[str, Any]:
    """Return what is known of a result as a whole, its digs and tables apart.

    Examples
    --------
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> facts(layouts.rank())
    {'by': 'loss', 'distinct': False}
    """
    told = {field.name: getattr(result, field.name) for field in dataclasses.fields(result)}
    apart = {field.name for field in dataclasses.fields(ut.Result)}
    return {
        name: value
        for name, value in told.items()
        if name not in apart and not name.startswith("_") and not holds_digs(value)
    }


def holds_digs(value: object) -> bool:
    """Whether a field of a result holds digs: its rows tell these."""
    return isinstance(value, tuple) and any(isinstance(item, ut.Dig) for item in value)


def json_rows(table: pd.DataFrame) -> list[dict[str, Any]]:
    """Return the rows of a table with their names.

    Examples
    --------
    >>> json_rows(pd.DataFrame({"p": [float("nan")]}, index=pd.Index(["a"], name="dig")))
    [{'dig': 'a', 'p': None}]
    """
    unnamed = isinstance(table.index, pd.RangeIndex) and table.index.name is None
    return records(table if unnamed else table.reset_index())


def cell(value: Any) -> Any:
    """Return a value as JSON can hold it: None where nothing is known or assessed, the text ``inf`` for infinity.

    Examples
    --------
    >>> cell({"a": (1, float("nan")), "b": float("inf")})
    {'a': [1, None], 'b': 'inf'}
    """
    if isinstance(value, Mapping):
        return {str(key): cell(item) for key, item in value.items()}
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, str | int) or value is None:
        return value
    if isinstance(value, float):
        return None if math.isnan(value) else value if math.isfinite(value) else str(value)
    if isinstance(value, Path):
        return str(value)
    if isinstance(value, Iterable):
        return [cell(item) for item in value]
    return None if value is pd.NA else str(value)
