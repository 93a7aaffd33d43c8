"""``underturf check``: read a site document and say what it holds, or everything that is wrong with it."""

from __future__ import annotations

from underturf.commands.answers import Answer, about, say
from underturf.commands.given import SITE, Given, command
from underturf.commands.reading import read_document
from underturf.site_tables import LISTS

__all__ = ["check"]


@command("check", SITE)
def check(given: Given) -> None:
    """Read a site document; list every fault, or say what it holds."""
    site = read_document(given)
    known, document = about(site), site.to_dict()
    entries = {key: len(value) for key in LISTS if isinstance(value := document.get(key, []), list)}
    notes = [f"Note: {warning}" for warning in site.warnings]
    text = "\n".join([str(site), *notes, *([""] if notes else []), "The document is in order."])
    rows = [note._asdict() for note in site.notes]
    shown = known if given.state.json else {**known, "warnings": []}  # they stand in the text already
    say(given, Answer(text=text, about=shown, rows=rows, result={"entries": entries, "digs": site.dig_ids}))
