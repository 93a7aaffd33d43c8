"""Names printed as they are written.

A name of a document may hold anything: a pair of dollar signs, which matplotlib would read as a formula; line breaks; 300
letters; signs that the font does not have, each of which would be a warning and an empty box. What stands here keeps them
harmless, and every text of a document goes through it on its way to matplotlib.
"""

from __future__ import annotations

import functools
import unicodedata

__all__ = ["BESIDE", "clean", "drawable", "legend_name", "literal"]

#: Stands for a sign that the font does not have; the font that matplotlib brings along has it.
NO_GLYPH = "\ufffd"

#: A blank at which no line ends.
NO_BREAK = "\u00a0"

#: Most letters of a name in a legend, and beside a thing; longer ones keep their beginning and their end.
IN_LEGEND, BESIDE = 32, 24

#: Kinds of signs that draw nothing and may do harm: controls, marks of direction and joining, halves of pairs, private ones.
UNSEEN = ("Cc", "Cf", "Cs", "Co")


def clean(text: object, most: int | None = None, families: tuple[str, ...] | None = None) -> str:
    r"""Write a name in one line: blanks for line breaks, no signs that nobody sees, a box for those that the font lacks.

    Parameters
    ----------
    text : object
        The name.
    most : int, optional
        Letters that it may have; a longer one keeps its beginning and its end, since names of a list often differ there.
    families : tuple of str, optional
        Fonts that are tried in turn; those of matplotlib's settings if not given.

    Examples
    --------
    >>> clean("bed\nby the\tgate")
    'bed by the gate'
    >>> clean("the long bed behind the garage, part 2", 20)
    'the long bed… part 2'
    """
    line = " ".join("".join(_seen(character) for character in str(text)).split())
    if most is not None and len(line) > most:
        tail = (most - 1) * 2 // 5
        line = f"{line[: most - 1 - tail].rstrip()}…{line[len(line) - tail :]}"
    return drawable(line, _families() if families is None else families)


def drawable(text: str, families: tuple[str, ...]) -> str:
    """Replace what none of the fonts can draw, sign by sign; blanks stay as they are."""
    return "".join(_drawn(character, families) for character in text)


def literal(text: str) -> str:
    r"""Keep matplotlib from reading a formula: the text is printed as it is, dollar signs and all.

    Called last, on lines that are wrapped already: a break between the two signs would undo it.

    Examples
    --------
    >>> literal("cost $5 & $6")
    'cost \\$5 & \\$6'
    """
    return text.replace("$", r"\$")


def legend_name(text: object) -> str:
    """Write a name for a legend: shortened, printed as it is."""
    return literal(clean(text, IN_LEGEND))


def _seen(character: str) -> str:
    """Return a character, a blank for white space, nothing for what nobody sees."""
    if character.isspace():
        return " "
    unseen = unicodedata.category(character) in UNSEEN or "\ufe00" <= character <= "\ufe0f"
    return "" if unseen else character


def _families() -> tuple[str, ...]:
    """Return the fonts of matplotlib's settings."""
    import matplotlib as mpl

    family = mpl.rcParams["font.family"]
    return (family,) if isinstance(family, str) else tuple(family)


@functools.lru_cache(maxsize=20_000)
def _drawn(character: str, families: tuple[str, ...]) -> str:
    """Return a character, or what stands for it where none of the fonts has it."""
    if character in (" ", NO_BREAK, NO_GLYPH):
        return character
    seen = _seen(character)
    if seen in ("", " "):
        return seen
    from matplotlib.font_manager import FontProperties, findfont, get_font

    for weight in ("normal", "bold"):  # titles and words on drawings are bold, and bold fonts have fewer signs
        paths = {findfont(FontProperties(family=[family], weight=weight)) for family in families}
        if not any(get_font(path).get_char_index(ord(seen)) for path in paths):
            return NO_GLYPH
    return seen
