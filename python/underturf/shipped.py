"""The example sites that are shipped with the package. They are invented; no real place is shown."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from underturf import _core
from underturf.errors import none_such

__all__ = ["example", "examples"]


def examples() -> tuple[str, ...]:
    """Return the names of the shipped example sites. They are invented; no real place is shown."""
    return tuple(sorted(shipped()))


def shipped() -> dict[str, Path]:
    """Return the files of the shipped examples by name."""
    folder = Path(str(resources.files("underturf") / "examples"))
    return {file.stem: file for file in folder.iterdir() if file.suffix in (".toml", ".json")}


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
    """
    found = shipped().get(name) if isinstance(name, str) else None
    if found is None:
        known = examples()
        raise none_such("example", name, known, _core.spelling_hint(str(name), known))
    return found
