"""Every broken survey file gets one clear error that names file and place, and nothing else escapes."""

from __future__ import annotations

import pytest
from survey_mistakes import MISTAKES

import underturf as ut


def written(files, folder):
    """Write the files of a mistake; a file without content is a folder."""
    for name, content in files.items():
        path = folder / name
        if content is None:
            path.mkdir()
        elif callable(content):
            content(path)
        else:
            path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return [folder / name for name in files] or [folder / "a.csv"]


def refusal(mistake, folder):
    """The error that reading raises."""
    options = dict(mistake.options)
    with pytest.raises(Exception) as caught:  # noqa: PT011 - its type is what is tested
        ut.read_survey(written(mistake.files, folder), options.pop("mapping", None), **options)
    return caught.value


@pytest.mark.parametrize("name", MISTAKES)
def test_a_broken_file_gets_one_clear_error(name, tmp_path):
    mistake = MISTAKES[name]
    error = refusal(mistake, tmp_path)
    assert type(error).__name__ == mistake.raises, repr(error)
    said = str(error)
    for words in mistake.words:
        assert words in said, said
    assert "Traceback" not in said
    assert str(tmp_path) not in said or mistake.raises != "ArgumentError", said


def test_the_table_is_long_and_covers_every_format():
    assert len(MISTAKES) >= 60
    endings = {name.rpartition(".")[2] for mistake in MISTAKES.values() for name in mistake.files}
    assert {"csv", "xlsx", "gpx", "geojson", "gpkg", "shp", "dxf", "toml", "json"} <= endings


def test_a_file_that_is_right_would_be_seen(tmp_path):
    """Planted fault of the table: a file without a mistake raises nothing."""
    (tmp_path / "a.csv").write_text("x_m,y_m,code\n1,2,SPR\n", encoding="utf-8")
    assert ut.read_survey(tmp_path / "a.csv").report.counts()["taken"] == 1


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_usual_encodings_and_marks_are_read(tmp_path, encoding, mark):
    text = "id,x_m,y_m,code,zone\nä1,1.5,2.5,SPR,Süd\n".replace(",", mark)
    (tmp_path / "a.csv").write_bytes(text.encode(encoding))
    survey = ut.read_survey(tmp_path / "a.csv")
    assert survey.document["heads"] == [{"id": "ä1", "x": 1.5, "y": 2.5, "kind": "spray", "zone": "Süd"}]
    assert survey.report.counts()["changed"] == (encoding in ("utf-16", "cp1252"))


def test_decimal_commas_are_read_where_the_mapping_says_so(tmp_path):
    (tmp_path / "a.csv").write_text("x_m;y_m;code;radius_m\n1,5;2;SPR;3,75\n", encoding="utf-8")
    survey = ut.read_survey(tmp_path / "a.csv", {"decimal": ","})
    assert survey.document["heads"] == [{"id": "head1", "x": 1.5, "y": 2.0, "kind": "spray", "radius": 3.75}]
