"""The user's own words: what codes, columns, layers and blocks of the files mean, and what they leave unsaid.

A mapping is a TOML file or a dict. A key that nobody knows is a fault, with a hint; all faults come at once.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from underturf import _core
from underturf._checks import as_path
from underturf.errors import ArgumentError, must_be
from underturf.survey.codes import SHAPES, Code, code_key, shipped_codes
from underturf.survey.faults import Faults
from underturf.survey.keys import COLUMN_KEYS, entry_keys
from underturf.survey.units import unit_named

__all__ = ["FileWords", "SurveyMapping", "read_mapping"]

#: Keys of a mapping.
KEYS = ("units", "decimal", "codes", "columns", "layers", "blocks", "defaults", "files")

#: Keys of a file in a mapping.
FILE_KEYS = ("code", "units", "crs", "header")

#: The word for what is left out on purpose.
IGNORE = "ignore"


@dataclass(frozen=True, slots=True)
class FileWords:
    """What a mapping says of one file; None where it says nothing.

    Attributes
    ----------
    code : str or None
        Code of everything in it that has none.
    units : str or None
        Unit of its lengths.
    crs : str or None
        Its coordinate reference system; ``"local"`` for the plane of the site.
    header : tuple of str or None
        Names of the columns of a table without a header row.
    """

    code: str | None = None
    units: str | None = None
    crs: str | None = None
    header: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class SurveyMapping:
    """A mapping, checked.

    Attributes
    ----------
    codes, layers, blocks : mapping
        What words, layers and blocks make, by their `code_key`; ``codes`` has the shipped table too.
    columns : mapping
        Header in small letters -> key.
    defaults : mapping
        List -> what its entries say where the file does not.
    files : mapping
        Name of a file -> what is said of it.
    units : str or None
        Unit of lengths that name none, here and in files that do not tell.
    decimal : str
        Mark of decimals in tables.
    """

    codes: Mapping[str, Code]
    layers: Mapping[str, Code] = field(default_factory=dict)
    blocks: Mapping[str, Code] = field(default_factory=dict)
    columns: Mapping[str, str] = field(default_factory=dict)
    defaults: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    files: Mapping[str, FileWords] = field(default_factory=dict)
    units: str | None = None
    decimal: str = "."


def read_mapping(given: Mapping[str, Any] | str | os.PathLike[str] | None, units: str | None) -> SurveyMapping:
    """Read and check a mapping.

    Parameters
    ----------
    given : mapping, path or None
        A dict, the path of a TOML file, or nothing.
    units : str or None
        Unit of its lengths where it names none.

    Raises
    ------
    ArgumentError
        With every fault.
    OSError
        If the file cannot be read.
    """
    if given is None:
        return SurveyMapping(shipped_codes(), units=units)
    name = "mapping"
    if not isinstance(given, Mapping):
        path = as_path(given)
        name, given = path.name, mapping_file(path)
    faults = Faults()
    found = checked(given, name, units, faults)
    faults.stop()
    return found


def mapping_file(path: Path) -> dict[str, Any]:
    """Return what a mapping file holds."""
    if path.suffix.lower() != ".toml":
        raise ArgumentError(f"{path.name} must end in .toml: a mapping is a TOML file or a dict")
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise ArgumentError(f"{path.name}: the mapping is no TOML: {error}") from None


def checked(given: Mapping[str, Any], name: str, units: str | None, faults: Faults) -> SurveyMapping:
    """Return the mapping; note what is wrong with it."""
    for key in given:
        if key not in KEYS:
            faults.add(name, str(key), f"is no key of a mapping; there are {', '.join(KEYS)}{hint(key, KEYS)}")
    parts = {}
    for key in KEYS[2:]:
        parts[key] = given.get(key, {})
        if not isinstance(parts[key], Mapping):
            faults.add(name, key, f"is {parts[key]!r}; it must be a table")
            parts[key] = {}
    unit = tried(faults, name, lambda: unit_named(given["units"], "units")) if "units" in given else units
    decimal = given.get("decimal", ".")
    if decimal not in (".", ","):
        faults.add(name, "decimal", f'is {decimal!r}; it must be "." or ","')
    codes = shipped_codes()
    made = {
        kind: {code_key(str(word)): code_of(said, f"{kind}.{word}", name, faults) for word, said in parts[kind].items()}
        for kind in ("codes", "layers", "blocks")
    }
    for code in [code for table in made.values() for code in table.values()]:
        bare_lengths(code.set, unit, name, f"what {code.code} sets", faults)
    for owner, entry in parts["defaults"].items():
        check_entry(owner, entry, f"defaults.{owner}", name, faults)
        bare_lengths(entry if isinstance(entry, Mapping) else {}, unit, name, f"defaults.{owner}", faults)
    return SurveyMapping(
        codes={**codes, **made["codes"]},
        layers=made["layers"],
        blocks=made["blocks"],
        columns=columns_of(parts["columns"], name, faults),
        defaults={key: dict(entry) for key, entry in parts["defaults"].items() if isinstance(entry, Mapping)},
        files={key: file_words(said, f"files.{key}", name, faults) for key, said in parts["files"].items()},
        units=unit,
        decimal=decimal,
    )


def hint(word: object, known: Any) -> str:
    """Return what may have been meant."""
    return _core.spelling_hint(str(word), list(known))


def tried(faults: Faults, name: str, call: Any) -> Any:
    """Return what a check returns; note its refusal instead of raising it."""
    try:
        return call()
    except ArgumentError as error:
        faults.add(name, "", error)
        return None


def code_of(said: object, place: str, name: str, faults: Faults) -> Code:
    """Return what a word of the mapping makes: what another word makes, nothing, or an entry of a list."""
    known = shipped_codes()
    word = place.partition(".")[2]
    if isinstance(said, str):
        if said.lower() == IGNORE:
            return Code(word, "", "any", meaning="left out by the mapping")
        found = known.get(code_key(said))
        if found is None:
            more = hint(said.upper(), known)
            faults.add(
                name,
                place,
                f"is {said!r}; it must be a word of the code table, {IGNORE!r} or a table with a list{more}",
            )
        return found or Code(word, "", "any")
    if not isinstance(said, Mapping) or not isinstance(said.get("list"), str):
        faults.add(name, place, f"is {said!r}; it must be a word of the code table, {IGNORE!r} or a table with a list")
        return Code(word, "", "any")
    owner = said["list"]
    entry = {key: value for key, value in said.items() if key != "list"}
    check_entry(owner, entry, place, name, faults)
    return Code(word, owner, SHAPES.get(owner, "any"), entry, f"{word}, by the mapping")


def check_entry(owner: str, entry: object, place: str, name: str, faults: Faults) -> None:
    """Check keys that a mapping gives to the entries of a list."""
    lists = [key for key in SHAPES if key]
    if owner not in SHAPES or not owner:
        faults.add(name, place, f"there is no list {owner!r}; there are {', '.join(lists)}{hint(owner, lists)}")
        return
    if not isinstance(entry, Mapping):
        faults.add(name, place, f"is {entry!r}; it must be a table")
        return
    known = entry_keys(owner)
    for key in entry:
        if key not in known:
            said = ", ".join(sorted(known)) or "none"
            faults.add(name, f"{place}.{key}", f"is no key of {owner}; there are {said}{hint(key, known)}")


def bare_lengths(entry: Mapping[str, Any], unit: str | None, name: str, place: str, faults: Faults) -> None:
    """Note numbers that stand for lengths where nobody says in which unit."""
    from underturf.survey.keys import LENGTH_KEYS

    bare = [key for key in entry if key in LENGTH_KEYS and isinstance(entry[key], int | float)]
    if bare and unit is None:
        faults.add(
            name,
            place,
            f'{bare[0]} = {entry[bare[0]]} has no unit: write "{entry[bare[0]]} ft", or units = "ft" in the mapping',
        )


def columns_of(given: Mapping[str, Any], name: str, faults: Faults) -> dict[str, str]:
    """Return what columns are called."""
    found = {}
    for header, key in given.items():
        if not isinstance(key, str) or (key not in COLUMN_KEYS and key != IGNORE):
            more = hint(key, COLUMN_KEYS)
            faults.add(
                name, f"columns.{header}", f"is {key!r}; it must be {IGNORE!r} or a key such as x, y, code, id{more}"
            )
        else:
            found[str(header).strip().lower()] = key
    return found


def file_words(said: object, place: str, name: str, faults: Faults) -> FileWords:
    """Return what is said of one file."""
    if not isinstance(said, Mapping):
        faults.add(name, place, f"is {said!r}; it must be a table")
        return FileWords()
    for key in said:
        if key not in FILE_KEYS:
            faults.add(
                name, f"{place}.{key}", f"is no key of a file; there are {', '.join(FILE_KEYS)}{hint(key, FILE_KEYS)}"
            )
    for key in ("code", "crs"):
        if key in said and not isinstance(said[key], str):
            faults.add(name, "", must_be(f"{place}.{key}", said[key], "a text"))
    header = said.get("header")
    if header is not None and not (isinstance(header, list | tuple) and all(isinstance(of, str) for of in header)):
        faults.add(name, f"{place}.header", f"is {header!r}; it must be a list of names of columns")
        header = None
    units = tried(faults, name, lambda: unit_named(said["units"], f"{place}.units")) if "units" in said else None
    code, crs = (str(said[key]) if key in said else None for key in ("code", "crs"))
    return FileWords(code, units, crs, None if header is None else tuple(header))
