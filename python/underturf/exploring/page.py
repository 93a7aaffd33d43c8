"""The page as one HTML file: the map library, our own script and style, and the content as data that nothing runs.

Its Content-Security-Policy lets scripts and styles run by their hash alone and forbids every request: the page never asks a
network for anything.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from functools import cache
from html import escape
from pathlib import Path
from string import Template
from typing import Any

__all__ = ["as_data", "html", "script", "style_sheet"]

HERE = Path(__file__).parent

#: Our own files in the order in which they build on each other.
SCRIPTS = (
    *(
        "data",
        "words",
        "grid",
        "signs",
        "lettering",
        "ground",
        "known",
        "lines",
        "surface",
        "layers",
        "answer",
        "place",
        "frame",
    ),
    "mount",
)


def html(content: dict[str, Any]) -> str:
    """Write the page.

    Examples
    --------
    >>> text = html({"site": {"name": "</script> & co"}})
    >>> "&lt;/script&gt; &amp; co" in text, text.count("</script>")
    (True, 2)
    """
    run = f"{script()}\nunderturf.open();"
    look = style_sheet()
    policy = (
        f"default-src 'none'; script-src '{digest(run)}'; style-src '{digest(look)}'; img-src data:; base-uri 'none'; "
        "form-action 'none'"
    )
    return Template(text_of("page/page.html")).substitute(
        policy=policy,
        title=escape(str(content["site"]["name"])),
        style=look,
        content=as_data(content),
        script=run,
    )


def as_data(content: dict[str, Any]) -> str:
    r"""Write content as JSON that can stand in a page: no text in it can end the element that it stands in.

    Examples
    --------
    >>> as_data({"name": "</script><!--"})
    '{"name":"\\u003c/script\\u003e\\u003c!--"}'
    """
    text = json.dumps(content, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def digest(text: str) -> str:
    """Return the hash by which a policy lets an element run."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


@cache
def script() -> str:
    """Return the script: the map library under its licence, then ours; it declares ``underturf``."""
    library = re.sub(r"//# sourceMappingURL=\S*", "", text_of("vendor/leaflet.js"))
    own = "\n".join(text_of(f"page/{name}.js") for name in SCRIPTS)
    return Template(text_of("page/script.js")).substitute(
        licence=text_of("vendor/LICENSE-leaflet").strip(), library=library.strip(), own=own
    )


@cache
def style_sheet() -> str:
    """Return the style: the map library's without its pictures, which the page does not use, then ours."""
    library = re.sub(r"url\([^)]*\)", "none", text_of("vendor/leaflet.css"))
    return f"{library}\n{text_of('page/page.css')}"


def text_of(name: str) -> str:
    """Return the text of a file that is part of the package."""
    return (HERE / name).read_text(encoding="utf-8")
