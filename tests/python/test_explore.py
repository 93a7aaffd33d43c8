"""The page to look at a site with, on the side of Python: what it stores, what it refuses, what a widget answers."""

from __future__ import annotations

import base64
import copy
import json
import re
from pathlib import Path

import numpy as np
import pytest

import underturf as ut
from underturf.exploring import page
from underturf.exploring.content import content_of
from underturf.exploring.page import as_data, html, style_sheet
from underturf.exploring.widget import answer_to

FEW = ut.ExploreOptions(radii_m=(0.15, 0.3), depths_m=0.45, cell_m=0.5, draws=5)


@pytest.fixture(scope="module")
def content(sampled):
    return content_of(sampled["green"], None, FEW)


def stored(text, kind):
    return np.frombuffer(base64.b64decode(text), kind)


def test_stored_maps_are_the_maps_of_the_layouts(sampled, content):
    grid = content["grid"]
    for of in grid["maps"]:
        smap = sampled["green"].strike_map(of["radius_m"], of["depth_m"], 0.5)
        for name, wanted in (("p", smap.p), ("mcse", smap.mcse)):
            steps = stored(of[name], "<u2").reshape(smap.p.shape)
            assert ((steps == 65535) == np.isnan(wanted)).all()
            known = np.isfinite(wanted)
            # Half a step of 65,534 in one, and the rounding of the sum.
            assert np.abs(steps[known] / grid["steps"] - wanted[known]).max() <= 0.5001 / 65534
        barred = stored(grid["barred"][of["barred"]], "u1").reshape(smap.p.shape)
        assert ((barred == 1) == smap.in_tolerance_zone).all()
        assert (barred == 1).any()
        assert grid["x0_m"] == smap.x_m[0]
        assert grid["y0_m"] == smap.y_m[0]


def test_flagged_metal_is_stored_as_such():
    site = ut.Site.from_dict({
        "format": "underturf-site/2", "units": "m", "boundary": [[0, 0], [8, 0], [8, 8], [0, 8]],
        "heads": [{"id": "a", "x": 1, "y": 1, "zone": "1"}, {"id": "b", "x": 6, "y": 1, "zone": "1"}],
        "flags": [{"x": 4.0, "y": 6.0}],
    })  # fmt: skip
    layouts = ut.sample_layouts(site, draws=50, seed=1)
    assert answer_to(layouts, {"x_m": 4.0, "y_m": 6.0, "radius_m": 0.3, "depth_m": 0.45})["known"] == "flagged_metal"
    grid = content_of(layouts, None, FEW)["grid"]
    barred = stored(grid["barred"][0], "u1").reshape(grid["rows"], grid["cols"])
    col, row = round((4.0 - grid["x0_m"]) / 0.5), round((grid["y0_m"] - 6.0) / 0.5)
    assert barred[row, col] == 2
    assert set(np.unique(barred)) == {0, 2}


def test_stored_layouts_are_spread_over_all_and_keep_every_piece(sampled, content):
    drawn, table = content["sampled"], sampled["green"].segments()
    assert drawn["draws"] == [0, 50, 100, 149, 199]
    xy = stored(drawn["xy"], "<i4").reshape(-1, 4) / 1000
    for k, draw in enumerate(drawn["draws"]):
        pieces = table[table["draw"] == draw]
        start, end = drawn["starts"][k], drawn["starts"][k + 1]
        wanted = pieces[["x0_m", "y0_m", "x1_m", "y1_m"]].to_numpy()
        assert np.abs(xy[start:end] - wanted).max() <= 0.0005001  # millimetres
        codes = stored(drawn["class"], "u1")[start:end]
        assert [drawn["classes"][code] for code in codes] == pieces["class"].tolist()


def test_digs_carry_their_verdict_and_no_chance_in_a_tolerance_zone(sampled, content):
    assessment = sampled["green"].assess()
    said = {dig["id"]: dig for dig in content["digs"]}
    assert list(said) == [row.dig for row in assessment]
    for row in assessment:
        assert row.verdict in said[row.dig]["verdict"]
        assert ("chance" in said[row.dig]["said"]) == (not (row.in_tolerance_zone or row.on_flagged_metal))
    assert said["lamp-post"]["said"] == "in a tolerance zone"


def test_everything_a_digger_has_to_know_is_on_the_page(sampled):
    text = sampled["green"].explore(options=FEW).html
    for caution in ut.CAUTIONS:
        assert as_data({"c": caution})[6:-2] in text
    layouts = sampled["green"]
    assert f'"seed":"{layouts.seed}"' in text
    assert f'"draws":{layouts.draws}' in text
    assert f'"version":"{ut.__version__}"' in text
    assert '"not_assessed":["reclaimed","electric","communication","sewer"]' in text


def test_nothing_on_a_page_says_that_a_spot_is_safe(content):
    own = [path.read_text(encoding="utf-8") for path in (Path(page.__file__).parent / "page").iterdir()]
    ours = "".join(own) + json.dumps(content)
    assert len(own) > 12
    assert not re.search(r"\b(safe|clear to dig|cleared)\b", ours, re.IGNORECASE)


def test_unconverged_layouts_mark_the_page(sampled, content):
    marked = copy.deepcopy(content)
    marked["converged"] = False
    doubtful = ut.Exploration(marked)
    assert not doubtful.converged
    assert "NOT CONVERGED" in repr(doubtful)
    assert "NOT CONVERGED" not in repr(ut.Exploration(content))


def test_a_page_asks_no_network_and_runs_only_what_is_its_own(content):
    text = html(content)
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)[1]
    assert policy.startswith("default-src 'none'; script-src 'sha256-")
    assert "unsafe" not in policy
    assert "http" not in policy
    assert not re.search(r"<(?:script|link|img|iframe)\b[^>]*(?:src|href)=", text)
    assert "sourceMappingURL" not in text
    assert "url(" not in style_sheet()
    assert "Redistributions in binary form" in text  # the licence of the map library comes along


def test_names_in_a_document_cannot_end_the_data_of_a_page(sampled):
    document = ut.read_site(ut.example("bare")).to_dict()
    document["name"] = "</script><img src=x onerror=alert(1)> & 'quoted' \u2028"
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=50, seed=1)
    text = layouts.explore(options=FEW).html
    assert text.count("</script>") == 2
    assert "<img" not in text
    data = re.search(r'<script type="application/json"[^>]*>(.*?)</script>', text, re.DOTALL)[1]
    assert json.loads(data)["site"]["name"] == layouts.site.name
    assert "</script>" in layouts.site.name


def test_cells_are_as_fine_as_the_size_of_the_file_allows(sampled, tmp_path):
    sizes = {}
    for megabytes in (0.8, 2.0, 6.0):
        path = sampled["green"].explore(tmp_path / f"{megabytes}.html", options=ut.ExploreOptions(size_mb=megabytes))
        sizes[megabytes] = path.stat().st_size / 1e6
        assert sizes[megabytes] <= megabytes * 1.1
    assert sizes[0.8] < sizes[2.0] < sizes[6.0]
    assert not [path for path in tmp_path.iterdir() if path.suffix != ".html" or path.name.startswith(".")]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (lambda: ut.ExploreOptions(radii_m=[]), r"radii_m is \[\]; it must be one length at least"),
        (lambda: ut.ExploreOptions(radii_m=[0.3, -1]), r"radii_m is -1.0; it must be above 0 m"),
        (lambda: ut.ExploreOptions(depths_m="deep"), "depths_m"),
        (lambda: ut.ExploreOptions(radii_m=np.linspace(0.1, 1, 20)), "20 radii and 4 depths make 80 maps; 64 are the most"),
        (lambda: ut.ExploreOptions(cell_m=0), "cell_m is 0; it must be above 0 m"),
        (lambda: ut.ExploreOptions(draws=501), "draws is 501; it must be in 0 to 500"),
        (lambda: ut.ExploreOptions(size_mb=0.1), "size_mb is 0.1; it must be in 0.5 to 100"),
    ],
)  # fmt: skip
def test_options_out_of_range_are_refused_by_name(options, said):
    with pytest.raises(ut.ArgumentError, match=said):
        options()


def test_a_page_that_would_grow_too_large_is_refused(sampled):
    with pytest.raises(ut.ArgumentError, match=r"cell_m is 0.01; 16 maps of such cells make a file of about .* MB"):
        sampled["green"].explore(options=ut.ExploreOptions(cell_m=0.01))


def test_a_wrong_name_or_folder_is_refused_before_any_work(sampled, tmp_path, monkeypatch):
    monkeypatch.setattr(ut.Layouts, "strike_map", None)
    with pytest.raises(ut.ArgumentError, match=r"page.pdf must end in .html or .htm"):
        sampled["green"].explore(tmp_path / "page.pdf")
    with pytest.raises(FileNotFoundError, match="there is no folder"):
        sampled["green"].explore(tmp_path / "none" / "page.html")


def test_a_failed_write_leaves_the_old_page(sampled, tmp_path, monkeypatch):
    path = tmp_path / "page.html"
    path.write_text("old", encoding="utf-8")
    fresh = sampled["bare"].explore(options=FEW)
    monkeypatch.setattr("os.fsync", lambda _: (_ for _ in ()).throw(OSError("disk full")))
    with pytest.raises(OSError, match="disk full"):
        fresh.save(path)
    assert path.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_notebook_gets_a_frame_without_rights(sampled):
    shown = sampled["bare"].explore(options=FEW)._repr_html_()
    assert shown.startswith('<iframe title="map" sandbox="allow-scripts"')
    assert shown.count("<") == 2  # all markup of the page is escaped


def test_a_tap_in_a_widget_is_answered_as_strikes_answers(sampled):
    pytest.importorskip("anywidget", reason="the extra widget is not installed")
    layouts = sampled["green"]
    widget = layouts.explore_widget(options=FEW)
    for x, y in [(4.0, 3.0), (12.0, 6.0)]:
        widget.hole = {"x_m": x, "y_m": y, "radius_m": 0.3, "depth_m": 0.45}
        row = layouts.strikes(ut.Hole(x, y, 0.3, 0.45)).iloc[0]
        wanted = {"p": row["p_strike"], "mcse": row["mcse"], "upper95": row["p_upper95"], "known": None}
        assert {key: widget.answer[key] for key in wanted} == wanted
        assert widget.answer["hole"] == widget.hole
    assert "export default { render: underturf.render }" in widget._esm


def test_a_widget_says_where_a_mark_counts_and_survives_nonsense(sampled):
    layouts = sampled["green"]
    (x, y), _ = layouts.site.marks["path_m"].iloc[0][:2]
    inside = {"x_m": x, "y_m": y, "radius_m": 0.3, "depth_m": 0.45}
    assert answer_to(layouts, inside)["known"] == "tolerance_zone"
    for broken in ({}, {**inside, "radius_m": 0}, {**inside, "x_m": "left"}, {**inside, "depth_m": float("nan")}):
        assert set(answer_to(layouts, broken)) == {"hole", "error"}
