"""Where commands write: a file, whole or not at all, or standard output."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import click

import underturf as ut
from underturf._atomic import replacing
from underturf._checks import either, output
from underturf.cautions import NOT_CONVERGED
from underturf.commands.given import Given
from underturf.errors import ArgumentError

__all__ = ["Target", "target"]

#: Where a command writes to standard output.
STDOUT = "-"

#: Endings of files that people can read on a terminal.
TEXTS = frozenset({".csv", ".json", ".toml", ".html", ".svg", ".geojson", ".gpx", ".dxf"})


@dataclass(frozen=True)
class Target:
    """Where a command writes; `target` makes it, and has checked it before any work."""

    #: The file; None is standard output.
    path: Path | None
    #: What its name ends in.
    ending: str

    @contextmanager
    def file(self) -> Iterator[Path]:
        """Yield the path to write to; what is written there comes to where it belongs when all went well."""
        if self.path is not None:
            with replacing(self.path) as path:
                yield path
            return
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder, f"out{self.ending}")
            yield path
            sys.stdout.buffer.write(path.read_bytes())
            sys.stdout.buffer.flush()

    def write_site(self, site: ut.Site, source: Path | None = None) -> None:
        """Write a document.

        Parameters
        ----------
        site : Site
            What it holds.
        source : path, optional
            The file that it was read from: where both are TOML, its comments are kept as `Site.write` keeps them.
        """
        if self.path is None:
            click.echo(site.to_json() if self.ending == ".json" else site.to_toml())
            return
        with replacing(self.path) as path:
            if source is not None and source.suffix.lower() == self.ending == ".toml":
                path.write_bytes(source.read_bytes())
            else:
                path.unlink()
            site.write(path)

    @property
    def files(self) -> list[Path]:
        """The file that was written, for an answer."""
        return [] if self.path is None else [self.path.resolve()]

    def said(self, what: str, converged: bool | None = True) -> str:
        """Say where something was written."""
        mark = f"{NOT_CONVERGED}: " if converged is False else ""
        return "" if self.path is None else f"{mark}{what} in {self.path.resolve()}"


def target(given: Given, endings: Sequence[str], default: str | None = None) -> Target | None:
    """Check where a command is to write, before the work that makes it; None where nothing is to be written.

    Parameters
    ----------
    given : Given
        With ``out`` and ``as_``.
    endings : sequence of str
        What names of such files may end in; the first is the format of standard output where none is asked for.
    default : str, optional
        File where none is named and no JSON is asked for.

    Raises
    ------
    ArgumentError
        If the ending is another, or something that is no text is to go to a terminal.
    OSError
        If there is no such folder, or it may not be written to.
    UsageError
        If standard output was promised to a JSON object, or a format is named for a file.
    """
    out = given.out if given.out is not None or given.state.json else default
    if out != STDOUT:
        if given.as_ is not None:
            raise click.UsageError("--as goes with -o -; a file says its format by its ending")
        if out is None:
            return None
        path = output(out, endings)
        return Target(path, path.suffix.lower())
    if given.state.json:
        raise click.UsageError("--json and -o - both write to standard output; name a file for -o")
    ending = endings[0] if given.as_ is None else f".{given.as_.lower().lstrip('.')}"
    if ending not in endings:
        raise ArgumentError(f"--as: {given.as_} is no format of this command; it must be {either(bare(endings))}")
    if ending not in TEXTS and sys.stdout.isatty():
        raise ArgumentError(f"-o -: {ending[1:]} is no text for a terminal; redirect standard output, or name a file")
    return Target(None, ending)


def bare(endings: Sequence[str]) -> list[str]:
    """Return endings without their points."""
    return [ending[1:] for ending in endings]
