"""The sheet on paper: the typesetter (extra ``paper``) reads a fixed template, the sheet as JSON and the maps as SVG.

Its fonts are the one that matplotlib brings along and those in its own wheel, never those of the machine: the same sheet has
the same pages everywhere.
"""

from __future__ import annotations

import functools
import io
import json
import re
from pathlib import Path
from typing import Any, Protocol, cast

from underturf.crew.document import Data
from underturf.plotting.names import drawable

__all__ = ["FONT", "pdf", "png", "printable", "source"]

#: The font of the sheet.
FONT = "DejaVu Sans"

TEMPLATE = Path(__file__).parent / "templates" / "sheet.typ"

#: Dots per inch of a PNG.
DPI = 150.0

#: Letters of one word after which a line may break: a name of 300 letters must not run off the paper.
LONGEST = 22

#: A place where a line may break that nobody sees.
MAY_BREAK = "\u200b"

#: Bytes that the opening tag of a page's SVG may take; the height in it, points.
HEAD = 400
HEIGHT = re.compile(rb'<svg[^>]* height="([0-9.]+)pt"')

#: Keys whose values are no text: files and pictures.
NOT_TEXT = frozenset({"kind", "file", "svg", "font"})


def printable(text: str) -> str:
    r"""Return a text as paper holds it: signs that the font lacks shown by one that it has, long words that may break.

    Examples
    --------
    >>> printable("x" * 50).split("\u200b") == ["x" * 22, "x" * 22, "x" * 6]
    True
    """
    return "\n".join(_line(line) for line in text.splitlines())


def _line(line: str) -> str:
    words = drawable(line, (FONT,)).split(" ")
    return " ".join(
        MAY_BREAK.join(word[k : k + LONGEST] for k in range(0, len(word), LONGEST)) if len(word) > LONGEST else word
        for word in words
    )


def ready(value: Any) -> Any:
    """Return data with every text made printable and without the pictures, which are files of their own."""
    if isinstance(value, dict):
        kept = {key: item for key, item in value.items() if key != "svg"}
        return {key: item if key in NOT_TEXT else ready(item) for key, item in kept.items()}
    if isinstance(value, list):
        return [ready(item) for item in value]
    return printable(value) if isinstance(value, str) else value


def pictures(value: Any) -> dict[str, bytes]:
    """Return every picture in data by the name of its file."""
    found: dict[str, bytes] = {}
    if isinstance(value, dict):
        if "svg" in value:
            found[value["file"]] = value["svg"].encode()
        value = list(value.values())
    if isinstance(value, list):
        for item in value:
            found |= pictures(item)
    return found


def source(sheet: Data) -> dict[str, bytes]:
    """Return the files that the typesetter reads."""
    data = json.dumps({**ready(sheet), "font": FONT}, ensure_ascii=False)
    return {"main.typ": TEMPLATE.read_bytes(), "sheet.json": data.encode(), **pictures(sheet)}


@functools.cache
def fonts() -> str:
    """Return the folder of the fonts that matplotlib brings along."""
    import matplotlib as mpl

    return str(Path(mpl.get_data_path()) / "fonts" / "ttf")


class Compile(Protocol):
    """How the typesetter is called: its own types leave out that it takes files in memory and returns a picture for each page."""

    def __call__(
        self,
        input: dict[str, bytes],
        *,
        font_paths: list[str],
        ignore_system_fonts: bool,
        format: str,
        ppi: float | None,
    ) -> bytes | list[bytes]:
        """Set files whose main one is ``main.typ``."""
        ...


def compiled(sheet: Data, ending: str) -> list[bytes]:
    """Set the sheet; return one PDF, or a PNG for each page."""
    import typst

    compile_ = cast(Compile, typst.compile)
    found = compile_(
        source(sheet),
        font_paths=[fonts()],
        ignore_system_fonts=True,
        format=ending,
        ppi=None if ending == "pdf" else DPI,
    )
    return [found] if isinstance(found, bytes) else found


def heights(sheet: Data, parts: list[Data]) -> list[float]:
    """Measure parts of a sheet.

    Parameters
    ----------
    sheet : dict
        Title, subtitle and paper of the sheet.
    parts : list of dict
        Each with its ``width``, inches, whether the ``title`` stands above, and ``blocks``.

    Returns
    -------
    list of float
        Height of each, inches.
    """
    pages = compiled({**sheet, "parts": parts}, "svg")
    return [float(high) / 72 for page in pages for high in HEIGHT.findall(page[:HEAD])]


def pdf(sheet: Data) -> bytes:
    """Set the sheet as PDF."""
    (found,) = compiled(sheet, "pdf")
    return found


def png(sheet: Data) -> bytes:
    """Set the sheet as one picture, its pages one below the other; pages that lie across are as they are."""
    from PIL import Image  # matplotlib needs it

    pages = [Image.open(io.BytesIO(page)).convert("RGB") for page in compiled(sheet, "png")]
    whole = Image.new("RGB", (max(page.width for page in pages), sum(page.height for page in pages)), "white")
    top = 0
    for page in pages:
        whole.paste(page, (0, top))
        top += page.height
    stream = io.BytesIO()
    whole.save(stream, format="png", dpi=(DPI, DPI))
    return stream.getvalue()
