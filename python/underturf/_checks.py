"""Checks of single arguments: numbers, counts, lengths, days, files. Refusals name the argument, its value and what is allowed.

The engine would refuse most of these too, but with the words of a type checker, and some only after minutes of work.
"""

from __future__ import annotations

import datetime
import math
import numbers
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any, SupportsIndex, TypeAlias

import numpy as np

from underturf import _core
from underturf.errors import ArgumentError, at, must_be, must_end

__all__ = [
    "DOCUMENT_ENDINGS",
    "Length",
    "absent",
    "as_written",
    "at_least",
    "day",
    "document_ending",
    "document_text",
    "draw_count",
    "flag",
    "length",
    "lengths",
    "number",
    "output",
    "whole",
    "word",
    "worker_threads",
]

#: A length: metres, or a text with its unit ("2 ft", "14' 6\"", "30 cm").
Length: TypeAlias = float | str

#: Endings of the names of site documents.
DOCUMENT_ENDINGS = (".toml", ".json")

#: Whole numbers that the engine holds.
MOST = 2**63 - 1


def absent(value: object) -> bool:
    """Whether a value says nothing: None, NaN, NA, NaT or a text without letters.

    Examples
    --------
    >>> [absent(value) for value in (None, float("nan"), " ", 0, "a", False)]
    [True, True, True, False, False, False]
    """
    if value is None or (isinstance(value, str) and not value.strip()):
        return True
    if isinstance(value, numbers.Real | Decimal):
        return bool(value != value)
    return type(value).__name__ in {"NAType", "NaTType"}


def worker_threads(threads: SupportsIndex | None) -> int | None:
    """Check a number of threads; None means one per core."""
    return None if threads is None else at_least(1, threads, "threads")


def at_least(least: int, number: object, name: str) -> int:
    """Check a count.

    Examples
    --------
    >>> at_least(1, 3.0, "n")
    3
    >>> at_least(1, 0, "threads")
    Traceback (most recent call last):
    underturf.errors.ArgumentError: threads is 0; it must be at least 1
    >>> at_least(2, 2.5, "draws")
    Traceback (most recent call last):
    underturf.errors.ArgumentError: draws is 2.5; it must be a whole number, at least 2
    """
    count = whole(number, name, f"a whole number, at least {least}")
    if count < least:
        raise must_be(name, count, f"at least {least}")
    if count > MOST:
        raise ArgumentError(f"{name} is {count}; that is more than can be counted")
    return count


def draw_count(draws: object, name: str = "draws") -> int:
    """Check a number of draws: as many at least as the engine asks for.

    Examples
    --------
    >>> draw_count(1)
    Traceback (most recent call last):
    underturf.errors.ArgumentError: draws is 1; it must be at least 2
    """
    return at_least(int(_core.DEFAULTS["least_draws"]), draws, name)


def whole(value: object, name: str, allowed: str = "a whole number") -> int:
    """Check a whole number; 3.0 is one, True and "3" are none."""
    found = scalar(value)
    if isinstance(found, numbers.Integral):
        return int(found)
    if isinstance(found, float | Fraction | Decimal) and found == found // 1:
        return int(found)
    raise must_be(name, value, allowed)


def number(value: object, name: str) -> float:
    """Check a number. NaN is none; texts and booleans are none either.

    Examples
    --------
    >>> number("0.9", "p_detect")
    Traceback (most recent call last):
    underturf.errors.ArgumentError: p_detect is '0.9'; it must be a number, not a text
    """
    if isinstance(value, str):
        raise must_be(name, value, "a number, not a text")
    found = scalar(value)
    if found is None or found != found:
        raise must_be(name, value, "a number")
    try:
        return float(found)
    except OverflowError:
        raise ArgumentError(f"{name} is a number of {len(str(value))} digits; that is too large") from None


def scalar(value: object) -> numbers.Real | Decimal | None:
    """Return a number of any kind, numpy's too; None for what is none, booleans among them."""
    if hasattr(value, "item") and getattr(value, "ndim", 0) == 0:
        value = value.item()
    if isinstance(value, bool):
        return None
    return value if isinstance(value, numbers.Real | Decimal) else None


def length(value: object, name: str, unit_m: float = 1.0) -> float:
    """Return a length in metres: a number in a unit, or a text with its own.

    Examples
    --------
    >>> length(2, "reach_m"), length("2 ft", "reach_m"), length("14 ft 6 in", "reach_m")
    (2.0, 0.6096, 4.4196)
    >>> length("2", "--reach", 0.3048), length("40 cm", "--reach", 0.3048)
    (0.6096, 0.4)
    >>> length("1,5 m", "reach_m")
    Traceback (most recent call last):
    underturf.errors.ArgumentError: reach_m: "1,5 m" has a comma, ...; write 1.5 m
    """
    if isinstance(value, str):
        try:
            metres, has_unit = _core.read_length(value)
        except ArgumentError as error:
            raise at(name, error) from None
        return metres if has_unit else metres * unit_m
    found = number(value, name)
    if not math.isfinite(found):
        raise must_be(name, found, "finite")
    return found * unit_m


@contextmanager
def as_written(given: Mapping[str, object]) -> Iterator[None]:
    """Word a refusal of lengths in metres as they were given: a text with a unit of its own is named beside what it comes to.

    Examples
    --------
    >>> with as_written({"reach_m": "-1 ft"}):
    ...     raise ArgumentError("reach_m is -0.3048; it must be above 0 m and finite")
    Traceback (most recent call last):
    underturf.errors.ArgumentError: reach_m is '-1 ft', -0.3048 m; it must be above 0 m and finite
    """
    try:
        yield
    except ArgumentError as error:
        said = str(error)
        for name, value in given.items():
            if isinstance(value, str):
                found = re.match(rf"{re.escape(name)} is (\S+);", said)
                said = f"{name} is {value!r}, {found[1]} m;{said[found.end() :]}" if found else said
        raise ArgumentError(said) from None


def lengths(**given: object) -> tuple[float, ...]:
    """Return lengths in metres, in the order given, by the names of their arguments."""
    return tuple(length(value, name) for name, value in given.items())


def flag(value: object, name: str) -> bool:
    """Check true or false: "no" is neither, and 1 is a number.

    Examples
    --------
    >>> flag("no", "annex")
    Traceback (most recent call last):
    underturf.errors.ArgumentError: annex is 'no'; it must be True or False
    """
    if not isinstance(value, bool | np.bool_):
        raise must_be(name, value, "True or False")
    return bool(value)


def word(value: object, name: str, known: Iterable[str] = ()) -> str:
    """Check a word, and that it is known where a list is given.

    Examples
    --------
    >>> word("los", "by", ("loss", "p"))
    Traceback (most recent call last):
    underturf.errors.ArgumentError: by is 'los'; it must be 'loss' or 'p'; did you mean "loss"?
    """
    known = tuple(known)
    if not isinstance(value, str):
        allowed = either(map(repr, known)) if known else "a text"
        raise must_be(name, value, allowed)
    found = " ".join(value.split())
    if known and found not in known:
        hint = _core.spelling_hint(found, known)
        raise must_be(name, value, f"{either(map(repr, known))}{hint}")
    return found


def day(value: datetime.date | str | None, name: str) -> str | None:
    """Return a day as ``YYYY-MM-DD``.

    Examples
    --------
    >>> import datetime
    >>> day(datetime.date(2026, 5, 4), "date"), day("2026-05-04", "date"), day(None, "date")
    ('2026-05-04', '2026-05-04', None)
    >>> day("2026-02-30", "date")
    Traceback (most recent call last):
    underturf.errors.ArgumentError: date: "2026-02-30" is not a day of the calendar: that month has days 1 to 28, not 30
    """
    if absent(value):
        return None
    if isinstance(value, datetime.datetime):
        value = value.date()
    if isinstance(value, datetime.date):
        return value.isoformat()
    if not isinstance(value, str):
        raise ArgumentError(f"{name} is {value!r}; write a day as YYYY-MM-DD, or give a datetime.date")
    text = value.strip()
    try:
        _core.check_day(text)
    except ArgumentError as error:
        raise at(name, error) from None
    return text


def output(path: str | os.PathLike[str], endings: Sequence[str]) -> Path:
    """Check where something is to be written, before the work that makes it: the ending, and that the folder can be written to.

    Examples
    --------
    >>> output("sheet.docx", (".html", ".pdf"))
    Traceback (most recent call last):
    underturf.errors.ArgumentError: sheet.docx must end in .html or .pdf
    """
    found = as_path(path)
    if found.suffix.lower() not in endings:
        raise must_end(found, either(endings))
    if found.is_dir():
        raise IsADirectoryError(f"{found} is a folder; name a file in it")
    writable(found.parent, found.name)
    return found


def writable(folder: Path, what: str) -> None:
    """Check that a folder is there and can be written to."""
    if not folder.exists():
        raise FileNotFoundError(f"there is no folder {folder}; make it first, or write {what} elsewhere")
    if not folder.is_dir():
        raise NotADirectoryError(f"{folder} is a file, not a folder; write {what} elsewhere")
    if not os.access(folder, os.W_OK):
        raise PermissionError(f"the folder {folder} may not be written to; write {what} elsewhere")


def as_path(path: Any) -> Path:
    """Return the path of a file."""
    if not isinstance(path, str | os.PathLike):
        raise ArgumentError(f"{path!r} is no path; give the name of a file as a text or a path")
    return Path(path)


def either(words: Iterable[str]) -> str:
    """Join words as a choice.

    Examples
    --------
    >>> either((".html", ".pdf", ".png"))
    '.html, .pdf or .png'
    """
    *first, last = words
    return f"{', '.join(first)} or {last}" if first else last


def document_ending(path: Path) -> str:
    """Return the ending of a document's name, checked."""
    found = path.suffix.lower()
    if found not in DOCUMENT_ENDINGS:
        raise must_end(path, either(DOCUMENT_ENDINGS))
    return found


def document_text(text: object) -> str:
    """Check the text of a document."""
    if not isinstance(text, str):
        raise ArgumentError(
            f"the document is given as {type(text).__name__}; it must be a text (bytes: decode them as UTF-8)"
        )
    return text
