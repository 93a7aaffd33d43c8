"""The same thing in several files is one thing, once; names, mappings and generated sites."""

from __future__ import annotations

import time

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from surveys import FRAME, SITE, farthest_m, write_csv, write_drawing, write_geojson, write_gpx

import underturf as ut


def survey_of(folder, *texts, mapping=None, **options):
    paths = [folder / f"{chr(ord('a') + k)}.csv" for k in range(len(texts))]
    for path, text in zip(paths, texts, strict=True):
        path.write_text(text, encoding="utf-8")
    return ut.read_survey(paths, mapping, **options)


def actions(survey):
    return [(row.file, row.place, row.action) for row in survey.report]


def test_two_measurements_of_one_head_are_their_weighted_mean(tmp_path):
    a, b = "x_m,y_m,code,sd_m\n10,5,SPR,0.1\n", "x_m,y_m,code,sd_m,zone\n10.3,5,SPR,0.2,1\n"
    survey = survey_of(tmp_path, a, b)
    (head,) = survey.document["heads"]
    # Weights 1/0.01 and 1/0.04: four fifths and one fifth.
    assert head == {"id": "head1", "x": 10.06, "y": 5.0, "kind": "spray", "sd": 0.1, "zone": "1"}
    assert ("b.csv", "row 2", "merged") in actions(survey)
    assert survey_of(tmp_path, b, a).document["heads"][0]["x"] == 10.06, "the order of files does not matter"


@pytest.mark.parametrize(("away", "merges"), [(0.44, True), (0.46, False)])
def test_things_are_one_within_two_standard_deviations_of_their_difference(tmp_path, away, merges):
    """2 sqrt(0.1^2 + 0.2^2) = 0.447 m."""
    survey = survey_of(tmp_path, "x_m,y_m,code,sd_m\n10,5,SPR,0.1\n", f"x_m,y_m,code,sd_m\n{10 + away},5,SPR,0.2\n")
    assert len(survey.site.heads) == (1 if merges else 2)


@pytest.mark.parametrize(
    ("one", "other", "reason"),
    [
        ("1,h1,SPR", "2,h1,SPR", "zone 1 and 2"),
        ("1,h1,SPR", "1,h2,SPR", "names h1 and h2"),
        ("1,h1,SPR", "1,h1,ROT", "kind spray and rotor"),
    ],
)
def test_what_is_told_apart_is_kept_apart_and_reported(tmp_path, one, other, reason):
    survey = survey_of(tmp_path, f"x_m,y_m,zone,id,code\n10,5,{one}\n", f"x_m,y_m,zone,id,code\n10.02,5,{other}\n")
    assert len(survey.site.heads) == 2
    assert [row.reason for row in survey.report if "kept apart" in row.reason] == [
        f"0.02 m from a.csv, row 2, kept apart: {reason}"
    ]
    assert len(set(survey.site.heads["id"])) == 2


def test_one_file_may_list_neighbours(tmp_path):
    flags = "x_m,y_m,code\n" + "".join(f"{k * 0.1},0,FLAG A\n" for k in range(6))
    assert len(survey_of(tmp_path, flags).site.flags) == 6


def test_a_thing_is_one_with_no_more_than_one_of_another_file(tmp_path):
    """A walk with a phone: five flags within its error of one flag of the walk before."""
    one = "x_m,y_m,code,sd_m\n2,0,FLAG,2\n"
    walk = "x_m,y_m,code,sd_m\n" + "".join(f"{k},0,FLAG,2\n" for k in range(5))
    survey = survey_of(tmp_path, one, walk)
    assert len(survey.site.flags) == 5
    assert survey.report.counts()["merged"] == 1


def test_a_row_that_was_written_twice_is_one(tmp_path):
    survey = survey_of(tmp_path, "id,x_m,y_m,code\nh1,1,2,SPR\nh1,1,2.02,SPR\nh1,8,2,SPR\n")
    assert list(survey.site.heads["id"]) == ["h1", "h1-2"]
    assert [action for _, _, action in actions(survey)] == ["taken", "merged", "taken", "changed"]
    assert any("the name h1 is taken" in row.reason for row in survey.report)


def test_the_same_outline_in_two_files_is_one_however_it_runs(tmp_path):
    one = "x_m,y_m,code\n0,0,BLD1\n9,0,BLD1\n9,4,BLD1\n0,4,BLD1\n"
    turned = "x_m,y_m,code\n9,4.01,HOUSE\n9,0,HOUSE\n0,0,HOUSE\n0,4,HOUSE\n"
    other = "x_m,y_m,code\n0,0,BLD\n9,0,BLD\n9,5,BLD\n0,5,BLD\n"
    assert len(survey_of(tmp_path, one, turned).site.obstacles) == 1
    assert len(survey_of(tmp_path, one, other).site.obstacles) == 2


def test_names_are_made_where_there_are_none_and_never_clash(tmp_path):
    base = tmp_path / "site.json"
    base.write_text(
        '{"format": "underturf-site/2", "units": "m", "heads": [{"id": "head1", "x": 50, "y": 50}]}', encoding="utf-8"
    )
    (tmp_path / "a.csv").write_text("id,x_m,y_m,code\n,1,1,HD\nhead2,9,1,HD\n,9,9,VB\n", encoding="utf-8")
    document = ut.read_survey([tmp_path / "a.csv", base]).document
    assert [head["id"] for head in document["heads"]] == ["head1", "head3", "head2"]
    assert document["valve_boxes"][0]["id"] == "box1"


def test_a_mapping_names_columns_codes_and_defaults(tmp_path):
    mapping = tmp_path / "words.toml"
    mapping.write_text(
        'units = "ft"\n[codes]\nNZ = { list = "heads", kind = "rotor", radius = 30 }\nNAIL = "ignore"\nPF = "POST"\n'
        '[columns]\n"Pt Nr" = "id"\nWas = "code"\nTiefe = "depth"\nBemerkung = "ignore"\n'
        '[defaults]\nheads = { accuracy_95 = "5 cm" }\ndigs = { radius = "6 in", depth = 9, method = "machine" }\n',
        encoding="utf-8",
    )
    text = "Pt Nr,x,y,Was,Tiefe,Bemerkung\n1,10,20,NZ,,\n2,30,20,NAIL,,x\n3,40,20,PF,2,\n"
    survey = survey_of(tmp_path, text, mapping=mapping)
    assert survey.document["heads"] == [
        {"id": "1", "x": 10.0, "y": 20.0, "accuracy_95": 0.164042, "kind": "rotor", "radius": 30.0}
    ]
    assert survey.document["digs"] == [
        {"id": "3", "x": 40.0, "y": 20.0, "depth": 2.0, "radius": 0.5, "method": "machine"}
    ]
    assert [row.reason for row in survey.report if row.action == "left"] == ["left out by the mapping"]


def test_a_table_without_header_is_read_by_the_names_of_its_mapping(tmp_path):
    words = {"files": {"a.csv": {"header": ["id", "northing_ft", "easting_ft", "z", "code"], "units": "ft"}}}
    survey = survey_of(
        tmp_path, "101,500.0,200.0,12.1,VB\n102,510.0,210.0,12.2,SPR\n", mapping=words, origin=("200 ft", "500 ft")
    )
    assert [(of["id"], of["x"], of["y"]) for of in survey.document["heads"]] == [("102", 10.0, 10.0)]
    assert (survey.document["valve_boxes"][0]["x"], survey.document["valve_boxes"][0]["y"]) == (0.0, 0.0)


def test_a_file_says_more_than_a_code_and_a_code_more_than_defaults(tmp_path):
    words = {
        "units": "m",
        "codes": {"NZ": {"list": "heads", "radius": 5, "accuracy_95": 0.2}},
        "defaults": {"heads": {"radius": 3, "sd": 0.01, "zone": "1"}, "digs": {"radius": "1 m", "depth": "1 m"}},
    }
    text = "id,x,y,code,radius,diameter_cm,flow_gpm\na,1,1,NZ,,,\nb,5,1,NZ,6,,3\nc,9,1,SPR,,,\nd,9,9,POST,,40,\n"
    document = survey_of(tmp_path, text, mapping=words).document
    assert [(of["radius"], of.get("accuracy_95"), of.get("sd")) for of in document["heads"]] == [
        (5, 0.2, None),
        (6, 0.2, None),
        (3, None, 0.01),
    ]
    assert document["heads"][1]["flow"] == pytest.approx(3 * 3.785411784 / 60, abs=1e-6)
    assert document["digs"][0]["radius"] == 0.2, "a diameter of the file goes before a radius of the defaults"


def test_of_two_fields_for_one_key_the_one_of_its_name_counts_and_the_other_is_reported(tmp_path):
    from survey_mistakes import geojson

    place = {"type": "Point", "coordinates": [8, 50]}
    (tmp_path / "a.geojson").write_text(geojson(place, code="HD", name="left of the gate", id="h1"), encoding="utf-8")
    survey = ut.read_survey(tmp_path / "a.geojson")
    assert survey.document["heads"][0]["id"] == "h1"
    assert ("column name", "id says the id already") in [(row.place, row.reason) for row in survey.report]
    (tmp_path / "a.geojson").write_text(geojson(place, code="HD", name="a", point="b"), encoding="utf-8")
    with pytest.raises(ut.ArgumentError, match="say different things of id"):
        ut.read_survey(tmp_path / "a.geojson")


def test_columns_that_nobody_knows_are_reported(tmp_path):
    survey = survey_of(
        tmp_path,
        "x_m,y_m,code,dpeth_m,weather\n1,2,POST,0.5,dry\n",
        mapping={"defaults": {"digs": {"depth": "1 m", "radius": "1 ft"}}},
    )
    left = {row.place: row.reason for row in survey.report if row.action == "left"}
    assert set(left) == {"column dpeth_m", "column weather"}
    assert 'did you mean "depth"' in left["column dpeth_m"]


coordinate = st.floats(0.5, 23.5).map(lambda x: round(x, 3))


@st.composite
def sites(draw):
    """Sites as surveys can say them: heads a metre apart, a building, marks, digs."""
    count = draw(st.integers(1, 5))
    heads = [
        {
            "id": f"h{k}",
            "x": round(1 + 4.4 * k + draw(st.floats(0, 3)), 3),
            "y": draw(st.floats(1, 9).map(lambda y: round(y, 3))),
            "zone": draw(st.sampled_from("12")),
        }
        for k in range(count)
    ]
    digs = [
        {
            "id": f"d{k}",
            "x": draw(coordinate),
            "y": 9.5 + 1.5 * k,
            "radius": draw(st.sampled_from([0.2, 0.45])),
            "depth": 0.5,
        }
        for k in range(draw(st.integers(1, 3)))
    ]
    path = [[round(draw(st.floats(1, 23)), 3), float(y)] for y in range(1, 2 + draw(st.integers(1, 4)))]
    return {
        **SITE,
        "heads": [{**of, "kind": "spray"} for of in heads],
        "digs": digs,
        "marks": [{"class": "gas", "path": path, "sd": 0.3}],
    }


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(document=sites())
def test_generated_sites_come_back_through_every_format(tmp_path, document):
    site = ut.Site.from_dict(document)
    words = {"defaults": {"marks": {"sd": "0.3 m"}}, "layers": {"GAS-MARK": "GAS"}}
    for name, write in {
        "a.csv": write_csv,
        "a.gpx": write_gpx,
        "a.geojson": write_geojson,
        "a.dxf": write_drawing,
    }.items():
        back = ut.read_survey(write(document, tmp_path / name), words, frame=FRAME, units="m").site
        assert farthest_m(site, back) <= 0.001, name  # rounding, stated in the report
        assert np.allclose(back.digs["radius_m"], site.digs["radius_m"], atol=1e-6)
        assert list(back.heads["zone"]) == list(site.heads["zone"])


def test_two_thousand_points_in_two_files_take_seconds(tmp_path):
    rows = [f"{k},{2.0 * (k % 40)},{2.0 * (k // 40)},FLAG\n" for k in range(1000)]
    start = time.perf_counter()
    survey = survey_of(tmp_path, "id,x_m,y_m,code\n" + "".join(rows), "id,x_m,y_m,code\n" + "".join(rows))
    assert len(survey.site.flags) == 1000
    assert time.perf_counter() - start < 10  # about 1 s; comparing all with all took 10 s
