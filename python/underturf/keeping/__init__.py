"""Layouts as one file that keeps all of them, in an open format that others read without us."""

from underturf.keeping.reading import load
from underturf.keeping.writing import save

__all__ = ["load", "save"]
