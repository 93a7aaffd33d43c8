"""``underturf sample``: layouts drawn once and kept in one file, for every other command to ask."""

from __future__ import annotations

import underturf as ut
from underturf.commands.answers import Answer, about, say
from underturf.commands.given import SAMPLING, SITE, Given, command, out_option
from underturf.commands.reading import read_document
from underturf.commands.sampling import sampled
from underturf.commands.writing import target

__all__ = ["sample"]


@command("sample", SITE, out_option("Where to, .nc;", "layouts.nc"), SAMPLING)
def sample(given: Given) -> None:
    """Draw layouts and keep them in one file, which every command takes in place of the site document."""
    site = read_document(given)
    place = target(given, (".nc",), "layouts.nc")
    layouts = sampled(given, site)
    text = ""
    if place is not None:
        with place.file() as path:
            layouts.save(path)
        text = f"{place.said('Layouts', layouts.converged)}\n\n{ut.caution_text()}"
    say(given, Answer(text=text, about=about(layouts), files=[] if place is None else place.files))
