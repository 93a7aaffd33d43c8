"""Files that are either the old one or the new one, whatever happens while they are written."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["replacing"]


@contextmanager
def replacing(path: str | os.PathLike[str]) -> Iterator[Path]:
    """Yield a temporary path beside a file; on success it takes the file's place at once, on failure it is removed.

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as folder:
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
