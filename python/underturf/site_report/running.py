"""What the report says of the run: whether it converged, with what it was made, and how to do it again."""

from __future__ import annotations

import hashlib
import platform
from importlib.metadata import version
from typing import TYPE_CHECKING

from underturf.site_report.markup import Markup, items, paragraph, section, table

if TYPE_CHECKING:
    from underturf.layouts import Layouts
    from underturf.site import Site

__all__ = ["convergence", "document_hash", "reproducing"]

#: Quantities of the chains that are listed: those that are nearest to failing.
MOST = 15

#: Packages whose versions are told.
PACKAGES = ("underturf", "numpy", "pandas")


def convergence(layouts: Layouts) -> Markup:
    """Return the section on convergence."""
    spread = f"{layouts.draws} layouts, worth {layouts.effective_draws:.0f} independent ones."
    parts = [paragraph(spread)]
    if layouts.independent:
        parts.append(
            paragraph("Zones are known or settled: layouts are drawn independently and there are no chains over zones.")
        )
    else:
        info, checks = layouts.run_info, layouts.diagnostics().sort_values("r_hat", ascending=False)
        failed = [str(failure) for failure in info.get("failures", [])]
        passed = "Every convergence check was passed." if not failed else "Convergence checks that were not passed:"
        rows = [
            [row["quantity"], f"{row['mean']:.4g}", f"{row['mcse']:.2g}", f"{row['r_hat']:.4f}", f"{row['ess_bulk']:.0f}",
             "yes" if row["passed"] else "no"]
            for _, row in checks.head(MOST).iterrows()
        ]  # fmt: skip
        heads = ["quantity", "mean", "error", "R-hat", "effective draws", "passed"]
        parts += [
            paragraph(f"{info['chains']} chains of {info['sweeps']} sweeps walked over the zones of heads. {passed}"),
            items(failed),
            paragraph(f"Of {len(checks)} quantities watched, the {len(rows)} with the greatest R-hat:"),
            table(heads, rows, "checks"),
        ]
    metal = layouts.metal_lines()
    if len(metal):
        words = "The chains over metal lines do not agree:" if metal.failures else "The chains over metal lines agree."
        parts += [paragraph(words), items(metal.failures)]
    return section("Convergence", *parts)


def document_hash(site: Site) -> str:
    """Return the SHA-256 of the document as JSON, as ``site.to_json()`` writes it, in UTF-8.

    Examples
    --------
    >>> import underturf as ut
    >>> len(document_hash(ut.read_site(ut.example("bare"))))
    64
    """
    return hashlib.sha256(site.to_json().encode("utf-8")).hexdigest()


def reproducing(layouts: Layouts, day: str) -> Markup:
    """Return the section on how to do it again."""
    rows = [[name, version(name)] for name in PACKAGES]
    rows += [["Python", platform.python_version()], ["machine", f"{platform.system()} {platform.machine()}"]]
    rows += [["report of", day], ["layouts", str(layouts.draws)], ["seed", str(layouts.seed)]]
    rows.append(["SHA-256 of the document as JSON (site.to_json(), UTF-8)", document_hash(layouts.site)])
    lines = [
        "import underturf as ut",
        'site = ut.read_site("site.toml")  # the document below',
        f"layouts = ut.sample_layouts(site, draws={layouts.draws}, seed={layouts.seed})",
        'layouts.report("report.html")',
    ]
    code = Markup("<pre>") + Markup(paragraph("\n".join(lines))[3:-4]) + Markup("</pre>")
    command = f"python -m underturf assess site.toml --draws {layouts.draws} --seed {layouts.seed}"
    written = Markup("<pre class='document'>") + Markup(paragraph(layouts.site.to_toml())[3:-4]) + Markup("</pre>")
    return section(
        "How to do it again",
        table(["what", "which"], rows),
        paragraph("The same document, version, seed and number of layouts give the same figures on one platform:"),
        Markup(code),
        paragraph("The assessment alone, on the command line:"),
        Markup(f"<pre>{command}</pre>"),
        Markup("<h3>The document</h3>"),
        Markup(written),
    )
