"""Metal lines: the tables, what is dangerous, the pictures, and what the sheet says of them to the crew and the owner."""

from __future__ import annotations

import dataclasses
import html
import re

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure
from sheets import Reader, html_of, legend_of, plan_of

import underturf as ut
from underturf.crew.content import content
from underturf.crew.metal import carries, told_words
from underturf.methods.metal import ORDER, in_order, lines_of
from underturf.plotting import style
from underturf.plotting.courses import courses_of, has_course, joined_services

mpl.use("agg")

METAL = [name for name in ut.CLASSES if name != "lateral"]

#: Two heads, an iron main without a name from a backflow preventer to a box, a gas service that flags lie on, and paint.
YARD = {
    "format": "underturf-site/2",
    "units": "m",
    "name": "Yard (invented)",
    "boundary": [[0, 0], [24, 0], [24, 14], [0, 14]],
    "heads": [{"id": "a", "x": 1, "y": 1, "zone": "1"}, {"id": "b", "x": 7, "y": 1, "zone": "1"}],
    "valve_boxes": [{"id": "box", "x": 13.1, "y": 4.0, "zones": ["1"]}],
    "sources": [{"id": "bf", "x": 1.0, "y": 4.05, "kind": "backflow"}],
    "obstacles": [{"kind": "building", "outline": [[0, 14], [24, 14], [24, 20], [0, 20]]}],
    "flags": [{"x": x, "y": 4.0 + 0.05 * (-1) ** k} for k, x in enumerate((2.4, 4.0, 5.2, 6.9, 9.0, 10.4, 12.0))]
    + [{"x": 9.6 + 0.05 * (-1) ** k, "y": y} for k, y in enumerate((1.5, 5.6, 7.1, 9.3, 11.8))],
    "marks": [{"class": "communication", "path": [[20, 0], [20, 13]], "sd": 0.2}],
    "services": [{"class": "gas", "from": [9.6, 13.9], "to": [9.6, 0.1]}],
    "digs": [
        {"id": "near", "x": 10.4, "y": 8.2, "radius": 0.3, "depth": 0.6},
        {"id": "far", "x": 16.5, "y": 9.0, "radius": 0.3, "depth": 0.6},
    ],
}


@pytest.fixture(scope="module")
def layouts():
    return ut.sample_layouts(ut.Site.from_dict(YARD), draws=200, seed=3)


@pytest.fixture(scope="module")
def lines(layouts):
    return layouts.metal_lines()


@pytest.fixture(scope="module")
def bare():
    return ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=3)


def test_lines_are_told_with_what_tells_of_them(lines):
    """The site was made so; the fault to catch is a line with the flags of another."""
    said = {line.treat_as: (line.told_by, line.flags) for line in lines}
    assert said["gas"] == ("5 flags, service 1", 5)
    assert said["mainline"] == ("7 flags", 7)
    assert said["communication"] == ("mark 1", 0)
    (main,) = (line for line in lines if line.treat_as == "mainline")
    assert "bf (" in main.leads_to
    assert "box (" in main.leads_to


def test_flags_are_on_the_lines_that_the_table_tells(layouts, lines):
    flags = layouts.flags()
    assert flags[["x_m", "y_m"]].to_numpy().tolist() == [[flag["x"], flag["y"]] for flag in YARD["flags"]]
    assert flags["line"].dtype == "Int64"
    counts = flags["line"].value_counts()
    assert {line.line: line.flags for line in lines if line.flags} == counts.to_dict()
    assert flags["probability"].between(0, 1).all()
    assert (flags["p_stray"] <= 1).all()
    assert flags["written"].isna().all()


def test_dangerous_lines_come_first_and_numbers_begin_at_one(lines):
    table = lines.table()
    assert table.index.tolist() == list(range(1, len(lines) + 1))
    assert table["dangerous"].is_monotonic_decreasing
    assert lines[0].treat_as == "gas"
    assert np.allclose(table[[f"p_{name}" for name in METAL]].sum(axis=1), 1.0)


def made(*rows):
    """A table of lines as the engine gives it, with chances of some classes."""
    columns = {"class": [max(row, key=row.get) for row in rows], "told_by": ["2 flags"] * len(rows)}
    columns |= {f"p_{name}": [row.get(name, 0.0) for row in rows] for name in METAL}
    numbers = ("probability", "cover_m", "cover_low_m", "cover_high_m")
    columns |= {name: np.full(len(rows), 0.5) for name in numbers}
    columns |= {"leads_to": [""] * len(rows), "flags": np.full(len(rows), 2)}
    stations = pd.DataFrame({"line": [0], "half_width_m": [0.2], "between": [True]})
    return lines_of(columns, stations)


def test_a_class_that_is_no_more_likely_than_not_is_unknown_and_the_worst():
    """Planted fault: the likeliest class, however unlikely, names the line."""
    table = made({"mainline": 0.9, "potable": 0.1}, {"potable": 0.45, "control_wire": 0.4, "gas": 0.15}, {"gas": 1.0})
    assert table["treat_as"].tolist() == ["mainline", "unknown", "gas"]
    assert table["dangerous"].tolist() == [False, True, True]
    assert in_order(table)[-1] == 0
    assert table["class"].tolist()[1] == "potable"


def test_a_tenth_of_gas_is_not_averaged_away():
    table = made({"mainline": 0.89, "gas": 0.06, "electric": 0.05}, {"mainline": 0.95, "gas": 0.05})
    assert table["dangerous"].tolist() == [True, False]
    assert set(ORDER) == set(METAL)


def test_courses_lie_on_their_flags(lines):
    courses = lines.courses
    assert courses["line"].dtype == "int64"
    assert courses["azimuth_deg"].between(0, 180).all()
    assert courses["p_here"].between(0.05, 1).all()
    gas = courses[(courses["line"] == 1) & courses["between"]]
    assert (gas["x_m"] - 9.6).abs().max() < 0.15  # sd 0.1 m of five flags and two ends
    assert lines[0].half_width_m == pytest.approx(gas["half_width_m"].max(), abs=0)
    crossed = {tuple(sorted(pair)) for pair in lines.crossings[["line", "crosses"]].to_numpy().tolist()}
    (main,) = (line.line for line in lines if line.treat_as == "mainline")
    assert (1, main) in crossed


def test_a_site_without_metal_has_empty_tables_of_the_same_types(bare, layouts, lines):
    nothing = bare.metal_lines()
    for made_of, like in ((bare.flags(), layouts.flags()), (nothing.courses, lines.courses)):
        assert len(made_of) == 0
        numbers = [name for name in like if like[name].dtype.kind in "fi"]
        assert made_of[numbers].dtypes.to_dict() == like[numbers].dtypes.to_dict()
    assert list(nothing.table()) == list(lines.table())
    assert nothing.table()["probability"].dtype == float
    assert nothing.table()["dangerous"].dtype == bool
    assert len(nothing.crossings) == 0
    assert list(nothing) == []
    assert "Nothing on this site tells of metal" in str(nothing)
    assert nothing.plot(Figure().add_subplot()).has_data()


@pytest.mark.parametrize("ending", ["json", "csv"])
def test_a_file_brings_the_lines_back_bit_for_bit(lines, bare, tmp_path, ending):
    for k, result in enumerate((lines, bare.metal_lines())):
        again = ut.MetalLines.load(result.save(tmp_path / f"{k}.{ending}"))
        assert again == result
        pd.testing.assert_frame_equal(again.courses, result.courses, check_exact=True)
    with pytest.raises(dataclasses.FrozenInstanceError):
        lines.seed = 1
    taken = lines.courses
    taken["p_here"] = 0.0
    assert lines.courses["p_here"].max() > 0.5


def test_what_is_shown_carries_the_cautions(lines):
    for said in (lines._repr_html_(), str(lines)):
        assert all(caution in html.unescape(said) for caution in ut.CAUTIONS)
    assert lines.table().attrs["cautions"] == list(ut.CAUTIONS)
    assert "metal lines" in repr(lines)


def test_segments_name_metal(layouts):
    pieces = layouts.segments()
    metal = pieces[pieces["kind"] == "metal"]
    assert set(metal["zone"]) == {"metal line"}
    assert not (pieces["zone"] == "metal line")[pieces["kind"] != "metal"].any()


def drawn(axes):
    """Words of the picture and of its legend."""
    keys = [text.get_text() for legend in axes.figure.legends for text in legend.get_texts()]
    return [text.get_text() for text in axes.texts], keys


def test_the_plan_draws_courses_by_class_and_no_guess_where_flags_tell(layouts, lines):
    words, keys = drawn(lines.plot())
    assert "GAS ML1" in words
    assert "GAS?" not in words
    assert "likely gas, by flags and ends (ML)" in keys
    assert "band of doubt of a metal line" in keys
    assert joined_services(lines) == {0}
    plain, _ = drawn(layouts.site.plot())
    assert "GAS?" in plain
    assert "GAS ML1" in drawn(layouts.plot(draws=1))[0]


def test_zones_and_strips_lie_above_bands_of_doubt(lines):
    axes = lines.plot()
    bands = {of.get_zorder() for of in axes.collections if type(of).__name__ == "PolyCollection"}
    areas = {of.get_zorder() for of in axes.collections if type(of).__name__ == "PatchCollection"}
    assert len(bands) == 1
    assert max(bands) < min(areas)


def test_paint_alone_has_a_band_and_a_lone_service_neither(lines):
    (paint,) = (line for line in lines if line.told_by == "mark 1")
    assert courses_of(lines, paint)
    assert not has_course(paint)
    lone = dataclasses.replace(paint, told_by="service 1")
    assert courses_of(lines, lone) == []
    assert courses_of(lines, dataclasses.replace(paint, told_by="1 flag", flags=1)) == []


@pytest.fixture(scope="module")
def said(layouts):
    return Reader(html_of(layouts)).said


def test_the_crew_is_told_every_metal_line_with_its_doubt(layouts, lines, said):
    table = said[said.index("Metal lines Dangerous lines first") : said.index("Stakes on likely lines and metal lines")]
    places = [table.index(f"ML{line.line} ") for line in lines]
    assert places == sorted(places)
    assert "5 detector flags, known ends (service 1)" in table
    assert re.search(r"±0\.\d\d", table)
    assert "likely gas, by flags and ends (ML)" in legend_of(plan_of(layouts))


def test_metal_lines_are_staked_and_paint_is_not(layouts, lines):
    plan = plan_of(layouts)
    staked = {stake.line for stake in plan.stakes}
    assert {f"ML{line.line}" for line in lines if has_course(line)} <= staked
    assert f"ML{next(line.line for line in lines if line.told_by == 'mark 1')}" not in staked
    assert plan.stakes[0].line == "ML1"
    assert not (plan.lines["zone"] == "metal line").any()
    assert plan.lines["line"].drop_duplicates().tolist() == list(range(1, plan.lines["line"].nunique() + 1))


def test_the_owner_is_told_dangerous_lines_first_and_how_they_are_known(layouts, said):
    plan = plan_of(layouts)
    note = said[said.index("To the owner of the ground") :]
    assert note.index("ML1: Gas line, told by 5 detector flags, known ends (service 1)") < note.index(
        "Communication line"
    )
    assert "part of ML1" in note
    assert "chance that it is there" in note
    places = [find.of for find in plan.finds]
    assert places[0] == "gas"
    assert places == sorted(places, key=ORDER.index)
    assert {"ML1 start", "ML1 end"} <= {point.label for point in plan.finds[0].points}


def test_metal_of_unknown_class_is_worded_and_drawn_as_the_worst(lines):
    unknown = dataclasses.replace(
        lines[0], treat_as="unknown", likeliest="potable", p_class={"potable": 0.4, "gas": 0.3}
    )
    assert carries(unknown).startswith("not settled: treat as gas or electric")
    assert list(style.LINES).index("unknown") < list(style.LINES).index("potable")
    feared = dataclasses.replace(
        lines[0], treat_as="mainline", likeliest="mainline", p_class={"mainline": 0.85, "gas": 0.15}
    )
    assert "gas, electric or unknown 15" in carries(feared)
    assert told_words(dataclasses.replace(lines[0], told_by="1 flag, probe 2")) == "1 detector flag, a find (probe 2)"


def test_the_sheet_says_whether_chains_over_metal_passed(layouts):
    plan = plan_of(layouts)
    for failures, words in (((), "passed every check"), (("legs: no",), "did not pass every check")):
        changed = dataclasses.replace(plan, metal=dataclasses.replace(plan.metal, failures=failures))
        items = [item for block in content(changed) for item in getattr(block, "items", ())]
        assert words in dict(items)["Convergence"].partition("metal line")[2]


def test_the_example_tells_iron_from_gas():
    layouts = ut.sample_layouts(ut.read_site(ut.example("metal")), draws=150, seed=7)
    lines = layouts.metal_lines()
    assert lines[0].treat_as == "gas"
    assert "service 1" in lines[0].told_by
    (main,) = (line for line in lines if line.treat_as == "mainline")
    assert main.flags >= 12
    table = layouts.assess().table()
    assert table.loc["juniper", "p_gas"] < 0.05 < table.loc["oak", "p_gas"]


def test_marks_have_the_colours_of_the_public_code():
    """The code says red electric, yellow gas, orange communication, blue potable, purple reclaimed and irrigation, green sewer.

    Source: python/docs/trade-values.md, 4.1. A hue may be off by 25 degrees: inks differ.
    """
    hues = {
        "electric": 0,
        "gas": 50,
        "communication": 30,
        "potable": 215,
        "reclaimed": 280,
        "mainline": 280,
        "sewer": 135,
    }
    for name, hue in hues.items():
        rgb = mpl.colors.to_rgb(style.MARK_COLOURS[name])
        off = abs(360 * mpl.colors.rgb_to_hsv(rgb)[0] - hue)
        assert min(off, 360 - off) < 25, name
