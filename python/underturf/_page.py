"""What a notebook or a terminal shows: a small table with what its reader has to know, and the cautions."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import pandas as pd

from underturf.cautions import CAUTIONS, NOT_CONVERGED

__all__ = ["page", "text_page"]

#: Rows of a table that are shown whole; of longer ones the first and last are.
MOST_ROWS = 20


def page(title: str, table: pd.DataFrame, notes: Sequence[str] = (), converged: bool = True) -> str:
    """Write a title, a table, notes and the cautions as HTML.

    Examples
    --------
    >>> text = page("<Spots>", pd.DataFrame({"p": [0.25]}), ["a < b"], converged=False)
    >>> "Spots" in text, "a &lt; b" in text, "NOT CONVERGED" in text, "one-call" in text
    (True, True, True, True)
    """
    alarm = "" if converged else f"<p><strong>{escape(NOT_CONVERGED)}</strong></p>"
    said = "".join(f"<p>{escape(note)}</p>" for note in notes)
    cautions = "".join(f"<li>{escape(caution)}</li>" for caution in CAUTIONS)
    body = table.to_html(max_rows=MOST_ROWS, float_format=lambda value: f"{value:.4g}", na_rep="", border=0)
    return f"<div><p>{escape(title.strip('<>'))}</p>{alarm}{body}{alarm}{said}<ul>{cautions}</ul></div>"


def text_page(title: str, table: pd.DataFrame, notes: Sequence[str] = (), converged: bool = True) -> str:
    """Write the same as text.

    Examples
    --------
    >>> text = text_page("<Spots>", pd.DataFrame({"p": [0.25]}), ["a < b"], converged=False)
    >>> "Spots" in text, "a < b" in text, "NOT CONVERGED" in text, "one-call" in text
    (True, True, True, True)
    >>> "Empty" in text_page("<Spots>", pd.DataFrame({"p": []}))
    False
    """
    alarm = [] if converged else [NOT_CONVERGED]
    shown = (
        [table.to_string(max_rows=MOST_ROWS, float_format=lambda value: f"{value:.4g}", na_rep="")]
        if len(table)
        else []
    )
    return "\n".join([title.strip("<>"), *alarm, *shown, *alarm, *notes, *CAUTIONS])
