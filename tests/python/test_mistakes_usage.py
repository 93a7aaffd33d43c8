"""What people mistype on the command line, and the sentence that must come back, before any work, with the right exit code."""

from __future__ import annotations

import json

import pytest
from mistakes import HEADS, PLAIN

import underturf as ut
from underturf.__main__ import main

REFUSED, USAGE = 1, 2

FEET = {**PLAIN, "units": "ft", "boundary": [[0, 0], [40, 0], [40, 40], [0, 40]], "heads": HEADS, "digs": []}

AT = ["--at", "6", "4"]
POTHOLE = [*AT, "--radius", "0.25", "--depth", "0.45"]

#: Words after the program's name, SITE standing for the document; exit code; what must be said.
MISTAKES = [
    # words that nobody knows
    (["asess", "SITE"], USAGE, 'there is no command "asess"; did you mean "assess"?'),
    (["plant", "SITE"], USAGE, 'there is no command "plant"; underturf --help lists them'),
    (["assess", "SITE", "--drwas", "50"], USAGE, 'there is no option "--drwas"; did you mean "--draws"?'),
    (["assess"], USAGE, "Missing argument 'SITE'"),
    (["assess", "SITE", "--draws", "many"], USAGE, "'many' is not a valid integer"),
    (["assess", "SITE", "--draws", "1"], REFUSED, "draws is 1; it must be at least 2"),
    (["assess", "SITE", "--seed", "-4"], REFUSED, "seed is -4"),
    (["assess", "SITE", "--threads", "0"], REFUSED, "threads is 0; it must be at least 1"),
    (["rank", "SITE", "--by", "cost"], USAGE, "'cost' is not one of 'loss', 'p'"),
    (["completion", "powershell"], USAGE, "'powershell' is not one of 'bash', 'zsh', 'fish'"),
    # documents and files
    (["check", "none.toml"], REFUSED, "none.toml: No such file or directory"),
    (["check", "trees.csv"], REFUSED, "trees.csv must end in .toml or .json"),
    (["rank", "SITE", "-o", "rank.xlsx"], REFUSED, "rank.xlsx must end in .csv or .json"),
    (["rank", "SITE", "-o", "none/rank.csv"], REFUSED, "there is no folder"),
    (["rank", "SITE", "-o", "-", "--json"], USAGE, "--json and -o - both write to standard output"),
    (["rank", "SITE", "--as", "csv"], USAGE, "--as goes with -o -"),
    (
        ["rank", "SITE", "-o", "-", "--as", "pdf"],
        REFUSED,
        "--as: pdf is no format of this command; it must be csv or json",
    ),
    (["explore", "SITE", "-o", "page.pdf"], REFUSED, "page.pdf must end in .html"),
    # digs
    (["assess", "SITE", "--dig", "oka"], REFUSED, 'did you mean "oak"?'),
    (["assess", "SITE", "--dig", "oak", "--digs", "digs.csv"], REFUSED, "give one of them"),
    (["assess", "EMPTY"], REFUSED, "empty.json proposes no digs; add them under [[digs]]"),
    (["rank", "SITE", "--digs", "trees.csv"], REFUSED, 'there is no column "size"'),
    (["rank", "SITE", "--digs", "digs.txt"], REFUSED, "digs.txt must end in .csv or .json"),
    (["rank", "SITE", "--digs", "SITE"], REFUSED, "a .json of digs is one that spots, rank or assess wrote"),
    (["rank", "SITE", "--weight", "gas"], REFUSED, '"gas" (no =): write a class and a number'),
    (["rank", "SITE", "--weight", "gas=lots"], REFUSED, '--weight: "gas=lots"'),
    # spots and trees
    (["spots", "SITE"], USAGE, "how many holes? Give -n with --radius and --depth, or a list with --trees"),
    (["spots", "SITE", "-n", "2"], USAGE, "how large is a hole? Give --radius and --depth"),
    (["spots", "SITE", "-n", "2", "--caliper", "2in"], USAGE, "give its size with --tree"),
    (
        ["spots", "SITE", "-n", "2", "--tree", "large", "--caliper", "2"],
        REFUSED,
        '--caliper: "2" has no unit; write 2in',
    ),
    (["spots", "SITE", "--trees", "trees.csv", "-n", "3"], USAGE, "--trees says what is planted, and --count too"),
    (["spots", "SITE", "-n", "0", "--radius", "1", "--depth", "1"], REFUSED, "-n is 0; it must be at least 1"),
    (["spots", "SITE", "--trees", "bare.csv"], REFUSED, "bare.csv: 3 faults"),
    (
        ["spots", "SITE", "--trees", "bare.csv"],
        REFUSED,
        'line 2: caliper: "2" has no unit; write "2 in", or name the column caliper_in',
    ),
    (
        ["spots", "SITE", "--trees", "bare.csv"],
        REFUSED,
        'line 3: size: "larg" must be small, medium or large; did you mean "large"?',
    ),
    (["spots", "SITE", "--trees", "bare.csv"], REFUSED, 'line 4: count: "0" is not a whole number above 0'),
    (
        ["spots", "SITE", "--trees", "nothing.csv"],
        REFUSED,
        "nothing.csv: no table; its first line must name the columns",
    ),
    (
        ["spots", "SITE", "--trees", "holes.csv"],
        REFUSED,
        "line 2: oak has neither caliper nor container, and its hole no radius",
    ),
    (["spots", "SITE", "--trees", "holes.csv"], REFUSED, 'the name "oak" stands twice'),
    (
        ["spots", "SITE", "-n", "1", "--radius", "1", "--depth", "1", "--within", "0", "0"],
        USAGE,
        "--within is given 1 times",
    ),
    (
        ["spots", "SITE", "-n", "1", "--radius", "1", "--depth", "1", "--chance-limit", "5"],
        REFUSED,
        "--chance-limit is 5",
    ),
    (
        ["spots", "SITE", "--trees", "trees.csv", "-o", "out.toml"],
        REFUSED,
        "the document has digs of the names oak already",
    ),
    # probes
    (["probes", "SITE", "--tool", "slit"], USAGE, "--slit LENGTH WIDTH goes with --tool slit"),
    (["probes", "SITE", "--depth", "1,5m"], REFUSED, "write 1.5m"),
    (["add-probe", "SITE", *POTHOLE], USAGE, "was a line met? Give --found or --clear"),
    (["add-probe", "SITE", *AT, "--clear"], USAGE, "the probe has no --radius, --depth"),
    (["add-probe", "SITE", "--at", "6", "--clear"], USAGE, "--at takes two values, X Y; one is missing"),
    (["add-probe", "SITE", *POTHOLE, "--clear", "--class", "gas"], USAGE, "this probe was clear"),
    (["add-probe", "SITE", *POTHOLE, "--found", "--class", "gass"], REFUSED, "probes[0].class"),
    (["add-probe", "SITE", *AT, "--radius", "0.25", "--depth", "45", "--clear"], REFUSED, "probes[0].depth"),
    (["add-probe", "SITE", *POTHOLE, "--clear", "--probe", "1"], USAGE, "--plan FILE and --probe NUMBER go together"),
    (
        ["add-probe", "SITE", "--plan", "trees.csv", "--probe", "1", "--clear"],
        REFUSED,
        "trees.csv: no plan that the command probes wrote",
    ),
    (
        ["add-probe", "SITE", "--from", "1", "1", "--to", "2", "1", "--depth", "0.4", "--clear"],
        USAGE,
        "the probe has no --width",
    ),
    (
        ["add-probe", "SITE", "--at", "6paces", "4", "--radius", "1", "--depth", "1", "--clear"],
        REFUSED,
        '--at: "6paces"',
    ),
    (
        ["add-probe", "SITE", *AT, "--radius", "0.25", "--depth", "3", "--clear"],
        REFUSED,
        "Nothing was written. Bare numbers are m.",
    ),
    (
        ["add-dig", "SITE", "--at", "60", "4", "--radius", "1", "--depth", "1", "--id", "far"],
        REFUSED,
        "--odd writes it as it is",
    ),
    # station tests and digs
    (["add-test", "SITE", "h0"], USAGE, "which valve was run? Give --zone"),
    (["add-test", "SITE", "--zone", "1"], USAGE, "which heads came up? Name them after the document, or give --none"),
    (["add-test", "SITE", "--zone", "9", "h0"], REFUSED, 'no head and no valve box has zone "9"'),
    (["add-test", "SITE", "--zone", "1", "h99"], REFUSED, 'there is no head "h99"'),
    (["add-dig", "SITE", *AT, "--id", "oak", "--radius", "0.3", "--depth", "0.5"], REFUSED, "oak"),
    (["add-dig", "SITE", *AT, "--id", "elm"], USAGE, "how large is the dig? Give --radius and --depth"),
    # figures to look up, surveys
    (["settings", "--name", "colour"], REFUSED, 'no setting has "colour" in its name'),
    (["root-ball", "--caliper", "2"], REFUSED, '"2" has no unit; write 2in'),
    (["root-ball", "--caliper", "2in", "--units", "yd"], REFUSED, '--units: "yd" must be m or ft'),
    (["root-ball"], REFUSED, "caliper"),
    (["survey"], USAGE, "Missing argument 'FILES...'"),
    (["survey", "a.csv", "--frame", "45.5,-122.5"], REFUSED, "longitude comes first"),
    (["survey", "a.csv", "--frame", "here"], REFUSED, "must be LON,LAT or LON,LAT,AZIMUTH in degrees"),
]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    (tmp_path / "site.json").write_text(json.dumps(PLAIN), encoding="utf-8")
    (tmp_path / "empty.json").write_text(json.dumps(FEET), encoding="utf-8")
    files = {
        "trees.csv": "id,size,caliper_in\noak,large,2\n",
        "bare.csv": "id,size,caliper,count\na,large,2,1\nb,larg,2in,1\nc,small,2in,0\n",
        "holes.csv": "id,size,depth\noak,large,0.5\noak,large,0.5\n",
        "nothing.csv": "# only this\n",
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(("words", "code", "said"), MISTAKES, ids=[" ".join(words[:6]) for words, _, _ in MISTAKES])
def test_mistakes_are_told_before_any_work(no_work, folder, capsys, words, code, said):
    named = {"SITE": "site.json", "EMPTY": "empty.json"}
    assert main([named.get(word, word) for word in words]) == code
    told = capsys.readouterr()
    assert said in " ".join(told.err.split("\n")) or said in told.err
    assert told.out == ""
    assert "Traceback" not in told.err
    assert (folder / "site.json").read_text(encoding="utf-8") == json.dumps(PLAIN), "the document is as it was"


def test_there_are_many_mistakes_and_one_of_each_kind_of_command():
    assert len(MISTAKES) >= 60
    assert {"add-probe", "add-test", "add-dig", "spots", "probes", "rank", "survey"} <= {
        words[0] for words, _, _ in MISTAKES
    }


def test_what_is_right_is_not_refused(folder, capsys):
    """Planted against a table that would pass if everything were refused."""
    assert main(["add-probe", "site.json", *POTHOLE, "--clear"]) == 0
    assert main(["add-test", "site.json", "--zone", "1", "h0", "h1,h2"]) == 0
    assert main(["add-dig", "site.json", *AT, "--id", "elm", "--tree", "small", "--caliper", "2in"]) == 0
    site = ut.read_site("site.json")
    assert len(site.probes) == len(site.station_tests) == 1
    assert site.dig_ids == ("oak", "elm")
    capsys.readouterr()
