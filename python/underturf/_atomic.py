"""Files that are whole or not there: written beside their place, then put into it in one step."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["replacing"]


@contextmanager
def replacing(path: str | os.PathLike[str]) -> Iterator[Path]:
    """Yield a temporary path in the same folder; what is written there takes the place of the file once it is whole.

    A kill at any moment leaves the old file or the new one. Where the work within fails, the temporary file is removed and the
    old one stays.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder, "a.txt")
    ...     with replacing(path) as part:
    ...         _ = part.write_text("whole", encoding="utf-8")
    ...         there = path.exists()
    ...     there, path.read_text(encoding="utf-8")
    (False, 'whole')
    """
    target = Path(path)
    part = target.with_name(f".{target.stem[:80]}.{secrets.token_hex(6)}{target.suffix}")
    try:
        yield part
        with part.open("rb+") as written:
            os.fsync(written.fileno())
        if target.exists():
            part.chmod(target.stat().st_mode & 0o777)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)
