"""What people type on the command line and for names of files and days, and what must be said to them.

Faults caught here: work that is done before a name of a file or a day is found to be wrong, and a unit that is dropped.
"""

from __future__ import annotations

import datetime
import json
import os

import numpy as np
import pandas as pd
import pytest
from mistakes import HEADS, PLAIN, with_options

import underturf as ut
from underturf.__main__ import main
from underturf.directions import compass


@pytest.fixture(scope="module")
def site():
    return ut.Site.from_dict(PLAIN)


@pytest.fixture(scope="module")
def layouts(site):
    return ut.sample_layouts(site, draws=20, seed=1, run=ut.Running(threads=1))


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (
            {"date": "2026-02-30"},
            'date: "2026-02-30" is not a day of the calendar: that month has days 1 to 28, not 30',
        ),
        ({"date": "04/05/2026"}, 'date: "04/05/2026" is not a day written YYYY-MM-DD'),
        ({"date": 20260504}, "date is 20260504; write a day as YYYY-MM-DD"),
        ({"marks_date": "May 4"}, 'marks_date: "May 4" is not a day written YYYY-MM-DD'),
        ({"near_m": float("nan")}, "near_m is nan"),
        ({"step_m": "x"}, 'step_m: "x" is not a length'),
        ({"annex": "yes"}, "annex is 'yes'"),
        ({"path": "sheet.docx"}, "sheet.docx must end in .html, .pdf or .png"),
        ({"path": "sheet"}, "sheet must end in .html, .pdf or .png"),
        ({"path": 3}, "3 is no path"),
    ],
)
def test_sheets_that_are_refused(layouts, tmp_path, more, said):
    with pytest.raises(ut.ArgumentError) as caught:
        layouts.crew_sheet(**with_options(ut.SheetOptions, **{"path": tmp_path / "sheet.html", **more}))
    assert said in str(caught.value)


def test_days_of_a_sheet_are_dates_or_texts(layouts, tmp_path):
    path = layouts.crew_sheet(
        tmp_path / "sheet.html",
        options=ut.SheetOptions(marks_date=pd.Timestamp("2026-05-01"), date=datetime.date(2026, 5, 4)),
    )
    text = path.read_text(encoding="utf-8")
    assert "2026-05-04" in text
    assert "2026-05-01" in text
    assert "00:00" not in text


def test_folders_are_looked_at_before_any_work(layouts, tmp_path):
    with pytest.raises(FileNotFoundError, match="there is no folder"):
        layouts.crew_sheet(tmp_path / "none" / "sheet.html")
    (tmp_path / "sheet.pdf").mkdir()
    with pytest.raises(IsADirectoryError, match="name a file in it"):
        layouts.crew_sheet(tmp_path / "sheet.pdf")


@pytest.fixture
def document(tmp_path):
    path = tmp_path / "site.json"
    path.write_text(json.dumps(PLAIN), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["map", "--out", "map.jpeg2"], "map.jpeg2 must end in .png, .pdf or .svg"),
        (["map", "--out", "none/map.png"], "there is no folder"),
        (["map", "--radius", "wide"], '--radius: "wide" is not a length'),
        (["map", "--cell", "0,1m"], "write 0.1m"),
        (["map", "--depth", "3 survey ft"], "survey feet"),
        (["map", "--dig", "oka"], 'did you mean "oak"?'),
        (["sheet", "--out", "sheet.doc"], "sheet.doc must end in .html, .pdf or .png"),
        (["sheet", "--date", "2026-02-30"], '--date: "2026-02-30" is not a day of the calendar'),
        (["sheet", "--marks-date", "yesterday"], '--marks-date: "yesterday" is not a day written YYYY-MM-DD'),
        (["sheet", "--step", "2 paces"], '--step: "2 paces" has the unit "paces"'),
        (["assess", "--csv", "table.xlsx"], "table.xlsx must end in .csv"),
        (["assess", "--csv", "none/table.csv"], "there is no folder"),
        (["assess", "--reach", "-"], '--reach: "-" is not a length'),
    ],
)
def test_command_lines_that_are_refused_before_any_work(no_work, document, tmp_path, capsys, monkeypatch, words, said):
    monkeypatch.chdir(tmp_path)
    assert main([words[0], str(document), *words[1:]]) == 1
    assert said in capsys.readouterr().err


def test_a_demo_where_no_folder_can_be_made(no_work, tmp_path, capsys):
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert main(["demo", "--out", str(tmp_path / "file")]) == 1
    assert main(["demo", "--out", str(tmp_path / "file" / "folder")]) == 1
    assert capsys.readouterr().err.count("is a file, not a folder") == 2


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_to(no_work, document, tmp_path, capsys):
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o500)
    assert main(["map", str(document), "--out", str(closed / "map.png")]) == 1
    assert "may not be written to" in capsys.readouterr().err


def test_lengths_on_the_command_line_are_in_the_unit_of_the_document(tmp_path, capsys):
    feet = {**PLAIN, "units": "ft", "boundary": None, "heads": HEADS, "digs": None}
    path = tmp_path / "feet.json"
    path.write_text(json.dumps(feet), encoding="utf-8")
    for typed in (
        ["--radius", "1", "--depth", "1' 6\"", "--cell", "1"],
        ["--radius", "12in", "--depth", "18 in", "--cell", "1ft"],
    ):
        assert (
            main(["map", str(path), *typed, "--draws", "20", "--threads", "1", "--out", str(tmp_path / "map.png")]) == 0
        )
        assert "radius 1.0 ft, depth 1.5 ft" in capsys.readouterr().out


def test_directions_turn_with_the_frame():
    """A plan whose y axis points west: what lies to the right of it is north. Catches a frame left out, or turned back."""
    document = ut.read_site(ut.example("green")).to_dict()
    frame = {"lon": 0.5, "lat": 50, "azimuth_deg": 270}
    level, turned = (ut.Site.from_dict({**document, **more}) for more in ({}, {"frame": frame}))
    moved = [
        ut.sample_layouts(site, draws=200, seed=1).assess().table().dropna(subset=["shift_m"])
        for site in (level, turned)
    ]
    assert len(moved[0]) > 2
    for row, other in zip(moved[0].itertuples(), moved[1].itertuples(), strict=True):
        assert (row.shift_dx_m, row.shift_dy_m) == (other.shift_dx_m, other.shift_dy_m)
        assert np.isclose(row.shift_azimuth_deg, np.degrees(np.arctan2(row.shift_dx_m, row.shift_dy_m)) % 360)
        assert np.isclose((other.shift_azimuth_deg - row.shift_azimuth_deg) % 360, 270)
    assert compass(90) == "E"
    assert compass((90 + 270) % 360) == "N"
