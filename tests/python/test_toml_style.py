"""A document written onto its file keeps comments, order and numbers as they were typed, and is put there whole."""

from __future__ import annotations

import sys
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import underturf as ut
from underturf._atomic import replacing
from underturf.toml_style import restyled

EXAMPLES = [name for name in ut.examples() if ut.example(name).suffix == ".toml"]


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_site_written_onto_its_own_file_changes_no_byte(tmp_path, name):
    path = tmp_path / "site.toml"
    before = ut.example(name).read_bytes()
    path.write_bytes(before)
    ut.read_site(path).write(path)
    assert path.read_bytes() == before


def test_only_what_differs_changes(tmp_path):
    path = tmp_path / "site.toml"
    text = ut.example("terrace").read_text(encoding="utf-8")
    path.write_text(text, encoding="utf-8")
    document = ut.read_site(path).to_dict()
    document["heads"][1]["x"] = 29.5
    del document["heads"][12]
    document["digs"].append({"id": "new", "x": 10.0, "y": 60.0, "radius": 0.5, "depth": 1.0})
    ut.Site.from_dict(document).write(path)
    old, new = text.splitlines(), path.read_text(encoding="utf-8").splitlines()
    gone, come = [line for line in old if line not in new], [line for line in new if line not in old]
    assert [line.split('"')[1] for line in gone] == ["r2", "s4"]
    assert [line.split('"')[1] for line in come] == ["r2", "new"]
    assert "radius = 30, arc_deg = 180" in come[0], "numbers stay as they were typed"
    assert ut.read_site(path).to_dict() == document


def test_comments_go_where_they_are_not_asked_for(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text(ut.example("terrace").read_text(encoding="utf-8"), encoding="utf-8")
    ut.read_site(path).write(path, keep_comments=False)
    assert "#" not in path.read_text(encoding="utf-8")


def test_a_file_that_is_no_toml_is_not_written_over_unasked(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text("my notes = \n", encoding="utf-8")
    site = ut.read_site(ut.example("terrace"))
    with pytest.raises(ut.ArgumentError, match=r"site\.toml is there and is no TOML .* keep_comments=False"):
        site.write(path)
    assert path.read_text(encoding="utf-8") == "my notes = \n"
    site.write(path, keep_comments=False)
    assert ut.read_site(path) == site


def test_without_the_library_comments_are_not_lost_unasked(tmp_path, monkeypatch):
    path = tmp_path / "site.toml"
    path.write_text(ut.example("terrace").read_text(encoding="utf-8"), encoding="utf-8")
    site = ut.read_site(path)
    monkeypatch.setitem(sys.modules, "tomlkit", None)
    with pytest.raises(ut.ArgumentError, match=r"has comments.*underturf\[toml\].*keep_comments=False"):
        site.write(path)
    site.write(path, keep_comments=False)
    site.write(path)
    assert ut.read_site(path) == site


def test_days_and_names_written_as_numbers_stay(tmp_path):
    text = 'format = "underturf-site/2"\nunits = "m"\ndate = 2026-05-04 # spring\nheads = []\nheads2 = 0\n'.replace(
        "heads2 = 0\n", ""
    )
    path = tmp_path / "site.toml"
    path.write_text(text + "[[valve_boxes]]\nid = 7\nx = 1\ny = 2\n", encoding="utf-8")
    before = path.read_text(encoding="utf-8")
    ut.read_site(path).write(path)
    assert path.read_text(encoding="utf-8") == before


scalars = st.one_of(st.booleans(), st.integers(-999, 999), st.floats(-1e6, 1e6), st.text("ab#\"' é\n", max_size=5))
tables = st.dictionaries(st.sampled_from("abcdef"), scalars, max_size=4)
lists = st.one_of(
    st.lists(st.floats(-9, 9), max_size=4),
    st.lists(
        st.fixed_dictionaries({"id": st.sampled_from("pqrstu")}, optional={"x": scalars, "y": tables}), max_size=5
    ),
)
documents = st.dictionaries(st.sampled_from(["k", "l", "m", "n", "o"]), st.one_of(scalars, tables, lists), max_size=5)


@settings(max_examples=100, deadline=None, report_multiple_bugs=False)
@given(documents, documents)
def test_whatever_was_there_the_file_says_the_document(old, new):
    """Keys that hold nothing may stay, since absent and empty mean the same."""
    import tomlkit

    found = tomllib.loads(restyled(tomlkit.dumps(old), new))
    assert {key: value for key, value in found.items() if key in new} == new
    assert not any(value not in ([], {}) for key, value in found.items() if key not in new)


def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text("old", encoding="utf-8")

    def fails():
        with replacing(path) as part:
            part.write_text("half", encoding="utf-8")
            raise RuntimeError("the plug was pulled")

    with pytest.raises(RuntimeError):
        fails()
    assert [file.name for file in tmp_path.iterdir()] == ["site.toml"]
    assert path.read_text(encoding="utf-8") == "old"
    with replacing(path) as part:
        part.write_text("new", encoding="utf-8")
        assert path.read_text(encoding="utf-8") == "old"
    assert path.read_text(encoding="utf-8") == "new"
