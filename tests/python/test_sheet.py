"""The sheet for the crew: what it says, what it never says, how lengths are carried, how many pages it takes."""

from __future__ import annotations

import functools
import re
from html.parser import HTMLParser

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

import underturf as ut
from underturf import _core
from underturf.__main__ import main
from underturf.crew.columns import dealt
from underturf.crew.html import html
from underturf.crew.lengths import tape_text, width_text
from underturf.crew.map import draw_map, limits
from underturf.crew.pages import Pages, fitted
from underturf.crew.plan import SheetOptions, make_plan
from underturf.crew.spots import spots
from underturf.crew.typeset import Columns, Strip, text_width, wrap
from underturf.crew.words import IF_HIT, direction
from underturf.digs import from_core

EXAMPLES = ["green", "terrace", "bare"]


@pytest.fixture(scope="module")
def sampled():
    """Layouts of each example, drawn once."""
    return {
        name: ut.sample_layouts(ut.read_site(ut.example(name)), draws=200, seed=3, progress=False) for name in EXAMPLES
    }


def plan_of(layouts, digs=None, probes=None, **changes):
    options = SheetOptions(**{"date": "2026-05-06", **changes})
    return make_plan(layouts, digs, probes, options, progress=False)


def said_on(pages):
    """All words on the pages."""
    return " ".join(mark.text for page in pages.pages for mark in page if mark.kind == "text")


class Reader(HTMLParser):
    """Text and tags of a file; every tag must be closed."""

    VOID = frozenset({"meta", "br", "col"})

    def __init__(self, text):
        super().__init__()
        self.words, self.tags, self.open, self.quiet = [], [], [], 0
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] != "style":
            self.words.append(data)

    @property
    def said(self):
        return " ".join(" ".join(self.words).split())


def legend_of(plan):
    """Words of the map's legend."""
    ax = Figure().add_subplot()
    return draw_map(ax, plan, plan.listed(None), labels=False)[1]


def labels_of(plan):
    """Labels on the map."""
    figure = Figure(figsize=(6, 6))
    ax = figure.add_subplot()
    draw_map(ax, plan, ())
    return {text.get_text() for text in ax.texts}


def html_of(layouts, tmp_path, **options):
    path = layouts.crew_sheet(tmp_path / "sheet.html", date="2026-05-06", progress=False, **options)
    return path.read_text(encoding="utf-8")


# lengths


def test_feet_and_inches_are_carried():
    inch = 0.0254
    assert tape_text(11.99 * inch, "ft") == "1' 0\""
    assert tape_text(11.74 * inch, "ft") == "0' 11½\""
    assert tape_text(23.76 * inch, "ft") == "2' 0\""
    # Planted fault: inches rounded on their own, feet cut off, give twelve inches.
    assert divmod(11.99, 12)[0] == 0
    assert round(11.99 % 12 * 2) / 2 == 12
    for halves in range(-100, 2000, 7):
        text = tape_text(halves * inch / 2, "ft")
        feet, inches = re.fullmatch(r"-?(\d+)' (\d+½?)\"", text).groups()
        whole = float(inches.replace("½", ".5"))
        assert whole < 12
        assert int(feet) * 12 + whole == abs(halves) / 2
        assert text.startswith("-") == (halves < 0)


def test_metres_to_the_centimetre_and_doubt_rounded_up():
    assert [tape_text(x, "m") for x in (1.005001, 0.0, -0.001, 12.3456)] == ["1.01", "0.00", "0.00", "12.35"]
    assert [width_text(x, "m") for x in (0.231, 0.23, 0.2301)] == ["0.24", "0.23", "0.24"]
    assert width_text(0.0254, "ft") == '1"'


# likely lines and ties


def test_likely_lines_carry_the_cautions(sampled):
    lines = sampled["green"].likely_lines(progress=False)
    assert lines.attrs["cautions"] == list(ut.CAUTIONS)
    assert lines["converged"].all()


def test_likely_lines_follow_the_segments(sampled):
    """Each station's chance and band, counted again over the table of segments."""
    layouts = sampled["green"]
    lines, segments = layouts.likely_lines(progress=False), layouts.segments()
    assert set(lines["class"]) >= {"lateral", "mainline"}
    checked = 0
    for row in lines.iloc[::9].itertuples():
        angle = np.radians(row.bearing_deg)
        along, left = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
        part = segments[segments["class"] == lines.loc[row.Index, "class"]]
        a = part[["x0_m", "y0_m"]].to_numpy() - [row.x_m, row.y_m]
        b = part[["x1_m", "y1_m"]].to_numpy() - [row.x_m, row.y_m]
        s, t = a @ along, b @ along
        crosses = (s * t <= 0) & (s != t)
        with np.errstate(invalid="ignore", divide="ignore"):
            share = np.where(crosses, s / (s - t), 0)
        aside = a @ left + share * ((b - a) @ left)
        turned = np.abs((b - a) @ left) / np.maximum(np.linalg.norm(b - a, axis=1), 1e-12) <= np.sin(np.pi / 6)
        near = crosses & turned & (np.abs(aside) <= row.half_width_m + 1e-6)
        held = part["draw"].to_numpy()[near]
        # 90 % of the draws that have it lie within the band; a draw may have two lines there.
        assert len(set(held)) >= 0.9 * row.chance * layouts.draws - 2
        checked += 1
    assert checked >= 5


def test_every_place_of_the_sheet_comes_back_from_its_tapes(sampled):
    """Trilateration written out here, on the rounded tapes of the sheet."""
    plan = plan_of(sampled["terrace"])
    places = [(p.x_m, p.y_m) for p in plan.points] + [(s.x_m, s.y_m) for s in plan.stakes]
    places += [(p.x_m, p.y_m) for find in plan.finds for p in find.points]
    fixed = np.array([[x, y] for _, x, y in plan.fixed.points])
    back = 0
    for place, tie in zip(places, plan.fixed.ties.itertuples(), strict=True):
        if pd.isna(tie.pair):
            assert tie.refused
            continue
        a, b, length = plan.fixed.pairs[int(tie.pair)]
        along = (fixed[b] - fixed[a]) / length
        x = (tie.to_a_m**2 - tie.to_b_m**2 + length**2) / (2 * length)
        y = np.sqrt(max(tie.to_a_m**2 - x**2, 0)) * (1 if tie.left_m > 0 else -1)
        found = fixed[a] + x * along + y * np.array([-along[1], along[0]])
        assert np.hypot(*(found - place)) < 1e-6
        assert np.hypot(x - tie.along_m, y - tie.left_m) < 1e-6
        assert 30 <= tie.crossing_deg <= 120
        back += 1
    assert back > 0.8 * len(places)


# what it says


@pytest.mark.parametrize("name", EXAMPLES)
def test_sheet_says_what_a_digger_needs_and_never_safe(sampled, name, tmp_path):
    layouts = sampled[name]
    text = html_of(layouts, tmp_path)
    said = Reader(text).said
    for caution in ut.CAUTIONS:
        assert said.count(caution) == 1  # at the foot, which print repeats on every page
    for words in (
        "Before digging",
        "If a line is hit",
        "walk upwind",
        "One-call ticket no. ____",
        "seed 3",
        "station tests",
    ):
        assert words in said
    for dig in layouts.site.dig_ids:
        assert dig in said
    assert re.search(r"\bsafe\b", said) is None
    assert " 0 %" not in said
    assert "100 %" not in said
    assert "NOT CONVERGED" not in said
    assert ("L1" in said) == (len(layouts.likely_lines(progress=False)) > 0)


def test_ticket_marks_date_shut_offs_and_owner(sampled, tmp_path):
    said = Reader(html_of(sampled["green"], tmp_path, ticket="T-17", marks_date="2026-05-05")).said
    assert "One-call ticket no. T-17 Marks dated 2026-05-05" in said
    assert "S1 meter" in said
    assert "V1 valve box box-west (zones 1, 2)" in said
    assert "M1: Gas line marked here (mark 1, mark of 2026-05-04)" in said
    assert "Inside the tolerance zone of gas: spot 4 (lamp-post)" in said
    assert "Not assessed, and may lie here all the same" in said
    assert "0 station tests" in said
    assert "Not used: This evidence of the site was kept" in said
    undated = Reader(html_of(sampled["bare"], tmp_path)).said
    assert "Marks dated ____" in undated
    assert "none in the document" in undated
    assert "To the owner" not in undated


def test_file_is_whole_in_itself_and_text_of_the_user_is_escaped(tmp_path):
    document = ut.read_site(ut.example("bare")).to_dict()
    evil = '<script>alert("x")</script> & $x_1$'
    document["name"] = evil
    document["digs"][0]["id"] = evil
    document["valve_boxes"] = [{"id": evil, "x": 0.5, "y": 0.6, "zones": ["1"]}]
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=100, seed=1, progress=False)
    text = html_of(layouts, tmp_path, ticket="<b>1</b>", marks_date="<i>")
    reader = Reader(text)
    assert evil in reader.said
    assert "<script" not in text
    assert "<b>1</b>" not in text
    for _, attributes in reader.tags:
        assert not any(key in attributes for key in ("src", "srcset", "onload", "onclick"))
        for key in ("href", "xlink:href"):
            assert attributes.get(key, "#").startswith("#")
    assert "url(http" not in text
    # A dollar sign begins no formula on paper either.
    layouts.crew_sheet(tmp_path / "sheet.pdf", progress=False)


def test_probes_are_told_in_order_with_what_they_decide(sampled, tmp_path):
    layouts = sampled["green"]
    probes = pd.DataFrame(
        {
            "x_m": [6.0, 3.0],
            "y_m": [2.5, 4.0],
            "radius_m": 0.25,
            "if_clear": ["dig at 1", "dig at 2"],
            "if_found": "shift",
        }
    )
    said = Reader(html_of(layouts, tmp_path, probes=probes)).said
    first, second = said.index("if clear: dig at 1; if found: shift"), said.index("if clear: dig at 2; if found: shift")
    assert first < second
    assert "P2" in said
    holes = [ut.Hole(6.0, 2.5, 0.25, 0.5), ut.Hole(3.0, 4.0, 0.25, 0.5)]
    assert "P2" in Reader(html_of(layouts, tmp_path, probes=holes)).said
    with pytest.raises(ut.ArgumentError, match="no column radius_m"):
        html_of(layouts, tmp_path, probes=probes.drop(columns="radius_m"))
    with pytest.raises(ut.ArgumentError, match="is no Hole"):
        html_of(layouts, tmp_path, probes=[3.0])


def test_spots_may_be_a_table(sampled, tmp_path):
    spots = pd.DataFrame(
        {"x_m": [6.0, 3.0], "y_m": [2.5, 9.0], "radius_m": 0.3, "depth_m": 0.4, "spot": ["ash", "elm"]}
    )
    said = Reader(html_of(sampled["green"], tmp_path, digs=spots)).said
    assert "1 ash" in said
    assert "2 elm" in said
    assert "maple" not in said


def test_plans_and_best_spots_go_on_the_sheet_as_they_are(sampled, tmp_path):
    layouts = sampled["green"]
    spots = layouts.best_spots(2, radius_m=0.3, depth_m=0.4, spacing_m=3.0, cell_m=0.5, progress=False)
    slits = layouts.plan_probes(n=2, slit_m=(0.8, 0.1), always=True, progress=False)
    assert np.isfinite(slits["bearing_deg"]).all()
    said = Reader(html_of(layouts, tmp_path, digs=spots, probes=slits)).said
    assert "round, 0.60 m across, 0.40 m deep" in said
    assert "slit, 0.80 m long, 0.10 m wide" in said
    holes = layouts.plan_probes(n=2, radius_m=0.2, always=True, progress=False)
    said = Reader(html_of(layouts, tmp_path, probes=holes)).said
    assert "round, 0.40 m across" in said
    assert holes["decides"].iloc[0] in said
    assert "decides: found" not in said


def tapes_of(text):
    """Lengths and letters of a place."""
    return {letter: float(length) for letter, length in re.findall(r"\b([A-Z]) (\d+\.\d\d)", text)}


def test_spots_that_a_plan_moves_are_shown_where_they_are_dug(sampled, tmp_path):
    layouts = sampled["green"]
    probes = layouts.plan_probes(n=3, shift_m=1.5, cell_m=0.5, always=True, progress=False)
    outcomes = [row for row in probes.attrs["outcomes"] if row["probe"] == 1]
    plan = plan_of(layouts, probes=probes)
    drawn = {dig["id"]: dig for dig in layouts.site.to_dict()["digs"]}
    fixed = {plan.fixed.letter(k): np.array([x, y]) for k, (_, x, y) in enumerate(plan.fixed.points)}
    text = html_of(layouts, tmp_path, probes=probes)
    said = Reader(text).said
    assert "where a moved spot was drawn: not there" in legend_of(plan)
    assert any(np.hypot(row["dx_now_m"], row["dy_now_m"]) > 0.1 for row in outcomes)
    for k, row in enumerate(outcomes):
        assert plan.digs[k].id == row["dig"]
        shift = np.array([row["dx_now_m"], row["dy_now_m"]])
        np.testing.assert_allclose(plan.digs[k].points_m, plan.drawn[k].points_m + shift, atol=1e-9)
        assert plan.table["p_strike"].iloc[k] == pytest.approx(row["p_now"], abs=1e-9)
        if "radius" not in drawn[row["dig"]] or not shift.any():
            continue
        place = np.array([drawn[row["dig"]]["x"], drawn[row["dig"]]["y"]]) + shift
        words = spots(plan)[1].rows[k][4].replace("\u00a0", " ").split(". ")[0]
        assert words.split(" (there")[0] in said
        length, way = re.match(r"MOVED (\d+\.\d\d) m ([a-z-]+) of where it was drawn", words).groups()
        assert abs(float(length) - np.hypot(*shift)) <= 0.005 + 1e-9
        assert way == direction(np.degrees(np.arctan2(shift[1], shift[0])))
        tapes = tapes_of(words[words.index("to tapes") :])
        assert len(tapes) == 2
        for letter, length_m in tapes.items():
            assert abs(np.hypot(*(fixed[letter] - place)) - length_m) <= 0.006
    # No second shift on top of the plan's own.
    assert "Best shift" not in said


def test_probes_say_where_each_outcome_sends_a_spot(sampled, tmp_path):
    layouts = sampled["green"]
    probes = layouts.plan_probes(n=3, shift_m=1.5, cell_m=0.5, always=True, progress=False)
    for row, (x, y) in zip(probes.attrs["outcomes"][1::5], ((0.3, 0.4), (0.0, -1.0), (-0.5, 0.0)), strict=False):
        row["dx_if_clear_m"], row["dy_if_clear_m"] = row["dx_now_m"] + x, row["dy_now_m"] + y
    rows = pd.DataFrame(probes.attrs["outcomes"])
    number = {dig: k + 1 for k, dig in enumerate(layouts.site.dig_ids)}
    said = Reader(html_of(layouts, tmp_path, probes=probes)).said.replace("\u00a0", " ")
    plan = plan_of(layouts, probes=probes)
    told = 0
    for row in rows.itertuples():
        for outcome in ("found", "clear"):
            dx = getattr(row, f"dx_if_{outcome}_m") - row.dx_now_m
            dy = getattr(row, f"dy_if_{outcome}_m") - row.dy_now_m
            moves = np.hypot(dx, dy) > 1e-6
            label = f"{number[row.dig]} if P{row.probe} {outcome}"
            assert any(point.label.startswith(label) for point in plan.points) == moves
            if moves:
                assert f"spot {number[row.dig]} {np.hypot(dx, dy):.2f} m" in said
                assert label in said
                told += 1
    assert told >= 3
    assert "where a probe's outcome sends a spot" in legend_of(plan)
    # Of a plan with its first row gone the second probe is P1, and what it says stays with it.
    rest = plan_of(layouts, probes=probes.iloc[1:])
    assert {(m.spot, m.outcome) for m in rest.moves if m.probe == "P1"} == {
        (m.spot, m.outcome) for m in plan.moves if m.probe == "P2"
    }


def test_digs_that_were_shifted_already_are_not_shifted_again(sampled):
    layouts = sampled["green"]
    probes = layouts.plan_probes(n=2, shift_m=1.5, cell_m=0.5, always=True, progress=False)
    first = plan_of(layouts, probes=probes)
    again = plan_of(layouts, digs=[from_core(dig) for dig in first.digs], probes=probes)
    assert first.shifts
    assert not again.shifts
    for there, here in zip(first.digs, again.digs, strict=True):
        np.testing.assert_allclose(there.points_m, here.points_m)


def test_directions_are_those_of_the_ground():
    assert [direction(angle) for angle in (0, 22.5, 45, 90, 180, 270)] == [
        "east",
        "east-north-east",
        "north-east",
        "north",
        "west",
        "south",
    ]
    # True north lies along the plan's x axis: up the plan is west.
    assert direction(90, 90) == "west"


def with_finds():
    """The example with dangerous lines met by probes, one of them by a slit, and a standing tree."""
    document = ut.read_site(ut.example("green")).to_dict()
    document["probes"] = [
        {
            "x": 8.2,
            "y": 14.0,
            "radius": 0.25,
            "depth": 0.6,
            "found": True,
            "class": "gas",
            "bearing_deg": 90.0,
            "cover": 0.5,
        },
        {"x": 3.0, "y": 14.0, "radius": 0.25, "depth": 0.6, "found": True, "class": "sewer"},
        {"path": [[1.0, 6.0], [2.0, 6.0]], "width": 0.2, "depth": 0.5, "found": True, "class": "communication"},
        {"x": 5.5, "y": 5.0, "radius": 0.25, "depth": 0.5, "found": False},
    ]
    document["trees"] = [{"x": 7.5, "y": 10.2, "stem_diameter": 0.35}]
    return ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=3, progress=False)


def test_every_dangerous_line_is_told_to_the_owner_with_its_place(tmp_path):
    layouts = with_finds()
    plan = plan_of(layouts)
    said = Reader(html_of(layouts, tmp_path)).said
    note = said[said.index("To the owner of the ground") :]
    for words in (
        "M1: Gas line marked here",
        "F1: Gas line found by probe 1, running north and south, under 0.50 m of cover",
        "F2: Sewer or drain found by probe 2",
        "F3: Communication line found by probe 3, somewhere along its slit",
    ):
        assert words in note
    fixed = {plan.fixed.letter(k): np.array([x, y]) for k, (_, x, y) in enumerate(plan.fixed.points)}
    for label, place in (
        ("F1 A", (8.2, 14.0)),
        ("F2 A", (3.0, 14.0)),
        ("F3 start A", (1.0, 6.0)),
        ("M1 end A", (17.2, 8.0)),
    ):
        at = note.index(label) + len(label) - 1
        tapes = tapes_of(" ".join(note[at:].split()[:4]))
        assert len(tapes) == 2
        for letter, length_m in tapes.items():
            assert abs(np.hypot(*(fixed[letter] - place)) - length_m) <= 0.006
    legend = legend_of(plan)
    assert {f"{name} met by a probe (F)" for name in ("gas", "sewer", "communication")} <= set(legend)
    assert {"F1 gas", "F2 sewer", "F3 communication", "M1 gas"} <= labels_of(plan)


def test_trees_to_be_planted_and_standing_ones_are_on_the_map_and_in_the_list(sampled):
    plan = plan_of(with_finds())
    assert {
        "setback of a new tree",
        "mature roots of a new tree",
        "stem of a standing tree",
        "protected roots of a standing tree",
    } <= set(legend_of(plan))
    todo = [row[4].replace("\u00a0", " ") for row in spots(plan)[1].rows]
    assert re.search(r"Large tree: setback 1\.52 m, a line within: \d+ %; mature roots 7\.20 m", todo[0])
    assert "Reaches into the protected roots of trees[0]" in todo[4]
    # What stays small is exempt from both.
    assert "tree: setback" not in todo[1]
    assert "round, 0.90 m across, 0.40 m deep" in spots(plan)[1].rows[0][1].replace("\u00a0", " ")
    bare = plan_of(sampled["bare"])
    assert not any("tree" in words for words in legend_of(bare)) or any(dig.tree for dig in bare.digs)


def test_weights_and_setback_of_the_user_reach_the_sheet(sampled, tmp_path):
    layouts = sampled["green"]
    wide = Reader(html_of(layouts, tmp_path, weights={"lateral": 50.0}, setback="lateral_10ft")).said
    # Planted fault: a sheet that knows the shipped setback alone tells 1.52 m.
    assert "setback 3.05" in wide.replace("\u00a0", " ")
    assert "setback 1.52" in Reader(html_of(layouts, tmp_path)).said.replace("\u00a0", " ")
    with pytest.raises(ut.ArgumentError, match="steam"):
        layouts.crew_sheet(tmp_path / "sheet.html", weights={"steam": 1.0}, progress=False)
    plain, own = plan_of(layouts), plan_of(layouts, weights={"lateral": 50.0}, setback="lateral_10ft")
    assert (own.table["loss"] > plain.table["loss"]).any()
    assert own.trees[0]["setback_m"] == pytest.approx(2 * plain.trees[0]["setback_m"])
    with pytest.raises(ut.ArgumentError, match="steam"):
        plan_of(layouts, weights={"steam": 1.0})
    with pytest.raises(ut.ArgumentError):
        plan_of(layouts, setback="nowhere")


def test_slits_and_rods_are_drawn_and_worded_as_what_they_are(sampled):
    layouts = sampled["green"]
    slits = plan_of(layouts, probes=layouts.plan_probes(n=2, slit_m=(0.8, 0.1), always=True, progress=False))
    rods = plan_of(layouts, probes=layouts.plan_probes(n=2, rod=True, always=True, progress=False))
    holes = plan_of(layouts, probes=layouts.plan_probes(n=2, always=True, progress=False))
    words = ("slit to dig (P), to scale, in order", "rod to push (P), in order", "probe to dig (P), in order")
    for plan, mine in zip((slits, rods, holes), words, strict=True):
        assert [entry for entry in legend_of(plan) if entry in words] == [mine]
    said = said_on(fitted(rods, annex=False)).replace("\u00a0", " ")
    assert "rod, pushed" in said
    assert "Push the rods by hand" in said
    assert "Dig them by hand" not in said
    assert "a clear one is no clearance" in said
    assert "decides: " not in said


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_likely_line_has_its_label_on_the_map(sampled, name):
    plan = plan_of(sampled[name])
    assert {f"L{line}" for line in plan.lines["line"]} <= labels_of(plan)


def test_bad_arguments_are_refused(sampled, tmp_path):
    layouts = sampled["bare"]
    for options, words in (
        ({"near_m": -1.0}, "near_m is -1"),
        ({"least_chance": 0.0}, "least_chance = 0"),
        ({"step_m": 0.0}, "step_m"),
    ):
        with pytest.raises(ut.ArgumentError, match=words):
            layouts.crew_sheet(tmp_path / "sheet.html", progress=False, **options)
    with pytest.raises(ut.ArgumentError, match=r"must end in \.html"):
        layouts.crew_sheet(tmp_path / "sheet.docx", progress=False)


def test_unconverged_answers_are_marked_at_the_top_of_every_page(tmp_path, monkeypatch):
    out_of_reach = (1.01, 1e9, 0.01, 0.1)  # no chain is worth so many draws
    monkeypatch.setattr(_core, "sample_layouts", functools.partial(_core.sample_layouts, gates=out_of_reach))
    site = ut.read_site(ut.example("unlabelled"))
    layouts = ut.sample_layouts(site, draws=60, seed=3, longest=1, accept_unconverged=True, progress=False)
    assert not layouts.converged
    said = Reader(html_of(layouts, tmp_path)).said
    assert said.index("NOT CONVERGED") < said.index("Spots")
    assert said.count("NOT CONVERGED, do not rely on these figures") >= 3
    plan = plan_of(layouts)
    pages = fitted(plan, annex=False)
    assert "NOT CONVERGED" in " ".join(pages.foot)
    table = layouts.likely_lines(progress=False)
    assert not table["converged"].any()


# pages


def page_count(path):
    return len(re.findall(rb"/Type /Page\b", path.read_bytes()))


@pytest.mark.parametrize("name", EXAMPLES)
def test_pdf_has_at_most_two_pages(sampled, name, tmp_path):
    path = sampled[name].crew_sheet(tmp_path / "sheet.pdf", progress=False)
    assert 1 <= page_count(path) <= 2


def test_sixty_heads_still_take_two_pages_and_say_what_is_left_out(tmp_path):
    heads = [
        {"id": f"h{i}-{j}", "x": 4.0 * i, "y": 4.0 * j, "zone": str(1 + i // 2)} for i in range(10) for j in range(6)
    ]
    boxes = [{"id": f"v{k}", "x": 2.0 + 8.0 * k, "y": -1.0, "zones": [str(k + 1)]} for k in range(5)]
    digs = [{"id": f"tree {k}", "x": 3.0 + 5.1 * k, "y": 5.0 + 2 * k, "radius": 0.5, "depth": 0.4} for k in range(6)]
    document = {"format": "underturf-site/1", "units": "ft", "heads": heads, "valve_boxes": boxes, "digs": digs}
    document["sources"] = [{"id": "bf", "x": -1.0, "y": -1.0, "kind": "backflow"}]
    document["boundary"] = [[-2, -2], [40, -2], [40, 24], [-2, 24]]
    for key in ("heads", "valve_boxes", "sources", "digs"):
        for item in document[key]:
            item["x"], item["y"] = item["x"] / 0.3048, item["y"] / 0.3048
    for dig in digs:
        dig["radius"], dig["depth"] = 1.6, 1.3
    document["boundary"] = [[x / 0.3048, y / 0.3048] for x, y in document["boundary"]]
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=5, progress=False)
    path = layouts.crew_sheet(tmp_path / "sheet.pdf", progress=False)
    assert page_count(path) == 2
    plan = plan_of(layouts)
    pages = fitted(plan, annex=False)
    said = said_on(pages)
    left = len(plan.stakes) - len(plan.listed(pages.most))
    assert left > 0
    assert f"Not listed: {left} of {len(plan.stakes)} stakes" in said
    assert len(fitted(plan, annex=True).pages) > 2
    assert (
        "off at the controller and at the backflow assembly (S1 backflow assembly bf)"
        in Reader(html_of(layouts, tmp_path)).said
    )


@pytest.mark.parametrize("tool", [None, {}, {"shift_m": 1.5, "cell_m": 0.5}])
def test_as_many_stakes_are_listed_as_two_pages_hold(sampled, tool):
    layouts = sampled["green"]
    probes = None if tool is None else layouts.plan_probes(n=4, always=True, progress=False, **tool)
    plan = plan_of(layouts, probes=probes)
    pages = fitted(plan, annex=False)
    assert len(pages.pages) == 2
    near, listed = plan.listed(None), plan.listed(pages.most)
    said = said_on(pages).replace("\u00a0", " ")
    if len(listed) < len(near):
        assert len(pages.again(len(listed) + 1).pages) > 2
        assert "further away than those listed (there is no room for all)" in said
    else:
        assert "further than 3.00 m from every spot and probe" in said
    assert len(listed) > 20
    assert f"Not listed: {len(plan.stakes) - len(listed)} of {len(plan.stakes)} stakes" in said
    # No hole at the end of the first page.
    assert max(mark.y for mark in pages.pages[0]) > pages.bottom - 0.8


@pytest.mark.parametrize("name", EXAMPLES)
def test_what_to_do_when_a_line_is_hit_is_on_one_page(sampled, name):
    plan = plan_of(sampled[name])
    wanted = ["If a line is hit", *(f"{term}:" for term, _ in IF_HIT if len(term) < 20), "until its owner has said"]
    for height in (3.4, 4.0, 4.4, 4.8, 5.2, 5.8):
        pages = Pages(plan, 8.0, None, height)
        words = [" ".join(mark.text for mark in page if mark.kind == "text") for page in pages.pages]
        assert sum(all(part in said for part in wanted) for said in words) == 1
        assert '<div class="together"><h2>If a line is hit</h2>' in html(pages, annex=False)


@pytest.mark.parametrize("name", ["green", "terrace"])
@pytest.mark.parametrize("step_m", [2.0, 0.7])
def test_stakes_of_a_line_stay_together_where_a_column_holds_them(sampled, name, step_m):
    plan = plan_of(sampled[name], step_m=step_m)
    pages = fitted(plan, annex=True)
    assert len(pages.pages) > 2
    columns = {}
    for number, page in enumerate(pages.pages):
        # The annex alone: the stakes before it are on the second page.
        start = min((mark.y for mark in page if mark.text.startswith("Annex")), default=0.0 if number > 1 else np.inf)
        for mark in page:
            if mark.y > start and (found := re.fullmatch(r"(L\d+)\.\d+", mark.text)):
                columns.setdefault(found[1], set()).add((number, round(mark.x, 2)))
    assert len(columns) > 10
    assert all(len(places) == 1 for places in columns.values())


def test_headings_are_on_the_page_of_what_they_head(tmp_path):
    heads = [{"id": f"h{k}", "x": 12.0 * k, "y": 0.5 * k, "zone": "1"} for k in range(4)]
    document = {"format": "underturf-site/1", "units": "ft", "heads": heads}
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=60, seed=2, progress=False)
    pages = fitted(plan_of(layouts), annex=False)
    words = [{mark.text for mark in page} for page in pages.pages]
    assert len(words) == 2
    # One line whose stakes stay together and fill more than what is left of the first page.
    (page,) = (number for number, said in enumerate(words) if "L1.1" in said)
    assert "Stakes on likely lines" in words[page]


def test_spots_at_the_edge_are_whole_on_the_map(sampled):
    dig = ut.Hole(30.0, 8.0, 1.2, 0.4)
    x, _ = limits(plan_of(sampled["green"], digs=[dig]))
    assert x[1] > 31.2


def strips(lengths):
    """Rows of one inch: a title and so many rows for each."""
    rows = []
    for length in lengths:
        rows.append(Strip(1.0, with_next=True, again=True))
        rows += [Strip(1.0, with_next=k < length - 1) for k in range(length)]
    return rows


def test_rows_are_dealt_out_whole_unless_no_column_holds_them():
    parts, left = dealt(Columns(Strip(0.0), strips([3, 2, 4]), 2, 1.0), 8.0, 20.0)
    assert [len(part) for part in parts] == [7, 5]
    assert left == []
    # The last does not fit in what is left, but on a page of its own.
    parts, left = dealt(Columns(Strip(0.0), strips([3, 3, 9]), 2, 1.0), 5.0, 20.0)
    assert [len(part) for part in parts] == [4, 4]
    assert len(left) == 10
    # No page holds it: its title is said again.
    parts, left = dealt(Columns(Strip(0.0), strips([12]), 2, 1.0), 5.0, 5.0)
    assert [len(part) for part in parts] == [5, 5]
    assert parts[1][0].again
    assert len(left) == 5
    assert left[0].again


def test_a_building_beyond_the_boundary_leaves_room_for_the_map(sampled):
    plan = plan_of(sampled["terrace"])
    _, (low, high) = limits(plan)
    assert -20 < low < -5  # the building reaches to -26
    assert high > 76
    pages = fitted(plan, annex=False)
    assert len(pages.pages) <= 2
    assert pages.frame.wide > 3.0
    # What stands beside the map is neither on it, nor on the legend, nor off the paper, nor said again below.
    assert pages.beside
    column = [mark for mark in pages.pages[0] if mark.x >= 0.5 + pages.frame.column_x - 1e-6 and mark.kind == "text"]
    column = [mark for mark in column if mark.y < pages.map_y + pages.frame.height]
    assert min(mark.y for mark in column) > pages.map_y + pages.frame.column_y
    assert pages.frame.column_x > 0.4 + pages.frame.wide
    assert said_on(pages).count("Before digging") == 1
    assert '<div class="beside"' in html(pages, annex=False)


def test_nothing_runs_off_the_paper(sampled):
    for layouts in sampled.values():
        pages = fitted(plan_of(layouts), annex=True)
        for page in pages.pages:
            for mark in page:
                if mark.kind == "text":
                    right = mark.x + text_width(mark.text, mark.size, mark.bold)
                    assert right <= pages.width - 0.3
                    assert 0.3 <= mark.y <= pages.bottom + 0.02


def test_lines_are_no_wider_than_their_column():
    text = "one two " + "x" * 90 + " three"
    lines = wrap(text, 1.5, 8.0)
    assert max(text_width(line, 8.0) for line in lines) <= 1.5
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_png_shows_both_pages(sampled, tmp_path):
    from matplotlib.image import imread

    picture = imread(sampled["green"].crew_sheet(tmp_path / "sheet.png", progress=False))
    height, width, _ = picture.shape
    pages = height / width / (11.69 / 8.27)
    assert abs(pages - round(pages)) < 0.01
    assert 1 <= round(pages) <= 2
    ink = (picture < 0.97).any(axis=2).mean()
    assert 0.03 < ink < 0.6


def test_same_seed_same_sheet(sampled, tmp_path):
    first, second = (html_of(sampled["bare"], tmp_path) for _ in range(2))
    assert first == second


def test_command_line_writes_the_sheet(tmp_path, capsys):
    out = tmp_path / "crew.html"
    words = ["sheet", str(ut.example("bare")), "-o", str(out), "--draws", "60", "--ticket", "T-3", "--near", "10ft"]
    assert main(words) == 0
    assert "T-3" in out.read_text(encoding="utf-8")
    assert "A probability is not a clearance" in capsys.readouterr().out
    assert main(["sheet", str(ut.example("bare")), "-o", str(tmp_path / "x.doc"), "--draws", "20"]) == 1
