"""What a notebook shows of a site, layouts and maps, and the lists of a document as tables in metres."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import underturf as ut

FEET = Path(__file__).parents[1] / "mistakes" / "bases" / "feet.toml"
LISTS = [
    "heads",
    "valve_boxes",
    "sources",
    "outlets",
    "obstacles",
    "trees",
    "station_tests",
    "probes",
    "flags",
    "swept",
]
LISTS += ["marks", "services", "sketches", "digs"]


@pytest.fixture(scope="module")
def site():
    return ut.read_site(ut.example("green"))


@pytest.fixture(scope="module")
def layouts(site):
    return ut.sample_layouts(site, draws=60, seed=7)


def test_everything_shown_carries_the_cautions(site, layouts):
    smap = layouts.strike_map(cell_m=0.5)
    for thing in (site, layouts, smap):
        page = thing._repr_html_()
        assert "A probability is not a clearance" in page
        assert "<table" in page
        assert "NOT CONVERGED" not in page
    assert "26" in site._repr_html_()
    assert "60" in layouts._repr_html_()
    assert "strike probability" in smap._repr_html_()


def test_what_did_not_converge_says_so():
    site = ut.read_site(ut.example("unlabelled"))
    layouts = ut.sample_layouts(site, draws=60, seed=3, longest=1, accept_unconverged=True)
    marked = [layouts._repr_html_(), layouts.strike_map(cell_m=1.0)._repr_html_()]
    assert all(("NOT CONVERGED" in page) is not layouts.converged for page in marked)


@pytest.mark.parametrize("name", LISTS)
def test_lists_are_tables_with_a_row_an_entry(name):
    for path in (FEET, *map(ut.example, ut.examples())):
        site = ut.read_site(path)
        entries = site._plain().get(name, [])
        table = getattr(site, name)
        assert isinstance(table, pd.DataFrame)
        assert len(table) == len(entries)
        if "x_m" in table and entries and "x" in entries[0]:
            assert table["x_m"].iloc[0] == pytest.approx(entries[0]["x"] * site.unit_m)
        # Planted fault: a length that is forgotten would keep its name and its unit.
        assert not {"x", "y", "radius", "depth", "path", "outline", "sd", "width"} & set(table.columns)


def test_places_of_lists_are_in_metres():
    feet = ut.Site.from_dict(
        {
            "format": "underturf-site/2",
            "units": "ft",
            "marks": [{"class": "gas", "path": [[10, 0], ["20 ft", 5]], "half_zone": 2}],
            "services": [{"class": "gas", "from": [0, 0], "to": [10, 10]}],
        }
    )
    (mark,) = feet.marks.to_dict("records")
    np.testing.assert_allclose(mark["path_m"], [[3.048, 0], [6.096, 1.524]])
    assert mark["half_zone_m"] == pytest.approx(0.6096)
    np.testing.assert_allclose(feet.services["to_m"][0], [3.048, 3.048])


def test_the_table_of_digs_is_taken_where_digs_are(layouts):
    shapes = [
        ut.Trench([(6, 6), (8, 6), (8, 7)], 0.3, 0.4, id="trench", method="machine"),
        ut.Pit([(9, 6), (10, 6), (9.5, 7)], 0.4, id="pit"),
        ut.PostHole(2.0, 3.0, 0.3, 0.6),
        ut.Hole(4.0, 3.0, 0.3, 0.4, tree=ut.Tree("large", caliper_m=0.05)),
    ]
    site = layouts.site.with_digs(shapes)
    drawn = ut.sample_layouts(site, draws=60, seed=7)
    assert drawn.assess(site.digs) == drawn.assess()
    assert tuple(site.digs["id"]) == site.dig_ids


def test_results_become_digs_of_a_site(layouts):
    spots = layouts.best_spots(tree=[ut.Tree("small", container_gal=15)], options=ut.SpotOptions(names=["plum"]))
    site = layouts.site.with_digs(spots)
    assert site.dig_ids == (*layouts.site.dig_ids, "plum")
    assert site.digs.iloc[-1]["tree_container_gal"] == 15
    (plum,) = spots.digs
    assert dataclasses.replace(plum) == plum


def test_the_package_tells_its_version():
    assert ut.__version__.count(".") >= 2
