"""Everything that a page holds, as plain values: what it says, what is seen on the ground, what is known and likely, the maps.

Lengths are metres on the site plane; the page writes them in the units of the document.
"""

from __future__ import annotations

from importlib.metadata import version
from typing import TYPE_CHECKING, Any

from underturf._notes import verdict
from underturf.cautions import CAUTIONS, NOT_CONVERGED, TOTAL
from underturf.dig_lists import Digs, bind_digs
from underturf.exploring.grids import stored_maps
from underturf.exploring.ground import ground_of, known_of
from underturf.exploring.lines import likely_of, metal_of, sampled_of
from underturf.plotting import style
from underturf.plotting.courses import joined_services
from underturf.plotting.ground import FIXTURES
from underturf.report import chance_text

if TYPE_CHECKING:
    from underturf.layouts import Layouts
    from underturf.options import ExploreOptions, Running

__all__ = ["content_of"]

#: Colours of the scale of chances from 0 to 1 in equal steps: ``CHANCE_MAP`` of the plans, which is free for all uses (CC0).
SCALE = (
    *("#fcfdbf", "#fde0a1", "#fec287", "#fea571", "#fb8761", "#f4695c", "#e55064", "#cf4070", "#b5367a", "#9b2e7f"),
    *("#812581", "#681c81", "#4f127b", "#341069", "#1c1044", "#090720", "#000004"),
)

#: Dashes of likely and sampled lines by class, in widths: classes stay apart without colour.
DASHES = {
    "lateral": "",
    "mainline": "6 1.6",
    "potable": "6 1.6 1 1.6",
    "reclaimed": "6 1.6 1 1.6 1 1.6",
    "control_wire": "1 1.8",
    "unknown": "3 3",
}


def content_of(layouts: Layouts, digs: Digs, options: ExploreOptions, run: Running | None = None) -> dict[str, Any]:
    """Return all that a page holds, ready for JSON.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7)
    >>> content = content_of(layouts, None, ut.ExploreOptions(radii_m=0.3, depths_m=0.4))
    >>> content["draws"], len(content["grid"]["maps"]), [dig["id"] for dig in content["digs"]]
    (50, 1, ['shrub', 'stake'])
    """
    site = layouts.site
    document = site._plain()
    metal = layouts.metal_lines()
    return {
        **about(layouts),
        "site": {
            "name": site.name or "Site without a name",
            "units": site.units,
            "unit_m": site.unit_m,
            "y_azimuth_deg": site._handle.y_azimuth_deg,
        },
        "looks": looks(),
        "ground": ground_of(site, document),
        "known": known_of(site, document, joined_services(metal)),
        "likely": likely_of(layouts, run),
        "metal": metal_of(metal),
        "metal_converged": metal.converged,
        "sampled": sampled_of(layouts, options.draws),
        "digs": digs_of(layouts, digs, run),
        "grid": stored_maps(layouts, options, run),
    }


def about(layouts: Layouts) -> dict[str, Any]:
    """Return what every output for a digger carries."""
    return {
        "version": version("underturf"),
        "draws": layouts.draws,
        "seed": str(layouts.seed),  # more than a number of JavaScript holds
        "converged": layouts.converged,
        "not_converged": NOT_CONVERGED,
        "cautions": list(CAUTIONS),
        "total": TOTAL,
        "assessed": list(layouts.assessed),
        "not_assessed": list(layouts.not_assessed),
        "warnings": list(layouts.warnings),
    }


def looks() -> dict[str, Any]:
    """Return colours, dashes and words, which plans and pages share."""
    lines = {name: {"colour": look.colour, "word": look.word, "core": look.core} for name, look in style.LINES.items()}
    return {
        "lines": lines,
        "dashes": DASHES,
        "scale": list(SCALE),
        "fixtures": {kind: label for kind, (_, label) in FIXTURES.items()},
        "zones": [look.colour for look in style.ZONES],
        "ground": {"building": style.BUILDING, "paving": style.PAVING, "pool": style.POOL, "bed": style.BED},
        **{"ink": style.INK, "paper": style.PAPER, "grass": style.GRASS, "faint": style.FAINT, "dig": style.DIG},
        **{"probe": style.PROBE, "sketch": style.SKETCH, "metal": style.METAL, "swept": style.SWEPT},
    }


def digs_of(layouts: Layouts, digs: Digs, run: Running | None) -> list[dict[str, Any]]:
    """Return digs with their footprint, chance and verdict."""
    assessment = layouts.assess(digs, run=run)
    bound = bind_digs(assessment, layouts.site)
    return [
        {
            "id": row.dig,
            "kind": dig.kind,
            "points_m": dig.points_m.round(4).tolist(),
            "half_width_m": dig.half_width_m,
            "depth_m": dig.depth_m,
            "said": said_of(row.in_tolerance_zone, row.on_flagged_metal, row.p_strike, row.p_upper95),
            "verdict": verdict(row.verdict, row.blocked_by),
            "converged": row.converged,
        }
        for row, dig in zip(assessment, bound, strict=True)
    ]


def said_of(in_zone: bool, on_metal: bool, p: float, upper: float) -> str:
    """Say the chance of a dig, or what counts there in its place.

    Examples
    --------
    >>> said_of(False, False, 0.124, 0.15), said_of(True, False, 0.124, 0.15)
    ('chance 12 %, up to 15 %', 'in a tolerance zone')
    """
    if in_zone:
        return "in a tolerance zone"
    return "on flagged metal" if on_metal else f"chance {chance_text(p)}, up to {chance_text(upper)}"
