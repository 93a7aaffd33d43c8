"""Tape notes: the points that the adjustment of their tapes gives, on the plane of the site."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

from underturf._checks import absent
from underturf.errors import UnderturfError
from underturf.survey.context import Context
from underturf.survey.keys import entry_keys
from underturf.survey.observed import Batch, Observed, Plane

__all__ = ["read_tape_notes"]

#: Standard deviation of a point that notes give as exact, metres.
LEAST_SD_M = 0.001

#: Attributes of a point that say what it is, the first that does.
CODES = ("code", "list", "kind")


def read_tape_notes(path: Path, file: str, context: Context) -> list[Batch]:
    """Return the points of tape notes that say what they are; their lengths are metres."""
    tapes: Any = importlib.import_module("underturf.tapes")
    try:
        solution = tapes.read_tapes(path).solve()
    except UnderturfError as error:
        context.faults.add(file, "", error)
        return []
    batch = Batch(file, Plane("m"), 1.0)
    for point in solution.points:
        fields = {str(name): value for name, value in (point.attributes or {}).items() if not absent(value)}
        place = f"point {point.name}"
        code = next(
            (str(fields[name]) for name in CODES if name in fields and context.code(str(fields[name]), "code")[0]), ""
        )
        if not code:
            batch.left.append((place, "point", "it does not say what it is (code): it served the tapes alone"))
            continue
        fields = {name: value for name, value in fields.items() if name not in ("code", "list") and value != code}
        known = entry_keys(made.list if (made := context.code(code, "code")[0]) is not None else "")
        own = {"id": point.name, "sd": max(point.sd_m, LEAST_SD_M)}
        told = {**{name: value for name, value in own.items() if name in known}, **fields}
        batch.observed.append(Observed("point", ((point.x_m, point.y_m),), place, code, "code", told))
    if not solution.agrees:
        batch.notes.append(
            f"{file}: WARNING, the tapes do not agree; see ut.read_tapes(...).solve().report() before you use them."
        )
    return [batch]
