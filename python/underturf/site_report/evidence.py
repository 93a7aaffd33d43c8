"""What the report says of a site before any chance: what was seen, what is odd, what was assumed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from underturf.settings import settings_table
from underturf.site_report.markup import Markup, items, paragraph, section, table
from underturf.site_tables import LISTS, counted

if TYPE_CHECKING:
    from underturf.layouts import Layouts
    from underturf.results import Sensitivity
    from underturf.site import Site

__all__ = ["assumptions", "evidence"]


def evidence(layouts: Layouts) -> Markup:
    """Return the section on what was seen and noted."""
    document = layouts.site._document()
    held = [(key, len(document.get(key, []))) for key in LISTS]
    rows = [[counted(key, count)] for key, count in held if count]
    absent = [key.replace("_", " ") for key, count in held if not count]
    edge = "The boundary is given." if document.get("boundary") else "No boundary is given."
    survey = f" The survey is of {document['date']}." if document.get("date") else " No day of the survey is given."
    said = dict.fromkeys([*layouts.site.warnings, *layouts.warnings])
    return section(
        "Evidence",
        paragraph(edge + survey),
        items(row[0] for row in rows),
        paragraph(f"The document holds no {', '.join(absent)}.") if absent else Markup(),
        Markup("<h3>Notes</h3>"),
        items(said) if said else paragraph("No note: nothing of the document is odd or left out."),
    )


def assumptions(site: Site, effects: Sensitivity | None) -> Markup:
    """Return the section on settings: those that differ from what is shipped, and those that were moved."""
    shipped = settings_table()
    changed = site._document().get("settings", {})
    rows = [
        [
            name,
            f"{value:g}",
            f"{shipped.loc[name, 'default']:g}",
            shipped.loc[name, "unit"],
            shipped.loc[name, "meaning"],
        ]
        for name, value in changed.items()
    ]
    heads = ["setting", "here", "as shipped", "unit", "meaning and source"]
    parts = [
        table(heads, rows, "settings")
        if rows
        else paragraph(f"All {len(shipped)} settings of the model of layouts are as shipped.")
    ]
    if effects is not None and len(effects):
        moved = {effect.setting: effect for effect in effects}
        used = [[name, f"{of.value:g}", of.unit, shipped.loc[name, "meaning"]] for name, of in sorted(moved.items())]
        parts += [
            Markup("<h3>Settings that were moved in the next section</h3>"),
            table(["setting", "here", "unit", "meaning and source"], used, "settings"),
        ]
    parts.append(
        paragraph(
            "Most settings are common practice without a published source. A document can change every one of them."
        )
    )
    return section("Assumptions", *parts)
