"""A TOML document written onto a file that is there: its comments, order and way of writing stay; what differs changes.

The file is read by a library that keeps its style. Values that say the same, like ``2`` and ``2.0``, stay as they were written.
"""

from __future__ import annotations

import datetime
import json
import tomllib
from collections.abc import Callable, Mapping, MutableMapping, Sequence
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

from underturf._extras import needs
from underturf.errors import ArgumentError

__all__ = ["fresh_toml", "kept_toml"]

#: Comment of an entry by list and position; empty where there is none.
Remark = Callable[[str, int], str]


def no_remark(_list: str, _index: int) -> str:
    """Say nothing about an entry."""
    return ""


def kept_toml(path: Path, document: Mapping[str, Any], plain: str, remark: Remark = no_remark) -> str:
    """Return a document as TOML in the style of the file that it will replace.

    Parameters
    ----------
    path : Path
        The file; it is only read.
    document : mapping
        What it shall say.
    plain : str
        The same as TOML in no particular style, for a file without comments where the library is not installed.
    remark : callable, optional
        Comment of an entry that is new, by list and position.

    Raises
    ------
    ArgumentError
        If the file is no TOML, or has comments and the library that keeps them is not installed.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
        tomllib.loads(text)
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise ArgumentError(
            f"{path.name} is there and is no TOML ({error}), so its comments cannot be kept; mend it, write elsewhere, "
            "or write over it: keep_comments=False"
        ) from None
    try:
        needs("keeping comments", "tomlkit")
    except ImportError:
        if "#" not in text:
            return plain
        raise ArgumentError(
            f"{path.name} has comments, and what keeps them is not installed: pip install 'underturf[toml]'; or write "
            "over them: keep_comments=False"
        ) from None
    return restyled(text, document, remark)


def restyled(text: str, document: Mapping[str, Any], remark: Remark = no_remark) -> str:
    r"""Return the document in the style of a text.

    Examples
    --------
    >>> print(restyled("units = 'm' # metres\nx = [1, 2]", {"units": "m", "x": [1.0, 3.0], "name": "a"}))
    units = 'm' # metres
    x = [1, 3.0]
    name = "a"
    """
    import tomlkit

    if says(text, document):
        return text
    styled = tomlkit.parse(text)
    for key in list(styled):
        if key not in document and not empty(plain_value(styled[key])):
            del styled[key]
    for key, value in document.items():
        settle(styled, key, value, remark)
    made = tomlkit.dumps(styled)
    if not says(made, document):
        raise ArgumentError(
            "the file is written in a way that cannot be kept while what it says changes; write over it: keep_comments=False"
        )
    return made


def says(text: str, document: Mapping[str, Any]) -> bool:
    """Whether a text says a document; keys that hold nothing do not count."""
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return same({key: value for key, value in found.items() if key in document or not empty(value)}, dict(document))


def settle(holder: MutableMapping[str, Any], key: str, value: Any, remark: Remark = no_remark) -> None:
    """Make a key say a value, changing no more than needed."""
    import tomlkit

    if key not in holder:
        holder[key] = remarked_list(key, value, remark) if table_list(value) else tomlkit.item(value)
        return
    old = holder[key]
    if same(plain_value(old), value):
        return
    if isinstance(old, MutableMapping) and isinstance(value, Mapping):
        for name in [name for name in old if name not in value]:
            del old[name]
        for name, inner in value.items():
            settle(old, name, inner)
    elif isinstance(old, list) and isinstance(value, list) and table_list(plain_value(old)) == table_list(value):
        settle_list(old, value, key, remark)
    elif isinstance(old, list | MutableMapping) or isinstance(value, list | Mapping):
        del holder[key]
        holder[key] = tomlkit.item(value)
    else:
        holder[key] = worded(old, value)


def worded(old: Any, value: Any) -> Any:
    """Return a value as an item that keeps the comment and the blanks of the old one."""
    import tomlkit

    new = tomlkit.item(value)
    trivia = getattr(old, "trivia", None)
    if trivia is not None and getattr(new, "trivia", None) is not None:
        new.trivia.comment, new.trivia.comment_ws, new.trivia.trail = trivia.comment, trivia.comment_ws, trivia.trail
    return new


def settle_list(old: Any, value: list[Any], key: str, remark: Remark) -> None:
    """Make a list say its entries: those that stay keep their lines, others are changed, taken out or put in."""
    import tomlkit

    before, after = [name_of(plain_value(item)) for item in old], [name_of(item) for item in value]
    steps = SequenceMatcher(None, before, after, autojunk=False).get_opcodes()
    for what, i0, i1, j0, j1 in reversed(steps):
        shared = i1 - i0 if what == "equal" else min(i1 - i0, j1 - j0) if what == "replace" else 0
        for k in reversed(range(i0 + shared, i1)):
            del old[k]
        for n, item in enumerate(value[j0 + shared : j1]):
            made = entry_of(old, item)
            said = remark(key, j0 + shared + n)
            if said and type(old).__name__ == "Array" and i0 + shared + n == len(old) and isinstance(item, Mapping):
                old.add_line(made, indent="  ", comment=said)
                continue
            old.insert(i0 + shared + n, made)
            if said and type(old).__name__ == "AoT":
                made.comment(said)
        for k in range(shared):
            was, now = old[i0 + k], value[j0 + k]
            if same(plain_value(was), now):
                continue
            if isinstance(was, MutableMapping) and isinstance(now, Mapping):
                for name in [name for name in was if name not in now]:
                    del was[name]
                for name, inner in now.items():
                    settle(was, name, inner)
            elif isinstance(was, list) and isinstance(now, list):
                settle_list(was, now, key, no_remark)
            else:
                old[i0 + k] = tomlkit.item(now)


def entry_of(holder: Any, item: Any) -> Any:
    """Return an entry in the form of its list: a table of its own, or one on a line."""
    import tomlkit

    if not isinstance(item, Mapping) or type(holder).__name__ == "AoT":
        return tomlkit.item(item)
    return inline(item)


def inline(entry: Mapping[str, Any]) -> Any:
    """Return an entry as a table on one line."""
    import tomlkit

    table = tomlkit.inline_table()
    for name, value in entry.items():
        table.append(name, inline(value) if isinstance(value, Mapping) else value)
    return table


def remarked_list(key: str, entries: Sequence[Mapping[str, Any]], remark: Remark) -> Any:
    """Return a list of entries, one on a line, each with its comment."""
    import tomlkit

    lines = tomlkit.array()
    for k, entry in enumerate(entries):
        lines.add_line(inline(entry), indent="  ", comment=remark(key, k) or None)
    lines.add_line(indent="")
    return lines


def fresh_toml(document: Mapping[str, Any], remark: Remark, head: Sequence[str]) -> str:
    """Return a document as new TOML, with comments at its head and at its entries.

    Examples
    --------
    >>> remark = lambda key, k: "a.csv" if key == "trees" else ""
    >>> print(fresh_toml({"units": "m", "trees": [{"x": 1.0}]}, remark, ["New."]), end="")
    # New.
    units = "m"
    trees = [
      {x = 1.0}, # a.csv
    ]
    """
    import tomlkit

    made = tomlkit.document()
    for line in head:
        made.add(tomlkit.comment(line))
    tables = {key: value for key, value in document.items() if isinstance(value, Mapping)}
    for key, value in {**{key: document[key] for key in document if key not in tables}, **tables}.items():
        made.add(key, remarked_list(key, value, remark) if table_list(value) else tomlkit.item(value))
        said = remark(key, 0)
        if said and not table_list(value):
            made[key].comment(said)
    return tomlkit.dumps(made).rstrip("\n") + "\n"


def table_list(value: Any) -> bool:
    """Whether a value is a list of tables."""
    return isinstance(value, list) and bool(value) and all(isinstance(item, Mapping) for item in value)


def plain_value(item: Any) -> Any:
    """Return an item of the library as Python has it."""
    return item.unwrap() if hasattr(item, "unwrap") else item


def name_of(item: Any) -> str:
    """Return what an entry is known by in its list: its id, or all of it."""
    if isinstance(item, Mapping) and item.get("id") is not None:
        return f"id {item['id']}"
    return json.dumps(folded(item), sort_keys=True, default=str)


def folded(item: Any) -> Any:
    """Return a value so that those that say the same are equal: numbers as such, days as texts."""
    if isinstance(item, Mapping):
        return {key: folded(value) for key, value in item.items()}
    if isinstance(item, list):
        return [folded(value) for value in item]
    if isinstance(item, datetime.date):
        return item.isoformat()
    return float(item) if isinstance(item, int) and not isinstance(item, bool) else item


def empty(item: Any) -> bool:
    """Whether a value says nothing, so that its key may stay."""
    return isinstance(item, list | Mapping) and not item


def same(old: Any, new: Any) -> bool:
    """Whether two values say the same in a document: a whole number in place of a name is that name.

    Examples
    --------
    >>> same(2, 2.0), same(7, "7"), same([1, {"a": 2}], [1.0, {"a": 2.0}]), same(2.5, "2.5"), same(True, 1)
    (True, True, True, False, False)
    """
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        return old.keys() == new.keys() and all(same(old[key], new[key]) for key in new)
    if isinstance(old, list) and isinstance(new, list):
        return len(old) == len(new) and all(same(a, b) for a, b in zip(old, new, strict=True))
    if isinstance(old, int) and not isinstance(old, bool) and isinstance(new, str):
        return str(old) == new
    if isinstance(old, datetime.date):
        return bool(old.isoformat() == new)
    return isinstance(old, bool) == isinstance(new, bool) and bool(old == new)
