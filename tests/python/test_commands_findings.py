"""What is found on the ground goes into the document by command as it does in Python, and lists of trees and digs are read."""

from __future__ import annotations

import json

import pytest
from commanding import PLAIN, QUICK, told, write_site
from hypothesis import given, settings
from hypothesis import strategies as st

import underturf as ut
from underturf.__main__ import main
from underturf._checks import length
from underturf.commands.digs_file import read_digs
from underturf.commands.placed import dig_table, site_with
from underturf.commands.texts import place_text
from underturf.commands.trees_file import read_trees

FEET = {
    **PLAIN,
    "units": "ft",
    "boundary": [[0, 0], [46, 0], [46, 33], [0, 33]],
    "heads": [{**head, "x": 3.28 * head["x"], "y": 3.28 * head["y"]} for head in PLAIN["heads"]],
    "digs": [{"id": "oak", "x": 13, "y": 14.8, "radius": 1, "depth": 1.6}],
}


@pytest.fixture
def feet(tmp_path):
    return write_site(tmp_path, FEET, "feet.toml")


def test_a_probe_is_written_as_it_was_typed(feet, capsys):
    words = [
        "--at",
        "14' 6\"",
        "12",
        "--radius",
        "9in",
        "--depth",
        "18 in",
        "--found",
        "--class",
        "lateral",
        "--cover",
        "11in",
    ]
    assert main(["add-probe", str(feet), *words, "--azimuth", "90", "--tool", "pothole"]) == 0
    wanted = ut.Site.from_dict(FEET).with_probe(
        "14' 6\"", "12 ft", "9in", "18 in", True, line=ut.FoundLine("lateral", 90.0, "11in"), tool="pothole"
    )
    later = ut.read_site(feet)
    assert later.to_dict()["probes"][0] == {**wanted.to_dict()["probes"][0], "y": 12.0}
    said = capsys.readouterr().out
    assert "probes[0]: x 14' 6\"" in said
    assert "make them anew" in said
    assert all(caution.split()[0] in said for caution in ut.CAUTIONS)


def test_a_slit_is_written_where_it_was_cut(feet):
    words = ["--from", "10", "10", "--to", "16", "10", "--width", "6in", "--depth", "18in", "--clear"]
    assert main(["add-probe", str(feet), *words]) == 0
    (probe,) = ut.read_site(feet).to_dict()["probes"]
    assert probe == {
        "path": [[10.0, 10.0], [16.0, 10.0]],
        "width": "6in",
        "depth": "18in",
        "found": False,
        "tool": "slit",
    }


def test_the_same_finding_is_not_written_twice_unasked(feet, capsys):
    words = ["add-probe", str(feet), "--at", "10", "10", "--radius", "1", "--depth", "1.5", "--clear"]
    assert main(words) == 0
    assert main(words) == 1
    assert "probes[0] says just the same already; give --again" in capsys.readouterr().err
    assert len(ut.read_site(feet).probes) == 1
    assert main([*words, "--again"]) == 0
    assert len(ut.read_site(feet).probes) == 2


@pytest.mark.parametrize("slit", [False, True])
def test_a_probe_of_a_plan_goes_back_by_its_number(feet, tmp_path, slit):
    plan = tmp_path / "plan.csv"
    shape = ["--slit", "30in", "4in"] if slit else []
    assert main(["probes", str(feet), "-n", "2", "--always", "--cell", "2", *shape, "-o", str(plan), *QUICK]) == 0
    assert main(["add-probe", str(feet), "--plan", str(plan), "--probe", "2", "--depth", "14in", "--clear"]) == 0
    (probe,) = ut.read_site(feet).to_dict()["probes"]
    planned = ut.read_probes(plan).digs[1]
    points = planned.path_m if slit else [(planned.x_m, planned.y_m)]
    written = probe["path"] if slit else [(probe["x"], probe["y"])]
    for (x_m, y_m), (x, y) in zip(points, written, strict=True):
        assert abs(x * 0.3048 - x_m) < 2e-4
        assert abs(y * 0.3048 - y_m) < 2e-4
    assert (probe["depth"], probe["found"]) == ("14in", False)
    assert probe["tool"] == ("slit" if slit else "pothole")


def test_a_station_test_and_none(feet):
    assert main(["add-test", str(feet), "--zone", "1", "h0", "h1", "--error", "0.02"]) == 0
    assert main(["add-test", str(feet), "--zone", "2", "--none"]) == 0
    tests = ut.read_site(feet).to_dict()["station_tests"]
    assert tests == [{"zone": "1", "heads": ["h0", "h1"], "error": 0.02}, {"zone": "2", "heads": []}]


def test_findings_as_json_name_the_entry_and_the_file(capsys, feet, tmp_path):
    out = tmp_path / "later.json"
    found = told(
        capsys, "add-dig", feet, "--at", "20", "20", "--radius", "6in", "--depth", "2", "--id", "post", "-o", out
    )
    assert found["result"]["place"] == "digs[1]"
    assert found["result"]["entry"]["id"] == "post"
    assert found["files"] == [str(out.resolve())]
    assert ut.read_site(out).dig_ids == ("oak", "post")
    assert ut.read_site(feet).dig_ids == ("oak",), "the document that was read is as it was"


def test_what_is_odd_is_written_only_if_it_is_said(feet, capsys):
    words = ["add-probe", str(feet), "--at", "10", "10", "--radius", "1", "--depth", "18", "--clear"]
    assert main(words) == 1
    said = capsys.readouterr().err
    assert "depth of 18 ft" in said
    assert "Nothing was written. Bare numbers are ft." in said
    assert "probes" not in ut.read_site(feet).to_dict()
    assert main([*words, "--odd"]) == 0
    assert ut.read_site(feet).to_dict()["probes"][0]["depth"] == 18.0
    assert "Note: Probe (probes[0]) has a depth of 18 ft" in capsys.readouterr().out


# lengths that people read are lengths that they can type


@given(st.floats(-300, 300), st.sampled_from(["m", "ft"]))
def test_places_that_are_shown_can_be_typed(x_m, units):
    text = place_text(x_m, units)
    assert abs(length(text, "--at") - x_m) <= (0.00636 if units == "ft" else 0.00501)


# lists of trees and digs


def test_a_list_of_trees_has_kinds_sizes_and_counts(tmp_path):
    path = tmp_path / "trees.csv"
    path.write_text(
        "# from the nursery\nID;Count;Size;Caliper (in);container;radius ft;depth\n"
        "oak;1;Large;2;;;\ncrab;2;small;;15;;\npost tree;;medium;;;2.5;18in\n\n",
        encoding="utf-8-sig",
    )
    found = read_trees(path, 0.3048)
    assert found.names == ["oak", "crab 1", "crab 2", "post tree"]
    assert [tree.size for tree in found.trees] == ["large", "small", "small", "medium"]
    assert found.trees[0].caliper_m == 2 * 0.0254
    assert found.trees[1].container_gal == 15
    assert found.radii_m[3] == 2.5 * 0.3048
    assert found.depths_m[3] == 18 * 0.0254


def test_spots_for_a_list_are_those_of_python(capsys, tmp_path):
    path = tmp_path / "trees.csv"
    path.write_text("id,size,caliper_in,radius,depth\ncrab,small,1,,\nplum,medium,,0.5,0.4\n", encoding="utf-8")
    words = ["--trees", path, "--cell", "0.5m", "--setback", "lateral_5ft", "--setback-limit", "0.9", "--spacing", "2"]
    found = told(capsys, "spots", write_site(tmp_path), *words, "--chance-limit", "0.0001", *QUICK)
    layouts = ut.sample_layouts(ut.Site.from_dict(PLAIN), draws=50, seed=3)
    spots = layouts.best_spots(
        radius_m=[None, 0.5],
        depth_m=[None, 0.4],
        tree=[ut.Tree("small", caliper_m="1in"), ut.Tree("medium")],
        options=ut.SpotOptions(
            names=["crab", "plum"], cell_m=0.5, setback="lateral_5ft", setback_limit=0.9, spacing_m=2.0
        ),
    )
    assert [(row["id"], row["x_m"], row["y_m"], row["p_strike"]) for row in found["rows"]] == [
        (spot.id, spot.x_m, spot.y_m, spot.p_strike) for spot in spots
    ]
    assert all(row["above_limit"] for row in found["rows"])
    assert found["result"]["total_loss"] == spots.total_loss


def test_spots_go_into_the_document_and_into_further_commands(capsys, tmp_path):
    site, kept, later = write_site(tmp_path, name="site.toml"), tmp_path / "spots.csv", tmp_path / "later.toml"
    words = ["spots", site, "-n", "2", "--radius", "0.4", "--depth", "0.4", "--cell", "0.5m", *QUICK]
    first = told(capsys, *words, "-o", kept)
    told(capsys, *words, "-o", later)
    assert ut.read_site(later).dig_ids == ("oak", "spot 1", "spot 2")
    again = told(capsys, "assess", site, "--digs", kept, *QUICK)
    here = ut.sample_layouts(ut.read_site(site), draws=50, seed=3).assess(ut.Spots.load(kept))
    assert [row["p_strike"] for row in again["rows"]] == [dig.p_strike for dig in here]
    assert [(row["x_m"], row["y_m"]) for row in first["rows"]] == [(dig.x_m, dig.y_m) for dig in here.digs]
    assert [row["dig"] for row in again["rows"]] == ["spot 1", "spot 2"]


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(1, 13), st.floats(1, 9), st.floats(0.05, 2), st.floats(0.1, 2)), min_size=1, max_size=4
    )
)
def test_a_table_of_digs_comes_back_as_it_was(tmp_path_factory, holes):
    path = tmp_path_factory.mktemp("digs") / "digs.csv"
    digs = [ut.Hole(*hole, id=f"d{k}", tree=ut.Tree("large", caliper_m=0.05)) for k, hole in enumerate(holes)]
    digs.append(ut.Trench([(1, 1), (3, 2)], 0.3, 0.5, id="trench", method="machine"))
    digs.append(ut.Pit([(1, 1), (3, 1), (2, 2)], 0.5, id="pit"))
    dig_table(digs).to_csv(path, index=False)
    assert read_digs(path, 0.3048) == digs


def test_moved_digs_go_into_the_document_and_others_keep_their_words():
    document = {
        **PLAIN,
        "digs": [
            {"id": "oak", "x": "4 m", "y": 4.5, "radius": "30 cm", "depth": 0.5},
            {"x": 9, "y": 3, "radius": 0.2, "depth": 0.4},
        ],
    }
    site = ut.Site.from_dict(document)
    stays, goes = ut.Hole(4, 4.5, 0.3, 0.5, id="oak"), ut.Hole(8.5, 3.25, 0.2, 0.4, id="dig2")
    digs = site_with(site, [stays, goes]).to_dict()["digs"]
    assert digs[0] == site.to_dict()["digs"][0]
    assert digs[1]["radius"] == 0.2
    assert (digs[1]["x"], digs[1]["y"]) == (8.5, 3.25)
    assert len(digs) == 2


def test_shift_writes_the_document_or_a_table(capsys, tmp_path):
    site, later, table = write_site(tmp_path, name="site.toml"), tmp_path / "later.toml", tmp_path / "digs.csv"
    found = told(capsys, "shift", site, "-o", later, *QUICK)
    told(capsys, "shift", site, "-o", table, *QUICK)
    (row,) = found["rows"]
    (moved,) = ut.read_site(later).digs.to_dict("records")
    assert (moved["x_m"], moved["y_m"]) == (pytest.approx(row["x_m"]), pytest.approx(row["y_m"]))
    text = table.read_text(encoding="utf-8")
    assert all(f"# {caution}" in text for caution in ut.CAUTIONS)
    assert "# 50 draws, seed 3" in text
    assert [dig.id for dig in read_digs(table, 1.0)] == ["oak"]


def test_the_exit_code_tells_what_has_not_converged_unless_it_is_accepted(monkeypatch, capsys, tmp_path):
    path = write_site(tmp_path)
    monkeypatch.setattr(ut.Layouts, "converged", property(lambda _: False))
    assert main(["shift", str(path), *QUICK]) == 3
    assert capsys.readouterr().out.count("NOT CONVERGED") == 2
    assert main(["shift", str(path), *QUICK, "--accept-unconverged"]) == 0
    assert capsys.readouterr().out.count("NOT CONVERGED") == 2
    assert main(["assess", str(path), *QUICK, "--json"]) == 3
    assert json.loads(capsys.readouterr().out)["converged"] is False


def test_layouts_are_drawn_once_and_asked_again(tmp_path, capsys):
    """A file of layouts in place of the site document gives the same answer; how it was drawn cannot be asked anew."""
    site, kept = write_site(tmp_path, name="site.toml"), tmp_path / "site.nc"
    told(capsys, "sample", site, "-o", kept, *QUICK)
    first, second = told(capsys, "assess", site, *QUICK, "--json"), told(capsys, "assess", kept, "--json")
    assert {**first, "document": None} == {**second, "document": None}
    code = main(["assess", str(kept), "--draws", "9"])
    assert code == 2
    assert "--draws: the layouts of" in capsys.readouterr().err
