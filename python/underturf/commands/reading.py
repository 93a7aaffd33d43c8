"""What commands read: the site, from a file or standard input, and lengths in its unit."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import underturf as ut
from underturf import _core
from underturf._checks import length
from underturf.commands.given import Given
from underturf.errors import at

__all__ = ["STDIN", "read_document", "site_name", "sized", "source", "typed", "typed_as_written", "weights"]

#: What names of files that keep layouts end in.
KEPT = ".nc"

#: Where a site is read from standard input.
STDIN = "-"


def site_name(given: Given) -> str:
    """Return how messages call the document."""
    return "standard input" if given.site == STDIN else str(given.site)


def read_document(given: Given) -> ut.Site:
    """Read the site from its file, from layouts that were kept, or from standard input where it is ``-``.

    Raises
    ------
    DocumentSyntaxError, SiteError, ArgumentError, OSError
        As `read_site`; also if standard input is empty or no UTF-8.
    """
    if given.site != STDIN and Path(given.site).suffix.lower() == KEPT:
        found = ut.load(given.site)
        assert isinstance(found, ut.Layouts)  # noqa: S101 - by the ending
        given.state.layouts = found
        return found.site
    if given.site != STDIN:
        return ut.read_site(given.site)
    raw = sys.stdin.buffer.read()
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        said = f"standard input is not UTF-8 text: {error.reason} at byte {error.start}"
        raise ut.DocumentSyntaxError(said) from None
    if not text.strip():
        raise ut.DocumentSyntaxError("standard input is empty; a site document, TOML or JSON, is read from it")
    return ut.Site.from_json(text) if is_json(text) else ut.Site.from_toml(text)


def source(given: Given) -> Path | None:
    """Return the file that the document was read from; None for standard input."""
    return None if given.site == STDIN else Path(given.site)


def is_json(text: str) -> bool:
    """Whether a document is JSON: it begins with a brace, and no TOML does.

    Examples
    --------
    >>> is_json(' {"units": "m"}'), is_json('[frame]'), is_json('units = "m"')
    (True, False, False)
    """
    return text.lstrip().startswith("{")


def typed(given: Given, site: ut.Site, *names: str) -> list[Any]:
    """Return lengths that were typed, in metres; a bare number is in the unit of the document. None stays None."""
    return [
        None if getattr(given, name) is None else length(getattr(given, name), flag(name), site.unit_m)
        for name in names
    ]


def flag(name: str) -> str:
    """Return an option as it is typed.

    Examples
    --------
    >>> flag("from_building")
    '--from-building'
    """
    return f"--{name.rstrip('_').replace('_', '-')}"


def sized(given: Given) -> float | None:
    """Return the caliper of a tree, metres; it must say its unit, since "2" in a document in feet would be two feet."""
    if given.caliper is None:
        return None
    metres = length(given.caliper, "--caliper")
    if not _core.read_length(given.caliper)[1]:
        raise ut.ArgumentError(f'--caliper: "{given.caliper}" has no unit; write {given.caliper}in')
    return metres


def typed_as_written(text: str, name: str, site: ut.Site) -> float | str:
    r"""Return a length for a document: a text with its own unit as it is, a bare number in metres.

    Examples
    --------
    >>> site = ut.Site.from_dict({"format": "underturf-site/2", "units": "ft"})
    >>> typed_as_written("14' 6\"", "--at", site), typed_as_written("2", "--at", site)
    ('14\' 6"', 0.6096)
    """
    metres = length(text, name, site.unit_m)
    return text.strip() if _core.read_length(text)[1] else metres


def weights(given: Given) -> dict[str, float] | None:
    """Return consequence weights as they were typed; the shipped ones where none was."""
    found: dict[str, float] = {}
    faults: list[str] = []
    texts: Sequence[str] = given.weights
    for text in texts:
        name, equals, number = text.partition("=")
        try:
            found[name.strip()] = float(number)
        except ValueError:
            faults.append(f'"{text}"' if equals else f'"{text}" (no =)')
    if faults:
        raise at("--weight", f"{', '.join(faults)}: write a class and a number, such as gas=1000")
    return found or None
