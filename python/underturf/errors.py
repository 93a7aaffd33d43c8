"""The exceptions of underturf, by kind, so that a program can tell a bad document from a site that admits no layout.

All derive from `UnderturfError`. Bad input is a `ValueError` too, and faults of files (not found, not readable) stay the
`OSError` that Python raises. All of them survive pickling, so they cross process borders whole.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

__all__ = [
    "ArgumentError",
    "ConvergenceError",
    "DigError",
    "DocumentSyntaxError",
    "EffortError",
    "InternalError",
    "LayoutError",
    "MemoryLimitError",
    "SiteError",
    "UnderturfError",
    "at",
    "must_be",
    "must_end",
    "no_dig",
    "none_such",
]


class UnderturfError(Exception):
    """Anything that underturf raises on purpose."""


class SiteError(UnderturfError, ValueError):
    """A site document that breaks the rules of its format, with every fault at once.

    Parameters
    ----------
    faults : iterable of (str, str)
        Place and message of each fault; the place reads like ``heads[3].x``.

    Attributes
    ----------
    faults : tuple of (str, str)
        The same.

    Examples
    --------
    >>> error = SiteError([("heads[1].x", "is not a finite number"), ("units", "must be m or ft")])
    >>> error.faults[1]
    ('units', 'must be m or ft')
    >>> print(error)
    2 faults in the site document
      heads[1].x: is not a finite number
      units: must be m or ft
    """

    faults: tuple[tuple[str, str], ...]

    def __init__(self, faults: Iterable[tuple[str, str]]) -> None:
        self.faults = tuple((str(place), str(message)) for place, message in faults)
        super().__init__(self.faults)

    def __str__(self) -> str:
        count = "1 fault" if len(self.faults) == 1 else f"{len(self.faults)} faults"
        lines = [f"  {place}: {message}" if place else f"  {message}" for place, message in self.faults]
        return "\n".join([f"{count} in the site document", *lines])


class DocumentSyntaxError(UnderturfError, ValueError):
    """A text that is no TOML or no JSON at all; the message says where."""


class DigError(UnderturfError, ValueError):
    """An invalid dig: no depth, no width, a crossing outline, or a name the site does not know."""


class ArgumentError(UnderturfError, ValueError):
    """An argument outside its range; the message names it, its value and what is allowed."""


class LayoutError(UnderturfError, RuntimeError):
    """Inference refused: no layout of pipes agrees with the site, or the site lacks what the model needs.

    Parameters
    ----------
    message : str
        What is wrong and what to do next.
    zone : str, optional
        The zone that cannot be piped.
    obstacle : str, optional
        What stands in its way.
    heads : iterable of str, optional
        The heads concerned.

    Attributes
    ----------
    zone : str or None
        The zone that cannot be piped; None where it is the site as a whole.
    obstacle : str or None
        What stands in its way.
    heads : tuple of str
        The heads concerned.
    """

    zone: str | None
    obstacle: str | None
    heads: tuple[str, ...]

    def __init__(
        self,
        message: str,
        zone: str | None = None,
        obstacle: str | None = None,
        heads: Iterable[str] = (),
    ) -> None:
        self.zone = zone
        self.obstacle = obstacle
        self.heads = tuple(heads)
        super().__init__(message, zone, obstacle, self.heads)

    def __str__(self) -> str:
        return str(self.args[0])


class ConvergenceError(UnderturfError, RuntimeError):
    """Chains over unknown zones do not agree, or have not gone far enough, within the length allowed: no answer is given.

    Parameters
    ----------
    message : str
        What failed and what to do next.
    failures : iterable of str
        A sentence for each convergence check that was not passed: the quantity, its value and the limit.
    sweeps : int
        Sweeps of each chain.
    chains : int
        Number of chains.

    Attributes
    ----------
    failures : list of str
        The same sentences.
    sweeps : int
        Sweeps of each chain.
    chains : int
        Number of chains.
    """

    failures: list[str]
    sweeps: int
    chains: int

    def __init__(self, message: str, failures: Iterable[str], sweeps: int, chains: int) -> None:
        self.failures = list(failures)
        self.sweeps = sweeps
        self.chains = chains
        super().__init__(message, self.failures, sweeps, chains)

    def __str__(self) -> str:
        return str(self.args[0])


class EffortError(UnderturfError, RuntimeError):
    """The answer takes more work than the effort allowed, or no layout agrees with the probes: no answer is given.

    Parameters
    ----------
    message : str
        What was given up, which probes the rest of the picture hardly explains, and what to check.
    effort : float
        The effort allowed, as a multiple of what is shipped.
    probes : iterable of (int, float)
        Those probes by their place in the document, with the chance that the rest of the picture gives to what each saw.

    Attributes
    ----------
    effort : float
        The effort allowed.
    probes : tuple of (int, float)
        The probes, the least likely first.
    """

    effort: float
    probes: tuple[tuple[int, float], ...]

    def __init__(self, message: str, effort: float, probes: Iterable[tuple[int, float]] = ()) -> None:
        self.effort = effort
        self.probes = tuple((int(place), float(chance)) for place, chance in probes)
        super().__init__(message, effort, self.probes)

    def __str__(self) -> str:
        return str(self.args[0])


class MemoryLimitError(UnderturfError, ValueError):
    """More draws, cells or places than fit into the memory allowed; refused before any work.

    Parameters
    ----------
    message : str
        What was asked for, what it needs, and how much fits.
    asked, fits : int
        How many were asked for, and how many fit.
    needs_gb, limit_gb : float
        Memory that is needed, about, and that is allowed, in gigabytes (1e9 bytes).

    Attributes
    ----------
    asked, fits : int
        How many were asked for, and how many fit.
    needs_gb, limit_gb : float
        Memory that is needed, about, and that is allowed.
    """

    asked: int
    fits: int
    needs_gb: float
    limit_gb: float

    def __init__(self, message: str, asked: int, fits: int, needs_gb: float, limit_gb: float) -> None:
        self.asked = asked
        self.fits = fits
        self.needs_gb = needs_gb
        self.limit_gb = limit_gb
        super().__init__(message, asked, fits, needs_gb, limit_gb)

    def __str__(self) -> str:
        return str(self.args[0])


class InternalError(UnderturfError, RuntimeError):
    """A fault of underturf itself. Please report it together with the site document."""


def must_be(name: str, value: object, allowed: str) -> ArgumentError:
    """Return the error of an argument that is none of what is allowed.

    Examples
    --------
    >>> print(must_be("draws", 2.5, "a whole number, at least 2"))
    draws is 2.5; it must be a whole number, at least 2
    """
    return ArgumentError(f"{name} is {value!r}; it must be {allowed}")


def at(place: object, said: object) -> ArgumentError:
    """Return an error with its place in front: the name of an argument or of a file.

    Examples
    --------
    >>> print(at("probes.csv", "no table of probes"))
    probes.csv: no table of probes
    """
    return ArgumentError(f"{place}: {said}")


def must_end(path: Path, endings: str) -> ArgumentError:
    """Return the error of a file whose name ends in something else.

    Examples
    --------
    >>> print(must_end(Path("sheet.docx"), ".html, .pdf or .png"))
    sheet.docx must end in .html, .pdf or .png
    """
    return ArgumentError(f"{path.name or path} must end in {endings}")


def none_such(what: str, name: object, known: Iterable[str], hint: str) -> ArgumentError:
    """Return the error of a name that is not known.

    Examples
    --------
    >>> print(none_such("class", "gass", ["gas", "sewer"], '; did you mean "gas"?'))
    there is no class 'gass'; there are gas, sewer; did you mean "gas"?
    """
    return ArgumentError(f"there is no {what} {name!r}; there are {', '.join(known)}{hint}")


def no_dig(thing: object, more: str = "") -> DigError:
    """Return the error of something that was given as a dig.

    Examples
    --------
    >>> print(no_dig(7))
    7 is not a dig; use Hole, PostHole, Pit or Trench
    """
    return DigError(f"{thing!r} is not a dig; use Hole, PostHole, Pit or Trench{more}")
