"""What is typed in Python or on the command line about a site, and what must be said: each row is a mistake of somebody.

Catches a note of the engine that does not reach `Site.warnings`, `Layouts.warnings` or ``python -m underturf check``, a fault
that loses its place, and heads that are merged in one table and not in another.
"""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest

import underturf as ut
from underturf.__main__ import main

PLAIN: dict[str, Any] = {
    "format": "underturf-site/2",
    "units": "ft",
    "boundary": [[0, 0], [80, 0], [80, 46], [0, 46]],
    "heads": [
        {"id": "h1", "x": 6, "y": 6, "zone": "1"},
        {"id": "h2", "x": 22, "y": 6, "zone": "1"},
        {"id": "h3", "x": 38, "y": 6, "zone": "1"},
        {"id": "h4", "x": 6, "y": 26, "zone": "2"},
        {"id": "h5", "x": 22, "y": 26, "zone": "2"},
        {"id": "h6", "x": 38, "y": 26, "zone": "2"},
    ],
    "valve_boxes": [{"id": "box", "x": 60, "y": 16, "zones": ["1", "2"]}],
    "obstacles": [{"kind": "building", "outline": [[52, 30], [72, 30], [72, 42], [52, 42]]}],
    "digs": [{"id": "oak", "x": 15, "y": 16, "radius": 1, "depth": 1.5}],
}


def changed(*changes: tuple[list[Any], Any]) -> dict[str, Any]:
    """Return the plain document with values changed: each by the way of keys to it."""
    document = copy.deepcopy(PLAIN)
    for way, value in changes:
        inner: Any = document
        for key in way[:-1]:
            inner = inner[key]
        inner[way[-1]] = value
    return document


NOTED = [
    # way, value, kind, place, words
    (["digs", 0, "depth"], 6, "depth", "digs[0]", "Dig oak (digs[0]) has a depth of 6 ft. Few are over 5 ft"),
    (["digs", 0, "radius"], 20, "dig_radius", "digs[0]", "has a radius of 20 ft. Few are over 16.4 ft"),
    (
        ["digs", 0, "tree"],
        {"size": "large", "caliper": 2},
        "caliper",
        "digs[0]",
        "a caliper of 2 ft. Few are over 0.5 ft",
    ),
    (["digs", 0, "tree"], {"size": "large", "container": 60}, "container", "digs[0]", "the nearest is 65"),
    (["digs", 0, "y"], -20, "dig_outside", "digs[0]", "lies 19 ft outside the boundary, all of it"),
    (
        ["trees"],
        [{"x": 5, "y": 40, "stem_diameter": 8}],
        "stem",
        "trees[0]",
        "a stem diameter of 8 ft. Few are over 6.56 ft",
    ),
    (["heads", 5, "zone"], "9", "one_head_zone", "heads[5]", 'Head h6 (heads[5]) is the only head on zone "9"'),
    (["heads", 5, "y"], 26.0001, None, "", ""),
    (
        ["heads", 5],
        {"id": "h6", "x": 60, "y": 30.3, "zone": "2"},
        "at_wall",
        "heads[5]",
        "lies 0.3 ft inside a building",
    ),
    (["heads", 5], {"id": "h6", "x": 22, "y": 26}, "merged", "heads[5]", "at the place of head h5 (heads[4])"),
    (
        ["heads", 5],
        {"id": "h6", "x": 22.01, "y": 26, "zone": "2"},
        "nearly_merged",
        "heads[5]",
        "stands 0.01 ft from head h5",
    ),
    (["boundary"], [*PLAIN["boundary"], [0, 0]], "cleaned", "boundary", "Boundary has its first corner once more"),
    (["valve_boxes", 0, "zones"], ["1", "2", "drip"], "headless_zones", "", 'Zone "drip" has a valve of valve box box'),
    (["valve_boxes", 0, "valves"], 1, "too_few_valves", "valve_boxes[0]", "counts 1 valve, but lists 2 zones"),
    (
        ["valve_boxes", 0],
        {"id": "box", "x": 60, "y": 16, "valves": 1},
        "valves_short",
        "",
        "room for 1 more working valve",
    ),
    (
        ["probes"],
        [{"x": 15, "y": 6, "radius": 4, "depth": 1, "found": False}],
        "probe_radius",
        "probes[0]",
        "Few are over 3.28 ft",
    ),
]


@pytest.mark.parametrize(("way", "value", "kind", "place", "words"), NOTED, ids=[f"{row[2]}" for row in NOTED])
def test_odd_documents_are_read_and_noted(
    way: list[Any], value: object, kind: str | None, place: str, words: str
) -> None:
    site = ut.Site.from_dict(changed((way, value)))
    if kind is None:
        assert site.notes == ()
        assert site.warnings == ()
        return
    found = [note for note in site.notes if note.kind == kind]
    assert len(found) == 1, site.notes
    assert found[0].place == place
    assert words in found[0].sentence
    assert found[0].sentence in site.warnings
    assert ut.Site.from_dict(site.to_dict()) == site, "the document stays as written"


REFUSED = [
    (
        ["probes"],
        [{"x": 15, "y": 6, "radius": 1e6, "depth": 1, "found": False}],
        "probes[0].radius",
        "a radius of 1000000 ft is impossible",
    ),
    (["digs", 0, "depth"], 30, "digs[0].depth", "at most 19.7 ft is expected"),
    (["heads", 5, "x"], 380, "heads[5]", "head h6 lies 300 ft outside the boundary"),
    (
        ["heads", 5],
        {"id": "h6", "x": 60, "y": 36, "zone": "2"},
        "heads[5]",
        "head h6 lies 6 ft inside a building (obstacles[0])",
    ),
    (
        ["heads", 5],
        {"id": "h6", "x": 22, "y": 6, "zone": "2"},
        "heads[5]",
        'on zone "2" lies on head h2 (heads[1]), which is on zone "1"',
    ),
    (["boundary"], [[0, 0], [80, 0], [0, 46], [80, 46]], "boundary", "the outline crosses itself at (40, 23)"),
    (
        ["settings"],
        {"lateral_cover_least_m": 0.5, "lateral_cover_greatest_m": 0.3},
        "settings.lateral_cover_least_m",
        "is more than lateral_cover_greatest_m = 0.3",
    ),
    (["settings"], {"header_share": 1.0}, "settings", "they are shares of one whole"),
    (["settings"], {"verdict_limt": 0.1}, "settings.verdict_limt", 'did you mean "verdict_limit"?'),
]


@pytest.mark.parametrize(("way", "value", "place", "words"), REFUSED, ids=[row[3][:30] for row in REFUSED])
def test_impossible_documents_are_refused_with_place_and_reason(
    way: list[Any], value: object, place: str, words: str
) -> None:
    with pytest.raises(ut.SiteError) as refused:
        ut.Site.from_dict(changed((way, value)))
    ((found, message),) = refused.value.faults
    assert found == place
    assert words in message


def test_degrees_are_refused_once_with_what_to_do() -> None:
    document = copy.deepcopy(PLAIN)
    for thing in (*document["heads"], *document["valve_boxes"], *document["digs"]):
        thing["x"], thing["y"] = -97.743061 + thing["x"] * 3e-6, 30.267153 + thing["y"] * 3e-6
    degrees = [[-97.743061 + x * 3e-6, 30.267153 + y * 3e-6] for x, y in PLAIN["boundary"]]
    document["boundary"], document["obstacles"] = degrees, []
    with pytest.raises(
        ut.SiteError, match=r"longitude and latitude in degrees.*project them to metres or feet"
    ) as refused:
        ut.Site.from_dict(document)
    assert len(refused.value.faults) == 1


def test_check_and_layouts_say_what_the_site_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    document = changed((["digs", 0, "depth"], 6), (["valve_boxes", 0, "zones"], ["1", "2", "drip"]))
    site = ut.Site.from_dict(document)
    assert len(site.warnings) == 2
    layouts = ut.sample_layouts(site, draws=20, seed=1)
    assert set(site.warnings) <= set(layouts.warnings)
    path = tmp_path / "site.toml"
    site.write(path)
    assert main(["check", str(path)]) == 0
    printed = capsys.readouterr().out
    assert all(f"Note: {warning}" in printed for warning in site.warnings)


def test_a_valve_without_heads_has_its_mainline_and_no_laterals() -> None:
    plain = ut.sample_layouts(ut.Site.from_dict(PLAIN), draws=50, seed=1)
    far = {"id": "far", "x": 3, "y": 43, "zones": ["drip"]}
    site = ut.Site.from_dict(changed((["valve_boxes"], [*PLAIN["valve_boxes"], far])))
    layouts = ut.sample_layouts(site, draws=50, seed=1)
    lines = layouts.segments()
    assert "zone drip" not in set(lines["zone"]), "no laterals are made up"
    at_box = ut.Hole(3 * 0.3048, 43 * 0.3048, 0.3, 0.6)
    assert layouts.strike_probability([at_box])[0] > 0.5 > plain.strike_probability([at_box])[0], (
        "the mainline reaches its box"
    )


def test_valves_alone_leave_laterals_unassessed() -> None:
    document = {key: value for key, value in PLAIN.items() if key != "heads"}
    table = ut.sample_layouts(ut.Site.from_dict(document), draws=20, seed=1).assess().table()
    assert table["p_lateral"].isna().all()
    assert table["p_mainline"].notna().all()


def test_merged_heads_stand_once_in_every_table_and_keep_what_each_says() -> None:
    twice = [*PLAIN["heads"], {"id": "again", "x": 38, "y": 26, "flow": 2.0}]
    tests = [{"zone": "2", "heads": ["h4", "h5", "again"]}]
    site = ut.Site.from_dict(changed((["heads"], twice), (["station_tests"], tests)))
    layouts = ut.sample_layouts(site, draws=20, seed=1)
    assert list(layouts.likely_groups().index) == ["h1", "h2", "h3", "h4", "h5", "h6"]
    assert layouts.likely_groups().loc["h6", "group"] == "2"
    assert not any("station_tests[0]" in warning for warning in layouts.warnings)
    pytest.importorskip("matplotlib")
    layouts.plot_zones()


def test_the_table_of_plausibility_has_every_rule_that_notes_name() -> None:
    table = ut.plausibility_table()
    kinds = {row[2] for row in NOTED} - {
        None,
        "at_wall",
        "merged",
        "nearly_merged",
        "cleaned",
        "headless_zones",
        "too_few_valves",
        "valves_short",
    }
    assert kinds <= set(table.index)
    assert table["reason"].str.len().gt(20).all()
    assert table["refuses"].any()
    assert not table["refuses"].all()
