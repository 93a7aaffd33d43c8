"""Files are written whole or not at all: a kill at any moment leaves the old file or the new one."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["replacing"]


@contextmanager
def replacing(path: str | os.PathLike[str]) -> Iterator[Path]:
    """Yield a temporary path beside a file; what is written there takes the file's place, unless something fails.

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with replacing(f"{folder}/a.txt") as path:
    ...         written = path.write_text("new")
    ...     Path(folder, "a.txt").read_text(), os.listdir(folder)
    ('new', ['a.txt'])
    """
    target = Path(os.path.realpath(path))
    handle, name = tempfile.mkstemp(suffix=target.suffix, prefix=f".{target.stem[:40]}-", dir=target.parent)
    os.close(handle)
    temporary = Path(name)
    try:
        yield temporary
        temporary.chmod(mode_of(target))
        with temporary.open("rb+") as file:
            os.fsync(file.fileno())
        temporary.replace(target)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise


def mode_of(target: Path) -> int:
    """Return who may read and write a file: as it is, or as new files are made here."""
    if target.exists():
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
