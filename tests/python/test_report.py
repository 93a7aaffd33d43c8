"""The report of a site for the file: what it holds, that it needs nothing else, that it opens and prints."""

from __future__ import annotations

import hashlib
import html
import re

import pypdfium2
import pytest
from browser import DESK, PHONE, browsing
from sheets import Reader, spaced

import underturf as ut

LITTLE = ut.SensitivityOptions(
    settings=["lateral_cover_m", "unmapped_density_per_m", "tape_sd_m"], draws=20, replicates=2
)


@pytest.fixture(scope="module")
def effects(sampled):
    return sampled["green"].sensitivity(options=LITTLE)


@pytest.fixture(scope="module")
def reports(sampled, effects, tmp_path_factory):
    folder, date = tmp_path_factory.mktemp("reports"), "2026-05-06"
    return {
        "green": sampled["green"].report(folder / "green.html", sensitivity=effects, date=date),
        "terrace": sampled["terrace"].report(folder / "terrace.html", sensitivity=False, date=date),
    }


@pytest.fixture(scope="module")
def browser():
    with browsing() as running:
        yield running


def said_in(path):
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", path.read_text(encoding="utf-8"))))


def section(path, title):
    """Words of one section."""
    (found,) = re.findall(rf"<section><h2>{title}</h2>(.*?)</section>", path.read_text(encoding="utf-8"), re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", found)))


def test_the_markup_is_closed_and_every_section_is_there(reports):
    text = reports["green"].read_text(encoding="utf-8")
    titles = re.findall(r"<section><h2>(.*?)</h2>", text)
    assert titles == [
        "Digs",
        "Maps",
        "Evidence",
        "Assumptions",
        "Settings that matter",
        "Convergence",
        "How to do it again",
    ]
    body = text[text.index("<main>") : text.index("</main>") + 7]
    assert Reader(re.sub(r"<(img|line|rect)\b[^>]*>", "", body)).open == []


def test_cautions_stand_at_the_head_and_at_the_foot(reports):
    for path in reports.values():
        text = html.unescape(path.read_text(encoding="utf-8"))
        for caution in ut.CAUTIONS:
            assert text.index(caution) < text.index("<main>")
            assert text.rindex(caution) > text.index("</main>")


def test_every_dig_has_its_chance_and_verdict_and_a_mark_counts_first(sampled, reports):
    said = section(reports["green"], "Digs")
    for row in sampled["green"].assess():
        assert row.dig in said
        assert row.verdict in said
        assert ut.chance_text(row.p_strike) in said
    assert "lamp-post in a tolerance zone: the mark counts" in said
    assert "Not assessed: reclaimed, electric, communication, sewer." in said
    assert not re.search(r"\bsafe\b", said_in(reports["green"]), re.IGNORECASE)


def test_evidence_and_notes_are_told_and_what_is_absent_too(sampled, reports):
    said = section(reports["green"], "Evidence")
    for count in ("26 heads", "2 valve boxes", "1 utility mark", "6 proposed digs"):
        assert count in said
    assert "holds no trees, station tests, probes, flags" in said
    for warning in (*sampled["green"].site.warnings, *sampled["green"].warnings):
        assert " ".join(warning.split()) in said


def test_settings_that_differ_are_listed_with_what_is_shipped(sampled, reports, tmp_path):
    assert "All 128 settings of the model of layouts are as shipped." in section(reports["green"], "Assumptions")
    document = ut.read_site(ut.example("bare")).to_dict()
    document["settings"] = {"lateral_cover_m": 0.3, "unmapped_density_per_m": 0.02}
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=50, seed=1)
    said = section(layouts.report(tmp_path / "r.html", sensitivity=False), "Assumptions")
    assert "lateral_cover_m 0.3 0.23 m Mean cover of laterals" in said
    assert "unmapped_density_per_m 0.02 0.01 m/m2" in said
    assert "offset_sd_m" not in said


def test_effects_are_told_with_their_error(sampled, reports, effects):
    said = section(reports["green"], "Settings that matter")
    assert "2 samples of 20 layouts each" in said
    for dig in sampled["green"].site.dig_ids:
        assert f"{dig}: " in said
    assert said.count("No effect at all: ") + said.count("No setting that was moved changes it.") == 6
    for effect in effects:
        if effect.setting == "unmapped_density_per_m":
            change = f"({100 * effect.change_high:+.1f} ± {100 * effect.change_high_mcse:.1f})"
            assert f"{effect.high:g}: {ut.chance_text(effect.p_high)} {change}" in said


def test_a_report_says_how_to_do_it_again(sampled, reports):
    site, said = sampled["green"].site, said_in(reports["green"])
    assert hashlib.sha256(site.to_json().encode()).hexdigest() in said
    assert f"draws={sampled['green'].draws}, seed={sampled['green'].seed})" in said
    assert f"underturf {ut.__version__}, 200 draws, seed 3, report of 2026-05-06" in said
    text = reports["green"].read_text(encoding="utf-8")
    (document,) = re.findall(r"<pre class='document'>(.*?)</pre>", text, re.DOTALL)
    assert ut.Site.from_toml(html.unescape(document)) == site


def test_a_report_needs_no_other_file_and_no_script(reports):
    for path in reports.values():
        text = path.read_text(encoding="utf-8")
        assert "<script" not in text
        assert not re.search(r'(?:src|href)="(?!data:)', text)
        assert "url(" not in text
        assert "default-src 'none'" in text
        assert len(re.findall(r'<img alt="[^"]{20,}" src="data:image/png;base64,', text)) == 2


def test_names_that_look_like_markup_are_escaped(tmp_path):
    document = ut.read_site(ut.example("bare")).to_dict()
    document["name"] = "<b>lawn</b>"
    document["digs"][0]["id"] = "<i>x</i>"
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=50, seed=1)
    options = ut.SensitivityOptions(settings=["align_gain"], draws=20, replicates=2)
    text = layouts.report(tmp_path / "r.html", sensitivity=options).read_text(encoding="utf-8")
    assert "<b>" not in text
    assert "<i>" not in text
    assert "&lt;i&gt;x&lt;/i&gt;" in text
    assert "<h3>&lt;i&gt;x&lt;/i&gt;: " in text


@pytest.mark.parametrize(
    "held",
    [
        {},
        {"boundary": [[0, 0], [9, 0], [9, 9], [0, 9]]},
        {"marks": [{"class": "gas", "path": [[1, 1], [8, 8]]}]},
        {"heads": [{"id": "a", "x": 1, "y": 1, "zone": "1"}]},
    ],
    ids=["nothing", "boundary", "mark", "head"],
)
def test_a_site_that_holds_next_to_nothing_has_a_page_and_a_report(browser, tmp_path, held):
    site = ut.Site.from_dict({"format": "underturf-site/2", "units": "ft", **held})
    layouts = ut.sample_layouts(site, draws=10, seed=1)
    browser.look(DESK)
    for path in (
        layouts.explore(tmp_path / "page.html", options=ut.ExploreOptions(cell_m=0.5)),
        layouts.report(tmp_path / "report.html"),
    ):
        browser.open(path)
        assert browser.complaints == []
        assert ut.CAUTIONS[0] in browser.text("body")


def test_unconverged_layouts_mark_head_and_foot(sampled, tmp_path, monkeypatch):
    monkeypatch.setattr(ut.Layouts, "converged", property(lambda _: False))
    text = sampled["bare"].report(tmp_path / "r.html", sensitivity=False).read_text(encoding="utf-8")
    assert text.index("NOT CONVERGED") < text.index("<main>")
    assert text.rindex("NOT CONVERGED") > text.index("</main>")


def test_chains_are_told_with_their_checks(tmp_path):
    layouts = ut.sample_layouts(ut.read_site(ut.example("unlabelled")), draws=50, seed=7)
    said = section(layouts.report(tmp_path / "r.html", digs=[], sensitivity=True), "Convergence")
    assert f"{layouts.run_info['chains']} chains of {layouts.run_info['sweeps']} sweeps" in said
    assert "Every convergence check was passed." in said
    assert f"Of {len(layouts.diagnostics())} quantities watched" in said
    whole = said_in(tmp_path / "r.html")
    assert "No dig is proposed." in whole
    assert "so nothing was moved" in whole


def test_what_is_wrong_is_refused_before_any_work(sampled, tmp_path, monkeypatch):
    monkeypatch.setattr(ut.Layouts, "assess", None)
    for given, said in [
        ({"path": tmp_path / "r.pdf"}, "must end in .html"),
        ({"path": tmp_path / "r.html", "date": "2026-02-30"}, "date"),
        ({"path": tmp_path / "r.html", "sensitivity": "much"}, "sensitivity is 'much'"),
    ]:
        with pytest.raises(ut.ArgumentError, match=said):
            sampled["bare"].report(**given)


@pytest.mark.parametrize(("size", "touch"), [(PHONE, True), (DESK, False)])
@pytest.mark.parametrize("dark", [False, True])
def test_a_report_opens_without_a_network(browser, reports, size, touch, dark):
    browser.look(size, dark=dark, touch=touch)
    browser.open(reports["terrace"])
    assert browser.asked_for == []
    assert browser.complaints == []
    assert browser.run("document.documentElement.scrollWidth") <= size[0]
    assert browser.run("[...document.images].every((one) => one.complete && one.naturalWidth > 400)")
    sizes = (
        "[...document.querySelectorAll('p, td, th, li, pre')].map((one) => parseFloat(getComputedStyle(one).fontSize))"
    )
    assert min(browser.run(sizes)) >= (14 if touch else 13)


@pytest.mark.parametrize(("name", "paper"), [("green", (595, 842)), ("terrace", (612, 792))])
def test_a_report_prints_on_the_paper_of_its_country(browser, sampled, reports, name, paper):
    browser.look(DESK, dark=True)
    browser.open(reports[name])
    pages = pypdfium2.PdfDocument(browser.printed())
    assert pages[0].get_size() == pytest.approx(paper, abs=2)
    words = [spaced(page.get_textpage().get_text_range()) for page in pages]
    assert 3 < len(words) < 20
    assert all(caution in words[0] for caution in ut.CAUTIONS)
    whole = " ".join(words)
    for row in sampled[name].assess():
        assert row.verdict.split(";")[0].split()[0] in whole
        assert row.dig in whole
    picture = pages[0].render(scale=0.3).to_pil().convert("L")
    assert picture.getpixel((2, 2)) > 250  # paper is white, however dark the screen is
    pages.close()
