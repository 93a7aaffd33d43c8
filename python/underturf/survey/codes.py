"""The words at surveyed things and what they make: the table that is shipped, and how a code is read."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from typing import Any

__all__ = ["SHAPES", "Code", "code_key", "shipped_codes", "split_code"]

#: Shape of the entries of each list of a document, for codes of a mapping that name a list.
SHAPES: dict[str, str] = {
    **dict.fromkeys(["heads", "valve_boxes", "sources", "outlets", "trees", "flags"], "point"),
    **dict.fromkeys(["boundary", "obstacles", "swept"], "outline"),
    **dict.fromkeys(["marks", "services", "sketches"], "path"),
    **dict.fromkeys(["probes", "digs", ""], "any"),
}


@dataclass(frozen=True, slots=True)
class Code:
    """A word and what it makes.

    Attributes
    ----------
    code : str
        The word.
    list : str
        List of the document; empty where things of this code are left out.
    shape : {"point", "outline", "path", "any"}
        What its things are.
    set : mapping
        Keys that it settles.
    meaning : str
        In words.
    also : tuple of str
        Other words for the same.
    """

    code: str
    list: str
    shape: str
    set: Mapping[str, Any] = field(default_factory=dict)
    meaning: str = ""
    also: tuple[str, ...] = ()


@cache
def code_rows() -> tuple[Code, ...]:
    """Return the rows of the table that is shipped."""
    text = (resources.files("underturf.survey") / "codes.toml").read_text(encoding="utf-8")
    rows = tomllib.loads(text)["code"]
    return tuple(Code(**{**row, "also": tuple(row.get("also", ()))}) for row in rows)


def shipped_codes() -> dict[str, Code]:
    """Return the table that is shipped, by every word.

    Examples
    --------
    >>> shipped_codes()["HOUSE"].set
    {'kind': 'building'}
    """
    return {code_key(word): row for row in code_rows() for word in (row.code, *row.also)}


def code_key(text: str) -> str:
    """Return a code as it is looked up: in capitals, without blanks, dashes and underscores.

    Examples
    --------
    >>> code_key("Valve box"), code_key("valve_box")
    ('VALVEBOX', 'VALVEBOX')
    """
    return re.sub(r"[\s_-]+", "", text).upper()


def split_code(text: str, known: Mapping[str, Code]) -> tuple[Code | None, str]:
    """Return what a code makes, and the number or name that it carries.

    A whole code goes before its beginning. Then the word may be followed by a number, or by a name after a blank or dash.

    Examples
    --------
    >>> codes = shipped_codes()
    >>> [(code.code, name) for code, name in (split_code(text, codes) for text in ("BLD", "bld12", "BLD - shed", "FLAG A"))]
    [('BLD', ''), ('BLD', '12'), ('BLD', 'shed'), ('FLAG', 'A')]
    >>> split_code("BLIMP", codes)
    (None, '')
    """
    whole = known.get(code_key(text))
    if whole is not None:
        return whole, ""
    numbered = re.fullmatch(r"\s*(.*?[^\W\d_])[\s_-]*(\d[\w.-]*)\s*", text)
    named = [re.fullmatch(r"\s*(\S+?)[\s_-]+(\S.*?)\s*", text), re.fullmatch(r"\s*(.*\S)[\s_-]+(\S+?)\s*", text)]
    for found in (numbered, *named):
        if found and code_key(found[1]) in known:
            return known[code_key(found[1])], found[2]
    return None, ""
