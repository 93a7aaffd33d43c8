"""Tape notes: from distances that a crew taped on the ground to places with their errors."""

from underturf.tapes.notes import TapeNotes, read_tapes
from underturf.tapes.solution import TapeBlunder, TapePoint, TapeSolution

__all__ = ["TapeBlunder", "TapeNotes", "TapePoint", "TapeSolution", "read_tapes"]
