"""Pieces of HTML: every text is escaped, tables have heads that repeat on paper."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

__all__ = ["Markup", "figure", "items", "paragraph", "section", "table"]


class Markup(str):
    """A text that is HTML already."""

    __slots__ = ()


def text_of(part: object) -> str:
    """Return a part as HTML.

    Examples
    --------
    >>> text_of("a < b"), text_of(Markup("<b>a</b>"))
    ('a &lt; b', '<b>a</b>')
    """
    return part if isinstance(part, Markup) else escape(str(part))


def paragraph(text: object, kind: str = "") -> Markup:
    """Return a paragraph."""
    return Markup(f"<p{kind and f' class={chr(34)}{kind}{chr(34)}'}>{text_of(text)}</p>")


def items(texts: Iterable[object]) -> Markup:
    """Return a list; nothing where there is nothing."""
    inside = "".join(f"<li>{text_of(text)}</li>" for text in texts)
    return Markup(f"<ul>{inside}</ul>" if inside else "")


def table(heads: Sequence[object], rows: Iterable[Sequence[object]], kind: str = "") -> Markup:
    """Return a table.

    Examples
    --------
    >>> table(["dig"], [["a < b"]])
    '<table class=""><thead><tr><th scope="col">dig</th></tr></thead><tbody><tr><td>a &lt; b</td></tr></tbody></table>'
    """
    head = "".join(f'<th scope="col">{text_of(cell)}</th>' for cell in heads)
    body = "".join("<tr>" + "".join(f"<td>{text_of(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return Markup(f'<table class="{kind}"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>')


def section(title: str, *parts: Markup) -> Markup:
    """Return a section under its heading."""
    return Markup(f"<section><h2>{escape(title)}</h2>{''.join(parts)}</section>")


def figure(png_base64: str, words: str) -> Markup:
    """Return a picture that is part of the page."""
    return Markup(
        f'<figure><img alt="{escape(words)}" src="data:image/png;base64,{png_base64}">'
        f"<figcaption>{escape(words)}</figcaption></figure>"
    )
