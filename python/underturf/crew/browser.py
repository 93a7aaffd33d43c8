"""The sheet as one HTML file: no other file, no script; a template (extra ``paper``) in which every text is escaped."""

from __future__ import annotations

from pathlib import Path

from underturf.crew.document import Data

__all__ = ["html"]

TEMPLATES = Path(__file__).parent / "templates"


def html(sheet: Data) -> str:
    """Write the sheet as HTML."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("sheet.html.jinja").render(sheet=sheet)
