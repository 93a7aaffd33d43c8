"""What needs an extra says which, before any work."""

from __future__ import annotations

import sys

import pytest


def smap(layouts):
    return layouts.strike_map(radius_m=0.3, depth_m=0.4, cell_m=2.0)


CALLS = {
    "site": ("plot", lambda layouts: layouts.site.plot()),
    "layouts": ("plot", lambda layouts: layouts.plot()),
    "zones": ("plot", lambda layouts: layouts.plot_zones()),
    "map": ("plot", lambda layouts: smap(layouts).plot()),
    "assessment": ("plot", lambda layouts: layouts.assess().plot()),
    "ranking": ("plot", lambda layouts: layouts.rank().plot()),
    "spots": ("plot", lambda layouts: layouts.best_spots(1, radius_m=0.3, depth_m=0.4).plot()),
    "sheet": ("plot,paper", lambda layouts: layouts.crew_sheet("never.pdf")),
    "report": ("plot", lambda layouts: layouts.report("never.html")),
    "widget": ("widget", lambda layouts: layouts.explore_widget()),
    "dataset": ("xarray", lambda layouts: smap(layouts).to_xarray()),
    "tree": ("xarray", lambda layouts: layouts.to_datatree()),
}


@pytest.mark.parametrize("name", CALLS)
def test_what_needs_an_extra_names_it(sampled, name, monkeypatch):
    extra, call = CALLS[name]
    for package in ("anywidget", "matplotlib", "jinja2", "typst", "xarray"):
        monkeypatch.setitem(sys.modules, package, None)
    with pytest.raises(ImportError, match=rf"underturf\[{extra}\]"):
        call(sampled["green"])
