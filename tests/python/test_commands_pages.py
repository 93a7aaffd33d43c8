"""The pages on the command line run as they stand: files are written, commands typed, and they print what the page shows."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from commanding import environment

from underturf.__main__ import main
from underturf.commands.program import cli

DOCS = Path(__file__).parents[2] / "python" / "docs"

#: The program as the shell calls it.
SHIM = "#!{python}\nimport sys\nfrom underturf.__main__ import main\nsys.exit(main())\n"


def blocks(page):
    """Files to write and commands to run, in the order of the page: (name, text) or (command, lines that it prints)."""
    text = page.read_text(encoding="utf-8")
    for before, kind, body in re.findall(r"([^\n]*)\n+```(\w+)\n(.*?)```", text, re.DOTALL):
        named = re.search(r"`([\w.-]+\.\w+)`:$", before)
        if kind == "console":
            for part in re.split(r"^\$ ", body, flags=re.MULTILINE)[1:]:
                command, _, printed = part.partition("\n")
                yield "run", command, printed
        elif named:
            yield "write", named[1], body


def pattern(printed):
    """What a page shows, as a pattern: three points stand for anything, blank lines and the width of columns for nothing."""
    words = [re.escape(word) for word in " ".join(printed.split()).split("...")]
    return re.compile(r".*?".join(words) if words else "", re.DOTALL)


def matches(printed, said):
    found = " ".join(said.split())
    return not printed.strip() or pattern(printed).match(found) is not None


@pytest.fixture
def program(tmp_path):
    """A folder to work in, and the environment in which ``underturf`` is the package under test."""
    (tmp_path / "bin").mkdir()
    shim = tmp_path / "bin" / "underturf"
    shim.write_text(SHIM.format(python=sys.executable), encoding="utf-8")
    shim.chmod(0o755)
    (tmp_path / "work").mkdir()
    more = {"PATH": f"{tmp_path / 'bin'}{os.pathsep}{os.environ['PATH']}", "MPLBACKEND": "agg", "COLUMNS": "100"}
    return tmp_path / "work", {**environment(), **more}


def typed(command, around, capsys):
    """The exit code of a line and what it prints: in this process, or by the shell where the line asks for one."""
    words = shlex.split(command)
    if words[0] == "underturf" and not {"<", ">", "|"} & {*words}:
        code = main(quick(words[1:]))
        printed = capsys.readouterr()
        return code, printed.err + printed.out
    found = subprocess.run(
        ["bash", "-c", command], env=around, capture_output=True, text=True, check=False, timeout=240
    )
    return found.returncode, found.stderr + found.stdout


def quick(words):
    """A command with few draws where none are asked for, and one thread."""
    known = {name for part in cli.commands[words[0]].params for name in part.opts}
    # A file of layouts was drawn already.
    drawn = [] if words[1:2] and words[1].endswith(".nc") else [("--draws", "100")]
    more = [*drawn, ("--threads", "1")]
    return [*words, *(word for pair in more if pair[0] in known - {*words} for word in pair)]


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="bash")
@pytest.mark.parametrize("name", ["commands.md", "planting-day.md"])
def test_pages_run_as_they_stand(program, name, capsys, monkeypatch):
    folder, around = program
    monkeypatch.chdir(folder)
    ran, refused = 0, 0
    for what, first, second in blocks(DOCS / name):
        if what == "write":
            (folder / first).write_text(second, encoding="utf-8")
            continue
        if "points.csv walk.gpx" in first and name == "commands.md":
            continue  # files of other pages
        code, said = typed(first, around, capsys)
        assert matches(second, said), f"$ {first}\n{said}"
        assert "Traceback" not in said
        assert code in (0, 1, 2)
        ran, refused = ran + 1, refused + (code != 0)
    assert ran > 15
    assert (refused == 0) == (name == "commands.md"), "a day has its mistakes"


def test_every_command_is_on_the_page():
    page = (DOCS / "commands.md").read_text(encoding="utf-8")
    assert [
        name for name in cli.commands if f"$ underturf {name} " not in page and f"$ underturf {name}\n" not in page
    ] == []
    for code in ("| 0 |", "| 1 |", "| 2 |", "| 3 |", "| 130 |", "| 141 |"):
        assert code in page


def test_what_a_page_shows_is_compared():
    """Planted faults: another word, and a line that is not printed."""
    assert matches("a  1\n...\nend", "a 1\nmore\nend\n")
    assert not matches("a  2\n...\nend", "a 1\nmore\nend\n")
    assert not matches("a  1\n...\nfin", "a 1\nmore\nend\n")
