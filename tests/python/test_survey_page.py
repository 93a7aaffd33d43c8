"""The page on surveys says what the code does: its examples run, its table of codes is the one that is shipped."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import underturf as ut
from underturf.survey.codes import SHAPES, code_rows
from underturf.survey.mapping import FILE_KEYS, KEYS, read_mapping
from underturf.survey.reading import READERS

PAGE = Path(__file__).parents[2] / "python" / "docs" / "surveys.md"


def table_of_codes():
    rows = (
        f"| `{row.code}` | {', '.join(f'`{word}`' for word in row.also)} "
        f"| {f'`{row.list}`' if row.list else 'left out'} | {row.meaning} |"
        for row in code_rows()
    )
    return "\n".join(re.sub(r"\|  \|", "| |", row) for row in rows)


def test_the_page_has_the_codes_that_are_shipped():
    text = PAGE.read_text(encoding="utf-8")
    found = re.search(r"<!-- codes.*?-->\n\| code .*?\n\| ---.*?\n(.*?)\n<!-- end", text, re.DOTALL)
    assert found is not None
    assert found[1] == table_of_codes()


def test_codes_name_lists_and_no_word_stands_twice():
    words = [word for row in code_rows() for word in (row.code, *row.also)]
    assert len(words) == len(set(words)) > 60
    assert {row.list for row in code_rows()} == set(SHAPES)
    assert all(row.meaning and row.shape in ("point", "outline", "path", "any") for row in code_rows())


def test_the_examples_of_the_page_run(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    codes = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    assert len(codes) == 2
    space: dict[str, object] = {}
    for code in codes:
        exec(compile(code, str(PAGE), "exec"), space)  # noqa: S102
    assert (
        "<Survey: 2 heads, 1 valve box, 1 obstacle, 1 proposed dig, in ft; 5 taken, 2 left, 0 merged, 0 changed>"
        in capsys.readouterr().out
    )
    assert len(ut.read_site(tmp_path / "site.toml").flags) == 3
    assert "# points.csv, row 6" in (tmp_path / "site.toml").read_text(encoding="utf-8")


def test_the_mapping_of_the_page_is_read_and_has_every_key():
    (text,) = re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    given = tomllib.loads(text)
    found = read_mapping(given, None)
    assert set(given) == set(KEYS)
    assert {key for file in given["files"].values() for key in file} == set(FILE_KEYS)
    assert found.layers["VBLDG"].list == "obstacles"
    assert found.files["points.txt"].header == ("id", "northing_ft", "easting_ft", "z", "code")


def test_the_page_names_every_ending():
    text = PAGE.read_text(encoding="utf-8")
    assert not [ending for ending in READERS if f"`{ending}`" not in text and ending != ".xlsm"]
