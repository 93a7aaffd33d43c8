"""Files that are whole at any moment: written beside their place, then put there in one step of the file system."""

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
