"""The report as one HTML file: no script, no other file, for the screen and for paper."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from importlib.metadata import version
from pathlib import Path
from string import Template
from typing import TYPE_CHECKING

from underturf.cautions import CAUTIONS, NOT_CONVERGED
from underturf.site_report import answers, evidence, running
from underturf.site_report.markup import Markup, figure, items, paragraph, section
from underturf.site_report.pictures import map_picture, plan_picture

if TYPE_CHECKING:
    from underturf.layouts import Layouts
    from underturf.options import Running
    from underturf.results import Assessment, Sensitivity

__all__ = ["Report", "report_html"]

HERE = Path(__file__).parent


@dataclass(frozen=True, eq=False)
class Report:
    """What a report tells: worked out before anything is written."""

    layouts: Layouts
    assessment: Assessment
    effects: Sensitivity | None
    why_not: str
    day: str


def report_html(report: Report, run: Running | None = None) -> str:
    """Write the report."""
    layouts, assessment = report.layouts, report.assessment
    converged = layouts.converged and assessment.converged and (report.effects is None or report.effects.converged)
    alarm = "" if converged else paragraph(NOT_CONVERGED, "alarm")
    cautions = Markup("<aside class='cautions'><h2>Before you dig</h2>") + items(CAUTIONS) + Markup("</aside>")
    picture, what = map_picture(layouts, run)
    maps = section(
        "Maps",
        figure(plan_picture(layouts, assessment), "Plan of the site, its digs, and a few sampled layouts."),
        figure(
            picture,
            f"Chance of a strike at each place: {what}. Hatched: the mark or the flags count there, not the chance.",
        ),
    )
    parts = [
        answers.digs(assessment),
        maps,
        evidence.evidence(layouts),
        evidence.assumptions(layouts.site, report.effects),
        answers.matters(report.effects, report.why_not),
        running.convergence(layouts),
        running.reproducing(layouts, report.day),
    ]
    name = layouts.site.name or "Site without a name"
    made = f"underturf {version('underturf')}, {layouts.draws} draws, seed {layouts.seed}, report of {report.day}"
    return Template((HERE / "page.html").read_text(encoding="utf-8")).substitute(
        title=escape(name),
        style=(HERE / "page.css").read_text(encoding="utf-8"),
        paper="Letter" if layouts.site.units == "ft" else "A4",
        alarm=alarm,
        cautions=cautions,
        made=escape(made),
        parts="\n".join(parts),
    )
