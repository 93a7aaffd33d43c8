"""Files that are whole at any moment: written beside their place, then put there in one step of the file system."""
"""Files that are either the old one or the new one, whatever happens while they are written."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["replacing"]


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Give a temporary path in the same folder; put what was written there onto the path, or remove it after a failure.

    A kill at any moment leaves the old file or the new one.
def replacing(path: str | os.PathLike[str]) -> Iterator[Path]:
    """Yield a temporary path beside a file; on success it takes the file's place at once, on failure it is removed.

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with replacing(Path(folder, "a.txt")) as part:
    ...         _ = part.write_text("whole")
    ...     [file.name for file in Path(folder).iterdir()], Path(folder, "a.txt").read_text()
    (['a.txt'], 'whole')
    """
    handle, name = tempfile.mkstemp(prefix=f".{path.stem}-", suffix=path.suffix, dir=path.parent)
    os.close(handle)
    part = Path(name)
    try:
        yield part
        with part.open("rb") as file:
            os.fsync(file.fileno())
        part.chmod(path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~umask())
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def umask() -> int:
    """Return the mask of new files' permissions."""
    found = os.umask(0)
    os.umask(found)
    return found
    ...     with replacing(f"{folder}/a.txt") as written:
    ...         _ = written.write_text("new", encoding="utf-8")
    ...     Path(f"{folder}/a.txt").read_text(encoding="utf-8"), len(list(Path(folder).iterdir()))
    ('new', 1)
    """
    target = Path(path)
    handle, name = tempfile.mkstemp(prefix=f".{target.stem}-", suffix=target.suffix, dir=target.parent)
    os.close(handle)
    written = Path(name)
    try:
        yield written
        with written.open("rb+") as file:
            os.fsync(file.fileno())
        written.chmod(mode_of(target))
        written.replace(target)
    except BaseException:
        written.unlink(missing_ok=True)
        raise


def mode_of(target: Path) -> int:
    """Return the permissions that a file has, or that a new one gets."""
    if target.exists():
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
