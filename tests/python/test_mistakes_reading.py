"""Documents as people hold them in Python, and what must be said to them.

Each row is a value and what it is read as, or a document and the words of its refusal. Faults caught: NaN taken for a name, a
unit that is dropped, an empty cell told as a wrong type, a kind of value that ends in a bare error, and a stack that overflows.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pandas as pd
import pytest
from mistakes import PLAIN, deep_list, plain

import underturf as ut


@pytest.fixture(scope="module")
def site():
    return ut.Site.from_dict(PLAIN)


# documents as Python holds them


class Rows(Mapping):
    """A mapping that is no dict."""

    def __init__(self, held):
        self.held = held

    def __getitem__(self, key):
        return self.held[key]

    def __iter__(self):
        return iter(self.held)

    def __len__(self):
        return len(self.held)


class Endless:
    """An object whose list is itself."""

    def tolist(self):
        return self


@pytest.mark.parametrize(
    ("value", "kept"),
    [
        (float("nan"), None),
        (np.float64("nan"), None),
        (np.float32("nan"), None),
        (None, None),
        (pd.NA, None),
        (pd.NaT, None),
        ("", None),
        (" \u00a0", None),
        (1.0, "1"),
        (np.float64(2.0), "2"),
        (np.int64(3), "3"),
        (Decimal(4), "4"),
        (Fraction(5), "5"),
        (-0.0, "0"),
        ("lawn ", "lawn"),
        ("\u00a0front\u00a0 lawn", "front lawn"),
    ],
)
def test_a_zone_as_tables_hold_it(value, kept):
    site = ut.Site.from_dict(plain(heads=[{"id": "a", "x": 1, "y": 1, "zone": value}, {"id": "b", "x": 5, "y": 1}]))
    assert site.to_dict()["heads"][0].get("zone") == kept


@pytest.mark.parametrize(
    ("value", "number"),
    [
        (np.float32(0.5), 0.5),
        (np.int16(1), 1.0),
        (np.array(0.5), 0.5),
        (Decimal("0.5"), 0.5),
        (Fraction(1, 2), 0.5),
        (1, 1.0),
        ("0.5", "0.5"),
        ("1' 6\"", "1' 6\""),
        ("30 cm", "30 cm"),
    ],
)
def test_a_radius_of_any_kind_is_kept_as_it_was_written(value, number):
    dig = {"x": 4, "y": 4, "radius": value, "depth": 0.5, "method": np.str_("hand")}
    assert ut.Site.from_dict(plain(digs=[dig])).to_dict()["digs"][0]["radius"] == number


def test_a_table_with_empty_cells_is_read_row_by_row():
    table = pd.DataFrame(
        {
            "id": ["hole", "trench", np.nan],
            "x": [4, np.nan, np.nan],
            "y": [4, np.nan, np.nan],
            "radius": [0.3, np.nan, np.nan],
            "path": [np.nan, [[1, 1], [3, 1]], np.nan],
            "width": [np.nan, 0.2, np.nan],
            "outline": [np.nan, np.nan, [(5, 5), (6, 5), (6, 6)]],
            "depth": [0.5, 0.4, 0.3],
            "method": ["hand", np.nan, pd.NA],
            "tree": ["small", np.nan, None],
        }
    )
    by_rows = ut.Site.from_dict(plain(digs=table.to_dict("records")))
    assert by_rows.dig_ids == ("hole", "trench", "dig3")
    assert [len(dig) for dig in by_rows.to_dict()["digs"]] == [7, 4, 2]
    assert ut.Site.from_dict(plain(digs=table)) == by_rows
    heads = pd.DataFrame({"id": [1.0, 2.0, 3.0], "x": [1, 4, 7], "y": 1.0, "zone": [1.0, np.nan, 2.0]})
    read = ut.Site.from_dict(plain(heads=heads)).to_dict()["heads"]
    assert [(head["id"], head.get("zone")) for head in read] == [("1", "1"), ("2", None), ("3", "2")]


def test_mappings_days_and_settings_of_any_kind():
    marks = [
        {"class": "gas", "path": np.array([[0, 1], [9, 1]]), "date": day}
        for day in (datetime.date(2026, 5, 4), pd.Timestamp("2026-05-04"), np.datetime64("2026-05-04"), " 2026-05-04")
    ]
    site = ut.Site.from_dict(Rows(plain(marks=marks, settings={"align_gain": np.nan, "offset_sd_m": "5 cm"})))
    assert [mark["date"] for mark in site.to_dict()["marks"]] == ["2026-05-04"] * 4
    assert site.to_dict()["settings"] == {"offset_sd_m": "5 cm"}


def endless_dict() -> dict[str, object]:
    one: dict[str, object] = {}
    one["a"], one["b"] = one, one
    return one


def deep_dict(deep: int) -> dict[str, object]:
    found: dict[str, object] = {}
    for _ in range(deep):
        found = {"x": found}
    return found


@pytest.mark.parametrize(
    ("document", "said"),
    [
        (plain(heads=deep_list(100_000)), "heads[0][0]"),
        (plain(frame=deep_dict(100_000)), "frame.x.x"),
        (plain(heads=[{"id": "a", "x": deep_list(5000), "y": 1}]), "heads[0].x[0]"),
        (endless_dict(), "a.a.a"),
        (plain(trees=[endless_dict()]), "trees[0].a.a"),
        (
            plain(heads=[{"id": "a", "x": Endless(), "y": 1}]),
            "heads[0].x: lists and tables are nested more than 32 deep",
        ),
    ],
)
def test_nesting_without_end(document, said):
    with pytest.raises(ut.SiteError) as caught:
        ut.Site.from_dict(document)
    assert said in str(caught.value)
    assert "nested more than 32 deep" in str(caught.value)


@pytest.mark.parametrize("text", ["[" * 100_000 + "]" * 100_000, '{"heads":' * 100_000 + "1" + "}" * 100_000])
def test_nesting_without_end_in_json(text):
    with pytest.raises(ut.SiteError, match="nested more than 32 deep"):
        ut.Site.from_json(text)


@pytest.mark.parametrize(
    "text", ["heads = " + "[" * 100_000 + "]" * 100_000, "a." * 100_000 + "b = 1", "[" + "a." * 100_000 + "b]"]
)
def test_nesting_without_end_in_toml(text):
    with pytest.raises(
        ut.DocumentSyntaxError, match=r"line 1, column \d+: lists and tables are nested more than 32 deep"
    ):
        ut.Site.from_toml(text)


@pytest.mark.parametrize(
    ("document", "said"),
    [
        (plain(heads=[{"id": "a", "x": float("nan"), "y": 1}]), "heads[0].x: NaN is not a finite number"),
        (plain(heads=[{"id": "a", "x": float("inf"), "y": 1}]), "heads[0].x: inf is not a finite number"),
        (plain(heads=[{"id": None, "x": 1, "y": 1}]), "heads[0].id: is missing"),
        (plain(heads=[{"id": "a", "x": {1, 2}, "y": 1}]), "heads[0].x: expected a length, found {1, 2} of type set"),
        (plain(heads=[{"id": b"a", "x": 1, "y": 1}]), "heads[0].id: expected a text, found b'a' of type bytes"),
        (plain(heads=[{"id": "a", "x": 1j, "y": 1}]), "found 1j of type complex"),
        (plain(heads=[{"id": "a", "x": 10**400, "y": 1}]), "heads[0].x: inf is not a finite number"),
        (plain(heads=[{"id": "a", "x": 1, "y": 1, 7: 2}]), "heads[0].7: unknown key"),
        (plain(heads=[{"id": "a", "x": 1, "y": 1, "zon": "1"}]), 'unknown key; did you mean "zone"?'),
        (plain(heads=print), "heads: expected a list, found <built-in function print>"),
        ("plain", "expected a table, found the text"),
        (None, "is missing"),
        ([], "expected a table, found a list of 0"),
        (plain(valve_boxes=[{"id": "B", "x": 1, "y": 1, "zones": ["1", None]}]), "valve_boxes[0].zones[1]: is missing"),
        (plain(valve_boxes=[{"id": "B", "x": 1, "y": 1, "valves": "2"}]), 'write 2, not the text "2"'),
        (
            plain(marks=[{"class": "gas", "path": [[0, 1], [9, 1]], "date": datetime.datetime(2026, 5, 4, 10)}]),
            "is not a day written",
        ),
    ],
)
def test_documents_that_are_refused(document, said):
    with pytest.raises(ut.SiteError) as caught:
        ut.Site.from_dict(document)
    assert said in str(caught.value)


def test_a_document_with_texts_survives_files_pickling_and_findings(tmp_path):
    import pickle

    site = ut.Site.from_dict(plain(digs=[{"id": "oak", "x": "13' 1\"", "y": 4.5, "radius": "1 ft", "depth": "18in"}]))
    for name in ("site.toml", "site.json"):
        site.write(tmp_path / name)
        assert ut.read_site(tmp_path / name) == site
    assert pickle.loads(pickle.dumps(site)) == site  # noqa: S301 - our own bytes
    later = site.with_probe(
        "10 ft", 3, radius_m="10in", depth_m="0.4", found=False, line=ut.FoundLine(cover_m=float("nan"))
    )
    assert later.to_dict()["digs"] == site.to_dict()["digs"]
    assert later.to_dict()["probes"] == [{"x": "10 ft", "y": 3.0, "radius": "10in", "depth": 0.4, "found": False}]
    numbers = later._plain()
    assert numbers["digs"][0]["radius"] == 0.3048
    assert math.isclose(numbers["digs"][0]["depth"], 0.4572, rel_tol=1e-15)
    later.plot()


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda it: it.with_probe(float("nan"), 1, 0.2, 0.4, False), 'probes[0].x: "nan" is not a length'),
        (lambda it: it.with_probe("1,5 m", 1, 0.2, 0.4, False), 'probes[0].x: "1,5 m" has a comma'),
        (lambda it: it.with_probe(1, 1, 0.2, 0.4, "no"), 'probes[0].found: write false, not the text "no"'),
        (lambda it: it.with_probe(1, 1, 0.2, 0.4, True, line=ut.FoundLine(line_class="gass")), 'did you mean "gas"?'),
        (lambda it: it.with_probe(1, 1, 0.2, 0.4, True, tool="spade"), "probes[0].tool"),
        (
            lambda it: it.with_probe(1, 1, 0.2, 0.4, True, tool=ut.ProbeTool(p_detect="0.9")),
            'write 0.9, not the text "0.9"',
        ),
        (lambda it: it.with_probe(None, 1, 0.2, 0.4, True), "probes[0]: give exactly one of: x, y and radius"),
        (
            lambda it: it.with_slit([["1 m", "wide"], [2, 1]], 0.2, 0.4, False),
            'probes[0].path[0][1]: "wide" is not a length',
        ),
        (lambda it: it.with_station_test("1", None), "station_tests[0].heads"),
        (lambda it: it.with_sketch([[1, 1], [5, 1]], trust="0.9"), "write 0.9"),
        (lambda it: it.with_sketch(deep_list(5000), trust=0.9), "nested more than 32 deep"),
    ],
)
def test_findings_that_are_refused(site, call, said):
    with pytest.raises(ut.SiteError) as caught:
        call(site)
    assert said in str(caught.value)


def test_a_frame_says_what_of_it_is_used():
    """Longitude and latitude place surveys and exports alone: whoever gives them must know."""
    turned = ut.Site.from_dict(plain(frame={"lon": 0.5, "lat": 50, "azimuth_deg": 90})).warnings
    assert any("lon = 0.5 and frame.lat = 50 place surveys and exports on Earth" in said for said in turned)
    assert any("take north from frame.azimuth_deg = 90" in said for said in turned)
    level = ut.Site.from_dict(plain(frame={"lon": 0.5, "lat": 50})).warnings
    assert any("North is up on plans and sheets" in said for said in level)
    assert not any("frame" in said for said in ut.Site.from_dict(PLAIN).warnings)
