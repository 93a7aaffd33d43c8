"""Sizes of the paper: US letter for documents in feet, A4 otherwise; margins, and the least size of letters."""

from __future__ import annotations

__all__ = ["BOTTOM", "MARGIN", "PAPER", "TEXT", "inner_of"]

#: Inches: width and height of the paper by the document's unit, and its name in style sheets.
PAPER = {"ft": (8.5, 11.0, "letter"), "m": (8.27, 11.69, "A4")}

#: Inches: margins at the sides and above; below, where the cautions stand on every page.
MARGIN, BOTTOM = 0.5, 1.0

#: Size of text, points; nothing on paper is smaller.
TEXT = 8.5


def inner_of(units: str, *, across: bool = False) -> tuple[float, float]:
    """Return width and height within the margins, inches; of a page that lies across if asked."""
    width, height, _ = PAPER[units]
    if across:
        width, height = height, width
    return width - 2 * MARGIN, height - MARGIN - BOTTOM
