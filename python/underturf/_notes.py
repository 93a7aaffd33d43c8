"""What a row of a table cannot say by its numbers, in words."""

from __future__ import annotations

import math

import pandas as pd

__all__ = ["blocked", "note", "verdict"]


def note(row: pd.Series, draws: int) -> str:
    """Say in a sentence what a row of a ranking cannot tell.

    Examples
    --------
    >>> row = pd.Series({"in_tolerance_zone": False, "on_flagged_metal": False, "blocked_by": "", "tied_with": ["b"]})
    >>> note(pd.concat([row, pd.Series({"distinct_from_next": False, "draws_needed": 900.0})]), 500)
    'cannot be told apart from b by 500 draws; about 900 draws might'
    >>> note(pd.concat([row, pd.Series({"distinct_from_next": False, "draws_needed": 301.0})]), 300)
    'cannot be told apart from b by 300 draws; about 310 draws might'
    """
    if row["in_tolerance_zone"]:
        return "inside a tolerance zone: last for that alone; call the one-call centre and wait for the marks"
    if row["on_flagged_metal"]:
        return "on flagged metal: last for that alone; uncover by hand first"
    if row["blocked_by"]:
        return f"{blocked(row['blocked_by'])}: last for that alone"
    if not row["tied_with"]:
        return ""
    tied = f"cannot be told apart from {', '.join(row['tied_with'])} by {draws} draws"
    needed = row["draws_needed"]
    if pd.isna(row["distinct_from_next"]) or row["distinct_from_next"]:
        return tied
    if needed <= 20 * draws:
        return f"{tied}; about {two_digits_up(needed)} draws might"
    return f"{tied}: what lies between them is evidence, not draws; a probe or a station test would help"


def blocked(by: str) -> str:
    """Say what keeps a dig from being dug where it is drawn.

    Examples
    --------
    >>> blocked("boundary"), blocked("obstacles[2]")
    ('reaches over the boundary as it is drawn', 'meets obstacles[2] as it is drawn')
    """
    return f"{'reaches over the boundary' if by == 'boundary' else f'meets {by}'} as it is drawn"


def verdict(words: str, by: str) -> str:
    """Put before a verdict that the dig cannot be dug where it is drawn.

    Examples
    --------
    >>> verdict("probe by hand first", ""), verdict("probe by hand first", "boundary")
    ('probe by hand first', 'reaches over the boundary as it is drawn; beside that: probe by hand first')
    """
    return f"{blocked(by)}; beside that: {words}" if by else words


def two_digits_up(number: float) -> str:
    """Round a count up to two digits that matter: rounded down it might be as many as there are, which were too few.

    Examples
    --------
    >>> two_digits_up(12_345.0), two_digits_up(900.0), two_digits_up(301.0), two_digits_up(999.0), two_digits_up(7.2)
    ('13,000', '900', '310', '1,000', '8')
    """
    step = 10 ** max(math.floor(math.log10(number)) - 1, 0)
    return f"{math.ceil(number / step) * step:,}"
