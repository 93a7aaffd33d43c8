"""Site documents from files: the user's own, and the examples that are shipped. These are invented; no real place is shown."""

from __future__ import annotations

import os
from importlib import resources
from pathlib import Path

from underturf import _core
from underturf._checks import DOCUMENT_ENDINGS, as_path, document_ending
from underturf.errors import DocumentSyntaxError, none_such
from underturf.site import Site

__all__ = ["example", "examples", "read_site"]


def read_site(path: str | os.PathLike[str]) -> Site:
    """Read a site document from a file.

    Parameters
    ----------
    path : str or path
        A file whose name ends in ``.toml`` or ``.json``.

    Returns
    -------
    Site

    Raises
    ------
    OSError
        If the file cannot be read.
    ArgumentError
        If its name ends in anything else.
    DocumentSyntaxError
        If it is no TOML or no JSON.
    SiteError
        With every fault of the document at once in ``.faults``.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> len(site.dig_ids) > 0
    True
    """
    path = as_path(path)
    read = Site.from_toml if document_ending(path) == ".toml" else Site.from_json
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise DocumentSyntaxError(f"{path.name} is not UTF-8 text: {error.reason} at byte {error.start}") from None
    return read(text)


def examples() -> tuple[str, ...]:
    """Return the names of the shipped example sites. They are invented; no real place is shown.

    Examples
    --------
    >>> import underturf as ut
    >>> "green" in ut.examples()
    True
    """
    return tuple(sorted(shipped()))


def shipped() -> dict[str, Path]:
    """Return the files of the shipped examples by name."""
    folder = Path(str(resources.files("underturf") / "examples"))
    return {file.stem: file for file in folder.iterdir() if file.suffix in DOCUMENT_ENDINGS}


def example(name: str) -> Path:
    """Return the path of a shipped example site.

    Parameters
    ----------
    name : str
        One of `examples`.

    Raises
    ------
    ArgumentError
        If there is no such example; the message lists those there are.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.example("green").name
    'green.toml'
    """
    found = shipped().get(name) if isinstance(name, str) else None
    if found is None:
        known = examples()
        raise none_such("example", name, known, _core.spelling_hint(str(name), known))
    return found
