"""The sheet for the crew: what it says and never says, of files, spots and probes as they are given."""

from __future__ import annotations

import functools
import re
import subprocess
import sys

import numpy as np
import pandas as pd
import pytest
from sheets import EXAMPLES, Reader, browser_of, html_of, pages_of, pdf_of, plan_of

import underturf as ut
from underturf import _core
from underturf.__main__ import main
from underturf.crew import sheet as writing


@pytest.mark.parametrize("name", EXAMPLES)
def test_sheet_says_what_a_digger_needs_and_never_safe(sampled, name):
    layouts = sampled[name]
    text = html_of(layouts)
    said = Reader(text).said
    for caution in ut.CAUTIONS:
        assert said.count(caution) == 1  # at the foot, which print repeats on every page
    for words in (
        "Before digging",
        "If a line is hit",
        "Walk upwind",
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
    assert ("L1" in said) == (len(layouts.likely_lines()) > 0)


def test_ticket_marks_date_shut_offs_and_owner(sampled):
    said = Reader(html_of(sampled["green"], ticket="T-17", marks_date="2026-05-05")).said
    assert "One-call ticket no. T-17. Marks dated 2026-05-05" in said
    assert "S1 meter" in said
    assert "V1 valve box box-west (zones 1, 2)" in said
    assert "M1: Gas line marked here (mark 1, mark of 2026-05-04)" in said
    assert "Inside the tolerance zone of gas: spot 4 (lamp-post)" in said
    assert "Such lines may lie here all the same" in said
    assert "0 station tests" in said
    assert "takes no part in the probabilities" not in said, "marks do since they tell of lines"
    undated = Reader(html_of(sampled["bare"])).said
    assert "Marks dated ____" in undated
    assert "none in the document" in undated
    assert "To the owner" not in undated


def test_file_is_whole_in_itself_and_text_of_the_user_is_escaped():
    document = ut.read_site(ut.example("bare")).to_dict()
    evil = '<script>alert("x")</script> & $x_1$'
    document["name"] = evil
    document["digs"][0]["id"] = evil
    document["valve_boxes"] = [{"id": evil, "x": 0.5, "y": 0.6, "zones": ["1"]}]
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=100, seed=1)
    text = html_of(layouts, ticket="<b>1</b>", marks_date="2026-05-01")
    reader = Reader(text)
    assert evil in reader.said
    assert "<script" not in text
    assert "<b>1</b>" not in text
    for _, attributes in reader.tags:
        assert not any(key in attributes for key in ("src", "srcset", "onload", "onclick"))
        for key in ("href", "xlink:href"):
            assert attributes.get(key, "#").startswith("#")
    assert "url(http" not in text


def test_probes_are_told_in_order_with_what_they_decide(sampled):
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
    said = Reader(html_of(layouts, probes=probes)).said
    first, second = said.index("if clear: dig at 1; if found: shift"), said.index("if clear: dig at 2; if found: shift")
    assert first < second
    assert "P2" in said
    holes = [ut.Hole(6.0, 2.5, 0.25, 0.5), ut.Hole(3.0, 4.0, 0.25, 0.5)]
    assert "P2" in Reader(html_of(layouts, probes=holes)).said
    with pytest.raises(ut.ArgumentError, match="no column radius_m"):
        html_of(layouts, probes=probes.drop(columns="radius_m"))
    with pytest.raises(ut.ArgumentError, match="is no Hole"):
        html_of(layouts, probes=[3.0])


def test_spots_may_be_a_table(sampled):
    spots = pd.DataFrame(
        {"x_m": [6.0, 3.0], "y_m": [2.5, 9.0], "radius_m": 0.3, "depth_m": 0.4, "spot": ["ash", "elm"]}
    )
    said = Reader(html_of(sampled["green"], digs=spots)).said
    assert "1 ash" in said
    assert "2 elm" in said
    assert "maple" not in said


def test_plans_and_best_spots_go_on_the_sheet_as_they_are(sampled):
    layouts = sampled["green"]
    spots = layouts.best_spots(2, radius_m=0.3, depth_m=0.4, options=ut.SpotOptions(spacing_m=3.0, cell_m=0.5))
    slits = layouts.plan_probes(n=2, options=ut.ProbeOptions(slit_m=(0.8, 0.1), always=True))
    assert all(np.isfinite(slit.azimuth_deg) for slit in slits)
    said = Reader(html_of(layouts, digs=spots, probes=slits)).said
    assert "round, 0.60 m across, 0.40 m deep" in said
    assert "slit, 0.80 m long, 0.10 m wide" in said
    holes = layouts.plan_probes(n=2, radius_m=0.2, options=ut.ProbeOptions(always=True))
    said = Reader(html_of(layouts, probes=holes)).said
    assert "round, 0.40 m across" in said
    assert holes[0].decides in said
    assert "decides: found" not in said


def test_the_package_needs_none_of_what_only_the_sheet_needs():
    # Would catch: an import at the head of a file that takes the engine from whoever installed no extra.
    code = "import sys; sys.modules.update(dict.fromkeys(['matplotlib', 'jinja2', 'typst', 'PIL'])); import underturf as ut; "
    code += "from underturf.crew import crew_sheet; print(ut.read_site(ut.example('bare')).dig_ids)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "shrub" in done.stdout


def test_weights_and_setback_of_the_user_reach_the_sheet(sampled, tmp_path):
    layouts = sampled["green"]
    wide = Reader(html_of(layouts, weights={"lateral": 50.0}, rules=ut.TreeRules("lateral_10ft"))).said
    # Planted fault: a sheet that knows the shipped setback alone tells 1.52 m.
    assert "setback 3.05" in wide.replace("\u00a0", " ")
    assert "setback 1.52" in Reader(html_of(layouts)).said.replace("\u00a0", " ")
    with pytest.raises(ut.ArgumentError, match="steam"):
        layouts.crew_sheet(tmp_path / "sheet.html", options=ut.SheetOptions(weights={"steam": 1.0}))
    plain, own = plan_of(layouts), plan_of(layouts, weights={"lateral": 50.0}, rules=ut.TreeRules("lateral_10ft"))
    assert (own.table["loss"] > plain.table["loss"]).any()
    assert own.trees[0]["setback_m"] == pytest.approx(2 * plain.trees[0]["setback_m"])
    with pytest.raises(ut.ArgumentError, match="steam"):
        plan_of(layouts, weights={"steam": 1.0})
    with pytest.raises(ut.ArgumentError):
        plan_of(layouts, rules=ut.TreeRules("nowhere"))


def test_bad_arguments_are_refused(sampled, tmp_path):
    layouts = sampled["bare"]
    for options, words in (
        ({"near_m": -1.0}, "near_m is -1"),
        ({"least_chance": 0.0}, "least_chance is 0"),
        ({"step_m": 0.0}, "step_m"),
    ):
        with pytest.raises(ut.ArgumentError, match=words):
            layouts.crew_sheet(tmp_path / "sheet.html", options=ut.SheetOptions(**options))
    with pytest.raises(ut.ArgumentError, match=r"must end in \.html"):
        layouts.crew_sheet(tmp_path / "sheet.docx")


def test_unconverged_answers_are_marked_at_the_top_of_every_page(monkeypatch):
    out_of_reach = (1.01, 1e9, 0.01, 0.1)  # no chain is worth so many draws
    monkeypatch.setattr(_core, "sample_layouts", functools.partial(_core.sample_layouts, thresholds=out_of_reach))
    site = ut.read_site(ut.example("unlabelled"))
    layouts = ut.sample_layouts(site, draws=60, seed=3, longest=1, accept_unconverged=True)
    assert not layouts.converged
    said = Reader(html_of(layouts)).said
    assert said.index("NOT CONVERGED") < said.index("Spots")
    assert said.count("NOT CONVERGED, do not rely on these figures") >= 3
    pages = pages_of(pdf_of(plan_of(layouts)))
    assert len(pages) > 1
    assert all("NOT CONVERGED, do not rely on these figures" in page.said for page in pages)
    table = layouts.likely_lines()
    assert not table["converged"].any()


def test_same_seed_same_sheet(sampled, tmp_path):
    plan, options = plan_of(sampled["bare"]), ut.SheetOptions(date="2026-05-06")
    written = [sampled["bare"].crew_sheet(tmp_path / f"sheet.{ending}", options=options) for ending in ("html", "pdf")]
    assert written[0].read_text(encoding="utf-8") == browser_of(plan)
    assert written[1].read_bytes() == pdf_of(plan)


@pytest.mark.parametrize("ending", ["html", "pdf", "png"])
@pytest.mark.parametrize("package", ["matplotlib", "jinja2", "typst"])
def test_a_package_that_is_missing_is_named_with_its_extra_before_any_work(
    sampled, tmp_path, monkeypatch, ending, package
):
    monkeypatch.setitem(sys.modules, package, None)
    monkeypatch.setattr(writing, "make_plan", lambda *_, **__: pytest.fail("worked all the same"))
    with pytest.raises(
        ImportError, match=rf"needs {package}, not installed here: pip install .underturf\[plot,paper\]"
    ):
        sampled["bare"].crew_sheet(tmp_path / f"sheet.{ending}")


def test_command_line_writes_the_sheet(tmp_path, capsys):
    out = tmp_path / "crew.html"
    words = ["sheet", str(ut.example("bare")), "-o", str(out), "--draws", "60", "--ticket", "T-3", "--near", "10ft"]
    assert main(words) == 0
    assert "T-3" in out.read_text(encoding="utf-8")
    assert "A probability is not a clearance" in capsys.readouterr().out
    assert main(["sheet", str(ut.example("bare")), "-o", str(tmp_path / "x.doc"), "--draws", "20"]) == 1
