"""A new user's path, command line only: from a walk with a detector (GPX) and a list of heads (CSV) to a sheet and a drawing.

Each step is a process of its own, as a user runs it; what comes out is read by the libraries that its reader has.
"""

from __future__ import annotations

import json

import pytest
from commanding import QUICK, run, told, write_site

import underturf as ut

#: Where the invented yard lies: nowhere.
FRAME = "8.0,50.0"
DEGREES_PER_M = (1 / 71_695.0, 1 / 111_229.0)

HEADS = """id,x_m,y_m,code,zone
1,-1,-1,BND,
2,15,-1,BND,
3,15,11,BND,
4,-1,11,BND,
h1,0,0,SPR,1
h2,4.5,0,SPR,1
h3,9,0,SPR,1
h4,13.5,0,SPR,1
h5,0,4.5,SPR,2
h6,4.5,4.5,SPR,2
h7,9,4.5,SPR,2
h8,13.5,4.5,SPR,2
box,13,9,VB,
"""

MAPPING = '[defaults.flags]\naccuracy_95 = "0.5 m"\n'


def walk():
    """A track of a detector over a straight line of metal, in degrees."""
    lon, lat = map(float, FRAME.split(","))
    points = [(lon + (1 + 2 * k) * DEGREES_PER_M[0], lat + 8.0 * DEGREES_PER_M[1]) for k in range(4)]
    marked = "".join(f'<trkpt lat="{y:.9f}" lon="{x:.9f}"/>' for x, y in points)
    head = '<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">'
    return f"{head}<trk><name>FLAG wire</name><trkseg>{marked}</trkseg></trk></gpx>"


def done(*words, **more):
    found = run(*words, text=True, **more)
    assert found.returncode == 0, found.stderr
    assert "Traceback" not in found.stderr
    return found


@pytest.mark.slow
def test_from_a_walk_and_a_list_of_heads_to_a_sheet_and_a_drawing(tmp_path):
    ezdxf, pypdfium2 = pytest.importorskip("ezdxf"), pytest.importorskip("pypdfium2")
    for name, text in {"heads.csv": HEADS, "walk.gpx": walk(), "codes.toml": MAPPING}.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    quick = {"cwd": tmp_path}
    said = done(
        "survey", "heads.csv", "walk.gpx", "--mapping", "codes.toml", "--frame", FRAME, "-o", "yard.toml", **quick
    )
    assert "13 taken" in said.stderr or "taken" in said.stderr
    site = ut.read_site(tmp_path / "yard.toml")
    assert (len(site.heads), len(site.flags), site.to_dict()["frame"]["lat"]) == (8, 4, 50.0)
    assert site.flags["y_m"].sub(8.0).abs().max() < 0.01
    assert "# " in (tmp_path / "yard.toml").read_text(encoding="utf-8")
    post = ["--id", "post", "--at", "6.75", "2", "--radius", "15cm", "--depth", "60cm"]
    done("add-dig", "yard.toml", *post, **quick)
    done("assess", "yard.toml", "-o", "assessment.csv", *QUICK, **quick)
    done("sheet", "yard.toml", "-o", "sheet.pdf", "--ticket", "T-9", "--date", "2026-05-04", *QUICK, **quick)
    done("export", "yard.toml", "-o", "plan.dxf", *QUICK, **quick)

    text = " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(tmp_path / "sheet.pdf"))
    assert "T-9" in text
    assert "one-call" in text
    drawing = ezdxf.readfile(tmp_path / "plan.dxf")
    assert len(drawing.modelspace()) > 20
    kept = ut.Assessment.load(tmp_path / "assessment.csv")
    layouts = ut.sample_layouts(ut.read_site(tmp_path / "yard.toml"), draws=50, seed=3)
    assert kept["post"].p_strike == layouts.assess()["post"].p_strike


def test_a_survey_answers_with_its_document_and_its_report(tmp_path):
    (tmp_path / "heads.csv").write_text(HEADS.replace("h8,13.5,4.5,SPR,2", "h8,13.5,4.5,NAIL,2"), encoding="utf-8")
    found = json.loads(done("survey", "heads.csv", "--json", cwd=tmp_path).stdout)
    assert (found["command"], found["seed"]) == ("survey", None)
    document = ut.Site.from_dict(found["result"]["document"])
    assert document == ut.read_survey(tmp_path / "heads.csv").site
    assert any(row["action"] == "left" and "NAIL" in json.dumps(row) for row in found["rows"])
    piped = done("survey", "heads.csv", cwd=tmp_path)
    assert ut.Site.from_toml(piped.stdout) == document
    assert "NAIL" in piped.stderr


def test_what_a_survey_lacks_is_told_in_words_of_the_command_line(tmp_path):
    (tmp_path / "heads.csv").write_text(HEADS.replace("_m", ""), encoding="utf-8")
    found = run("survey", "heads.csv", cwd=tmp_path, text=True)
    assert found.returncode == 1
    assert "have no unit" in found.stderr
    assert "On the command line: --units." in found.stderr
    assert done("survey", "heads.csv", "--units", "ft", "-o", "site.toml", cwd=tmp_path)
    assert ut.read_site(tmp_path / "site.toml").units == "ft"


def test_findings_keep_the_comments_of_the_document(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text(ut.example("green").read_text(encoding="utf-8"), encoding="utf-8")
    before = [line for line in path.read_text(encoding="utf-8").splitlines() if "#" in line]
    done("add-probe", path, "--at", "6", "3", "--radius", "0.2", "--depth", "45cm", "--clear")
    done(
        "add-probe", path, "--at", "7", "3", "--radius", "0.2", "--depth", "45cm", "--clear", "-o", tmp_path / "b.toml"
    )
    for name in ("site.toml", "b.toml"):
        after = (tmp_path / name).read_text(encoding="utf-8")
        assert [line for line in before if line not in after] == []


def test_exports_are_those_of_python(capsys, tmp_path):
    path, out = write_site(tmp_path), tmp_path / "rank.csv"
    found = told(capsys, "export", path, "--what", "ranking", "-o", out, *QUICK)
    assert found["files"] == [str(out.resolve())]
    here = tmp_path / "here.csv"
    ut.sample_layouts(ut.read_site(path), draws=50, seed=3).rank().export(here)
    assert out.read_bytes() == here.read_bytes()
    refused = run("export", path, "--what", "map", "-o", "map.dxf", text=True, cwd=tmp_path)
    assert refused.returncode == 1
    assert "map.dxf must end in .csv" in refused.stderr
    piped = run("export", path, "--what", "ranking", "-o", "-", "--as", "csv", *QUICK)
    assert piped.stdout == here.read_bytes()


def test_the_page_to_look_at_is_one_file(capsys, tmp_path):
    out = tmp_path / "yard.html"
    words = ["--radius", "0.3", "--depth", "0.4", "--cell", "1m"]
    assert told(capsys, "explore", write_site(tmp_path), *words, "-o", out, *QUICK)["files"] == [str(out.resolve())]
    text = out.read_text(encoding="utf-8")
    assert text.lstrip().lower().startswith("<!doctype html")
    assert all(caution in text for caution in ut.CAUTIONS)


def test_the_report_is_one_file(capsys, tmp_path):
    out = tmp_path / "report.html"
    words = ["--no-sensitivity", "--date", "2026-05-04"]
    assert told(capsys, "report", write_site(tmp_path), *words, "-o", out, *QUICK)["files"] == [str(out.resolve())]
    assert "2026-05-04" in out.read_text(encoding="utf-8")
