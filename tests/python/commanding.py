"""What the tests of the command line share: a small site, runs of the program in this process and in one of its own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

from mistakes import HEADS, PLAIN

import underturf as ut
from underturf.__main__ import main

#: Few draws, one thread: what every command that samples is asked with here.
QUICK = ["--draws", "50", "--seed", "3", "--threads", "1"]

#: A garden with a mark, a box, and digs.
GARDEN = {
    **PLAIN,
    "name": "Garden (invented)",
    "valve_boxes": [{"id": "box", "x": 13, "y": 9, "zones": ["1", "2"]}],
    "marks": [{"class": "gas", "path": [[0, 9], [14, 9]]}],
    "digs": [
        {"id": "oak", "x": 4, "y": 4.5, "radius": 0.3, "depth": 0.5},
        {"id": "post", "x": 9, "y": 3, "radius": 0.15, "depth": 0.6},
    ],
}

#: The same with three flags of a detector.
WALKED = {**GARDEN, "flags": [{"x": 1.0 + k, "y": 0.5} for k in range(3)]}

#: Four heads on two valves that nobody has named.
UNNAMED = {
    **PLAIN,
    "heads": [{key: value for key, value in head.items() if key != "zone"} for head in HEADS[:4]],
    "valve_boxes": [{"id": "box", "x": 13, "y": 9, "valves": 2}],
    "digs": [],
}


def write_site(folder, document=PLAIN, name="site.json"):
    path = folder / name
    ut.Site.from_dict(document).write(path)
    return path


def told(capsys, *words):
    """The JSON object that a command answers with."""
    code = main([*map(str, words), "--json"])
    said = capsys.readouterr()
    assert code == 0, said.err
    assert said.out.count("\n") == 1
    return json.loads(said.out)


def environment():
    """The environment of a process of its own, in which the package is the one under test."""
    paths = [str(Path(ut.__file__).parents[1]), *os.environ.get("PYTHONPATH", "").split(os.pathsep)]
    return {**os.environ, "PYTHONPATH": os.pathsep.join(path for path in paths if path), "PYTHONUTF8": "1"}


def run(*words, **more):
    """Run the program in a process of its own."""
    given = {"capture_output": True, "env": environment(), "timeout": 240, **more}
    return subprocess.run([sys.executable, "-m", "underturf", *map(str, words)], check=False, **given)


__all__ = ["GARDEN", "PLAIN", "QUICK", "UNNAMED", "WALKED", "environment", "run", "told", "write_site"]
