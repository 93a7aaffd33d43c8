"""Tape notes as people get them wrong: one error each, with every fault and its place, in words of the field."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tape_yards import toml

import underturf as ut
from underturf.tapes.document import read_document

HEAD = 'format = "underturf-tapes/1"\nunits = "m"\n'
AB = '{name = "A", x = 0, y = 0}, {name = "B", x = 10, y = 0}'
FIXED = f"fixed = [{AB}]\n"

#: Notes that are refused as they are read, and what each error must say.
READ = {
    "no format": ('units = "m"\n' + FIXED, ["format: is missing; write 'underturf-tapes/1'"]),
    "a site document": ('format = "underturf-site/2"\nunits = "m"\n' + FIXED, ["format: must be 'underturf-tapes/1'"]),
    "another unit": ('format = "underturf-tapes/1"\nunits = "feet"\n' + FIXED, ["units: must be 'm' or 'ft'"]),
    "nothing fixed": (HEAD, ["fixed: nothing is fixed", "baseline"]),
    "one fixed point": (HEAD + 'fixed = [{name = "A", x = 0, y = 0}]', ["only A is fixed"]),
    "fixed points in one place": (
        HEAD + 'fixed = [{name = "A", x = 1, y = 0}, {name = "B", x = 1, y = 0}]',
        ["all fixed points have the same x and y"],
    ),
    "baseline and fixed points": (HEAD + 'baseline = ["C", "D"]\n' + FIXED, ["baseline: stands beside fixed points"]),
    "baseline without its tape": (HEAD + 'baseline = ["A", "B"]\n', ["no tape runs from A to B"]),
    "baseline of three": (HEAD + 'baseline = ["A", "B", "C"]\n', ["baseline: must be two names of points"]),
    "a key mistyped": (HEAD + FIXED + "point = []", ['point: unknown key; did you mean "points"?']),
    "a key of a point mistyped": (
        toml('{name = "h", tapes = {A = 3, B = 9}, sied = "left"}'),
        ["points[0].sied: unknown key"],
    ),
    "a name mistyped": (toml('{name = "h", tapes = {AA = 3, B = 9}}'), ["points[0].tapes.AA: there is no point 'AA'"]),
    "a point twice": (
        toml('{name = "h", tapes = {A = 3, B = 9}}, {name = " h ", tapes = {A = 3, B = 9}}'),
        ["points[1].name: 'h' stands at points[0] already"],
    ),
    "no name": (toml("{tapes = {A = 3, B = 9}}"), ["points[0].name: is missing"]),
    "an empty name": (toml('{name = " ", tapes = {A = 3, B = 9}}'), ["points[0].name: is empty"]),
    "a comma": (toml('{name = "h", tapes = {A = "3,5", B = 9}}'), ['points[0].tapes.A: "3,5" has a comma']),
    "thirteen inches": (toml('{name = "h", tapes = {A = "2 ft 13 in", B = 9}}'), ["points[0].tapes.A", "less than 12"]),
    "a tape of no length": (
        toml('{name = "h", tapes = {A = 0, B = 9}}'),
        ["points[0].tapes.A: is 0, 0 m; it must be 0.001 to"],
    ),
    "a tape below zero": (toml('{name = "h", tapes = {A = -3, B = 9}}'), ["points[0].tapes.A: is -3, -3 m"]),
    "a tape too long": (
        toml('{name = "h", tapes = {A = 3000, B = 9}}'),
        ["points[0].tapes.A: is 3000, 3000 m; it must be"],
    ),
    "a tape that is true": (
        toml('{name = "h", tapes = {A = true, B = 9}}'),
        ["points[0].tapes.A: it is True; it must be a number"],
    ),
    "infinity": (toml('{name = "h", tapes = {A = inf, B = 9}}'), ["points[0].tapes.A: it is inf; it must be finite"]),
    "a tape to itself": (toml('{name = "h", tapes = {h = 3, B = 9}}'), ["points[0].tapes.h: runs from h to itself"]),
    "a side that is none": (
        toml('{name = "h", tapes = {A = 8, B = 9}, side = "up"}'),
        ["points[0].side: is 'up'; it must be left, right or a compass word"],
    ),
    "a side of which line": (
        toml(
            '{name = "h", tapes = {A = 8, B = 9, k = 3}, side = "left"}, {name = "k", tapes = {A = 8, B = 9}, side = "left"}'
        ),
        ["points[0].side: of which line? Add baseline"],
    ),
    "a compass word without north": (
        HEAD + 'baseline = ["A", "B"]\ntapes = [{from = "A", to = "B", length = 9}]\n'
        'points = [{name = "h", tapes = {A = 8, B = 9}, side = "north"}]',
        ["points[0].side: is a compass word, and nothing tells where north is"],
    ),
    "an offset without a line": (
        toml('{name = "h", along = 3, offset = 2, side = "left"}'),
        ["points[0].baseline: is missing; along and offset need the two points of their line"],
    ),
    "an offset without a side": (
        toml('{name = "h", baseline = ["A", "B"], along = 3, offset = 2}'),
        ["points[0].side: is missing; say on which side"],
    ),
    "an offset below zero": (
        toml('{name = "h", baseline = ["A", "B"], along = 3, offset = -2, side = "left"}'),
        ["points[0].offset: is -2, -2 m; it must be 0 to"],
    ),
    "along alone": (toml('{name = "h", baseline = ["A", "B"], along = 3}'), ["points[0].offset: is missing"]),
    "a line through the point itself": (
        toml('{name = "h", baseline = ["A", "h"], along = 3, offset = 1, side = "left"}'),
        ["points[0].baseline: holds h itself"],
    ),
    "a baseline for nothing": (
        toml('{name = "h", baseline = ["A", "B"], tapes = {A = 8, B = 9}}'),
        ["points[0].baseline: says nothing without side"],
    ),
    "no list": (HEAD + FIXED + 'points = "h1"', ["points: must be a list of tables"]),
    "no tables": (HEAD + FIXED + 'points = ["h1"]', ["points[0]: must be a table"]),
    "accuracy of a metre": (toml("", more="accuracy = {sd = 3}"), ["accuracy.sd: is 3, 3 m; it must be 0.0001 to 1 m"]),
    "all at once": (
        'format = "underturf-tapes/2"\nunits = "yd"\nfixed = [{name = "A", x = "east", y = 0}]\n'
        'points = [{name = "h", tapes = {A = "x"}}]\ntapes = [{from = "A", length = 3}]',
        [
            ": 6 faults in the tape notes",
            "format:",
            "units:",
            "fixed[0].x:",
            "points[0].tapes.A:",
            "tapes[0].to: is missing",
            "fixed: only A",
        ],
    ),
}


@pytest.mark.parametrize("name", READ)
def test_notes_that_are_wrong_are_refused_with_every_fault(name):
    text, words = READ[name]
    with pytest.raises(ut.ArgumentError) as caught:
        ut.TapeNotes.from_toml(text, "yard.toml")
    said = str(caught.value)
    assert said.startswith("yard.toml: ")
    for word in words:
        assert word in said, said
    if len(words) < 3:
        assert said.startswith("yard.toml: 1 fault in the tape notes\n"), said


#: Notes that read but do not fix every point, and what each error must say.
SOLVED = {
    "two crossings": (
        toml('{name = "h", tapes = {A = 8, B = 8}}'),
        ["h (points[0]): the tapes cross twice", "x 5.00, y 6.24 m", "x 5.00, y -6.24 m", "say on which side"],
    ),
    "tapes that miss each other": (
        toml('{name = "h", tapes = {A = 3, B = 4}, side = "left"}'),
        ["h (points[0]): tape A to h and tape B to h do not meet: they miss each other by 3.00 m"],
    ),
    "one tape": (toml('{name = "h", tapes = {A = 3}}'), ["one tape, from A, does not fix it; it takes two"]),
    "no tape": (toml('{name = "h"}'), ["h (points[0]): nothing was measured to it"]),
    "points that hang on each other": (
        toml('{name = "h", tapes = {k = 3}}, {name = "k"}'),
        ["h (points[0]): nothing was measured to it from a place that is known, only from k", "k (points[1])"],
    ),
    "tapes along one line": (
        toml('{name = "h", tapes = {A = 4, B = 6}, side = "left"}'),
        ["h (points[0]): its tapes run along one line", "note its way along the line and its offset"],
    ),
    "all anchors on one line": (
        toml('{name = "h", tapes = {A = 5, B = 8.062258, C = 4.123106}}', f"{AB}, {{name = 'C', x = 2, y = 0}}"),
        ["the tapes cross twice"],
    ),
    "a side that the tapes deny": (
        toml(
            '{name = "h", tapes = {A = 5, B = 8.062258, C = 6.708204}, baseline = ["A", "B"], side = "right"}',
            f"{AB}, {{name = 'C', x = 0, y = 10}}",
        ),
        ["the notes put it right of the line from A to B, its tapes put it on the other side"],
    ),
    "a compass word along the line": (
        toml('{name = "h", tapes = {A = 8, B = 8}, side = "east"}'),
        ["to the east does not tell the sides of the line from A to B"],
    ),
    "a compass word along the line of an offset": (
        toml('{name = "h", baseline = ["A", "B"], along = 3, offset = 2, side = "west"}'),
        ["to the west does not tell the sides of the line from A to B"],
    ),
    "only the first cause is named": (
        toml(
            '{name = "h", tapes = {A = 3, B = 4}, side = "left"}, {name = "k", tapes = {h = 3, B = 4}, side = "left"}'
        ),
        [": 1 fault in the tapes", "h (points[0])"],
    ),
    "both open ends are named": (
        toml(
            '{name = "h", tapes = {A = 8, B = 8}}, {name = "k", tapes = {A = 7, B = 7}}, {name = "g", tapes = {A = 2}}'
        ),
        [": 3 faults in the tapes", "h (points[0])", "k (points[1])", "g (points[2])"],
    ),
    "a mirrored pair": (
        toml('{name = "h", tapes = {A = 8, B = 8}}, {name = "k", tapes = {A = 7, B = 7, h = 1.3}}'),
        [": 2 faults in the tapes", "h (points[0]): the tapes cross twice", "k (points[1]): the tapes cross twice"],
    ),
}


@pytest.mark.parametrize("name", SOLVED)
def test_points_that_tapes_do_not_fix_are_named(name):
    text, words = SOLVED[name]
    notes = ut.TapeNotes.from_toml(text, "yard.toml")
    with pytest.raises(ut.ArgumentError) as caught:
        notes.solve()
    for word in words:
        assert word in str(caught.value), str(caught.value)


def test_files_that_cannot_be_read_say_so(tmp_path):
    broken = tmp_path / "yard.toml"
    broken.write_text('format = "underturf-tapes/1\n')
    with pytest.raises(ut.DocumentSyntaxError, match=r"yard.toml: not valid TOML: .*line 1"):
        ut.read_tapes(broken)
    broken.write_bytes("name = 'Straße'".encode("latin-1"))
    with pytest.raises(ut.DocumentSyntaxError, match=r"yard.toml is not UTF-8 text"):
        ut.read_tapes(broken)
    with pytest.raises(ut.ArgumentError, match=r"yard.csv must end in .toml"):
        ut.read_tapes(tmp_path / "yard.csv")
    with pytest.raises(FileNotFoundError):
        ut.read_tapes(tmp_path / "none.toml")


def test_a_byte_order_mark_is_no_fault(tmp_path):
    path = tmp_path / "yard.toml"
    path.write_text(toml('{name = "h", tapes = {A = 8, B = 8}, side = "left"}'), encoding="utf-8-sig")
    assert ut.read_tapes(path).name == "yard.toml"


def test_what_was_not_measured_cannot_be_left_out():
    notes = ut.TapeNotes.from_toml(toml('{name = "h", tapes = {A = 8, B = 8}, side = "left"}'))
    with pytest.raises(
        ut.ArgumentError, match=r"nothing was measured at 'tapes\[3\]'; there are points\[0\].tapes.A, points"
    ):
        notes.without("tapes[3]")


KEYS = ["name", "x", "y", "tapes", "A", "h", "side", "baseline", "along", "offset", "from", "to", "length"]
WORDS = ["A", "B", "h", "left", "NE", "3 ft", "x", ""]
VALUES = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(-3, 50), st.floats(), st.sampled_from(WORDS)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(KEYS), inner, max_size=5),
    ),
    max_leaves=12,
)


@settings(max_examples=150, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(["points", "tapes", "fixed", "baseline", "accuracy", "azimuth_deg", "name"]), VALUES
    )
)
def test_whatever_is_typed_ends_in_one_kind_of_error(drawn):
    fixed = [{"name": "A", "x": 0, "y": 0}, {"name": "B", "x": 9, "y": 0}]
    document = {"format": "underturf-tapes/1", "units": "m", "fixed": fixed} | drawn
    try:
        read_document(document, "yard")
    except ut.ArgumentError as error:
        assert str(error).startswith("yard: ")  # noqa: PT017


LENGTHS = st.sampled_from([2.0, 5.0, 6.0, 9.0, 10.0, 14.0, 30.0])


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from("ABhkm"), st.sampled_from("hkm"), LENGTHS), max_size=9), st.booleans())
def test_whatever_is_measured_gives_places_or_one_error(tapes, told):
    """Places are finite numbers, and their errors are above zero."""
    side = ', baseline = ["A", "B"], side = "left"' if told else ""
    text = toml(", ".join(f'{{name = "{name}"{side}}}' for name in "hkm"))
    text += "".join(f'\n[[tapes]]\nfrom = "{a}"\nto = "{b}"\nlength = {long}' for a, b, long in tapes if a != b)
    try:
        solution = ut.TapeNotes.from_toml(text).solve()
    except ut.ArgumentError as error:
        assert "in the tapes" in str(error)  # noqa: PT017
        return
    for point in solution.points:
        assert math.isfinite(point.x_m + point.y_m)
        assert math.isfinite(point.worst_sd_m)
        assert point.fixed or point.worst_sd_m > 0
