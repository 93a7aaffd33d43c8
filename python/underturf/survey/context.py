"""What every reader of a format is told: the mapping, the units and systems of files that name none, and where faults go."""

from __future__ import annotations

from dataclasses import dataclass

from underturf.survey.codes import Code, code_key, split_code
from underturf.survey.faults import Faults
from underturf.survey.keys import column_key
from underturf.survey.mapping import IGNORE, FileWords, SurveyMapping
from underturf.survey.units import UNITS, split_unit

__all__ = ["Context"]


@dataclass(frozen=True, slots=True)
class Context:
    """The options of a reading.

    Attributes
    ----------
    mapping : SurveyMapping
        The words.
    crs : str or None
        System of plane coordinates in files that name none.
    flatten_m : float
        How far a chord may lie from its curve.
    faults : Faults
        Where faults are noted.
    """

    mapping: SurveyMapping
    crs: str | None
    flatten_m: float
    faults: Faults

    def words(self, file: str) -> FileWords:
        """Return what the mapping says of a file."""
        return self.mapping.files.get(file, FileWords())

    def unit(self, file: str) -> str | None:
        """Return the unit of a file that names none."""
        return self.words(file).units or self.mapping.units

    def unit_m(self, file: str) -> float | None:
        """Return metres in that unit."""
        unit = self.unit(file)
        return None if unit is None else UNITS[unit]

    def system(self, file: str) -> str | None:
        """Return the system of plane coordinates of a file that names none; None for the plane of the site."""
        said = self.words(file).crs or self.crs
        return None if said == "local" else said

    def column(self, header: str) -> tuple[str | None, str | None]:
        """Return the key that a column fills, and the unit that its name says."""
        whole = self.mapping.columns.get(header.strip().lower())
        bare, unit = split_unit(header)
        own = whole or self.mapping.columns.get(bare.lower())
        if own is not None:
            return own, unit
        key = column_key(header)
        return (key, None) if key is not None else (column_key(bare), unit)

    def is_ignored(self, header: str) -> bool:
        """Whether the mapping leaves a column out."""
        return self.column(header)[0] == IGNORE

    def code(self, text: str, channel: str) -> tuple[Code | None, str]:
        """Return what a code, layer or block makes, and the number or name that it carries."""
        own = {"layer": self.mapping.layers, "block": self.mapping.blocks}.get(channel, {})
        found = own.get(code_key(text))
        return (found, "") if found is not None else split_code(text, self.mapping.codes)
