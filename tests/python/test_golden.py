"""One golden run: what the shipped examples, known and unknown zones, probes, flags and decisions answer, number by number.

Nothing here says that an answer is right; other tests do. It says that an answer is the one of yesterday. After a change that is
meant to alter draws, write the run anew with ``UNDERTURF_GOLDEN=write pytest tests/python/test_golden.py``, read the difference,
and give `CHANGELOG.md` a line "draws changed" with the reason. Numbers are held to 1e-9, relative: another C library rounds its
last digit otherwise. Words of the sheet stand in a file of their own and are held to the letter.
"""

from __future__ import annotations

import json
import math
import os
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from sheets import plan_of

import underturf as ut
from underturf.crew.blocks import Alarm, Details, Group, Heading, Items, Map, Table, Text, Together
from underturf.crew.content import content

GOLDEN = Path(__file__).parent / "golden"
BASES = Path(__file__).parents[1] / "mistakes" / "bases"

#: Rows of long tables that are written whole; of the rest only sums are.
ROWS = 12


def probed():
    """The green with what crews found: a clear slit, a plain find, a find with all that can be noted."""
    site = ut.read_site(ut.example("green"))
    heads = site.to_dict()["heads"]
    (x, y), (a, b) = ((heads[k]["x"], heads[k]["y"]) for k in (0, 3))
    site = site.with_probe(0.3 * x + 0.7 * a, 0.3 * y + 0.7 * b, 0.25, 0.5, found=True)
    return site.with_probe(0.5 * (x + a) + 1.1, 0.5 * (y + b) + 1.7, 0.3, 0.6, found=False)


CASES = {
    "bare": lambda: ut.read_site(ut.example("bare")),
    "green": lambda: ut.read_site(ut.example("green")),
    "terrace": lambda: ut.read_site(ut.example("terrace")),
    "unlabelled": lambda: ut.read_site(ut.example("unlabelled")),
    "feet": lambda: ut.read_site(BASES / "feet.toml"),
    "probed": probed,
    "metal": lambda: ut.read_site(ut.example("metal")),
}


def table(frame):
    """A table: its first rows whole, and the sum of every column of numbers."""
    frame = frame.reset_index() if frame.index.name else frame
    numbers = frame.select_dtypes("number")
    return {
        "rows": len(frame),
        "sums": {name: float(numbers[name].sum()) for name in numbers},
        "first": json.loads(frame.head(ROWS).to_json(orient="records", double_precision=15)),
    }


def raster(values):
    """A raster: its size, its sum, and a few of its cells."""
    flat = np.nan_to_num(np.asarray(values, dtype=float), nan=-1.0).ravel()
    return {
        "shape": list(np.shape(values)),
        "sum": float(flat.sum()),
        "cells": flat[:: max(1, flat.size // 17)].tolist(),
    }


def numbers_of(site, layouts):
    """Everything that layouts answer."""
    found = {
        "draws": layouts.draws,
        "effective": layouts.effective_draws,
        "segments": table(layouts.segments()),
        "bearings": table(layouts.bearings()),
        "zones": table(layouts.zone_chances()),
        "pairs": raster(layouts.same_zone_chances()),
        "evidence": table(layouts.evidence_log(draws=50)),
        "lines": table(layouts.likely_lines()),
        "metal": table(layouts.metal_lines().table()),
        "courses": table(layouts.metal_lines().courses),
        "flags": table(layouts.flags()),
        "spots": table(layouts.best_spots(2, radius_m=0.3, depth_m=0.4).table()),
        "map": raster(layouts.strike_map(radius_m=0.3, depth_m=0.4, cell_m=0.5).p),
    }
    if site.dig_ids:
        found |= {
            "assess": table(layouts.assess().table()),
            "strikes": table(layouts.strikes()),
            "rank": table(layouts.rank().table()),
            "conflicts": table(layouts.tree_conflicts()),
            "probes": table(layouts.plan_probes(n=2, options=ut.ProbeOptions(shift_m=1.0, always=True)).table()),
            "valves": table(layouts.plan_station_tests().table()),
            "sweeps": table(layouts.plan_sweeps(n=2).table()),
            "sweeps_bits": table(layouts.plan_sweeps(n=2, options=ut.SweepOptions(by="information")).table()),
            "shifted": [[round(x, 9) for x in dig_places(dig)] for dig in layouts.shifted()],
            "dig_map": raster(layouts.dig_maps()[0].p),
        }
    return found


def dig_places(dig):
    """Every number of a dig's place."""
    if hasattr(dig, "x_m"):
        return [dig.x_m, dig.y_m]
    return np.asarray(getattr(dig, "path_m", None) if hasattr(dig, "path_m") else dig.outline_m, dtype=float).ravel()


def words_of(block):
    """What a block of the sheet says, line by line."""
    match block:
        case Heading() | Text() | Alarm():
            return [block.text]
        case Items():
            return [": ".join(part for part in item if part) for item in block.items]
        case Table():
            rows = [[row.text] if isinstance(row, Group) else row for row in block.rows]
            return [" | ".join(row) for row in (block.head, *rows)]
        case Map():
            return ["(map)"]
        case Details():
            return ["(detail maps)"]
        case Together():
            return [line for inner in block.blocks for line in words_of(inner)]


def sheet_of(layouts):
    """Every word of the sheet for the crew."""
    blocks = content(plan_of(layouts), annex=True)
    return "\n".join(line for block in blocks for line in words_of(block)) + "\n"


def differences(old, new, place=""):
    """Where two runs differ."""
    if isinstance(old, dict) and isinstance(new, dict):
        for key in sorted(old.keys() | new.keys()):
            yield from differences(old.get(key, "absent"), new.get(key, "absent"), f"{place}.{key}")
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for k, pair in enumerate(zip(old, new, strict=True)):
            yield from differences(*pair, f"{place}[{k}]")
    elif isinstance(old, float) and isinstance(new, int | float):
        if not math.isclose(old, new, rel_tol=1e-9, abs_tol=1e-12):
            yield f"{place}: {old!r}, now {new!r}"
    elif old != new:
        yield f"{place}: {old!r}, now {new!r}"


@pytest.mark.parametrize("name", CASES)
def test_the_golden_run_is_unchanged(name):
    site = CASES[name]()
    layouts = ut.sample_layouts(site, draws=200, seed=11, accept_unconverged=True)
    run = json.loads(json.dumps(numbers_of(site, layouts)))
    sheet = sheet_of(layouts)
    if os.environ.get("UNDERTURF_GOLDEN") == "write":
        (GOLDEN / f"{name}.json").write_text(json.dumps(run, indent=0) + "\n", encoding="utf-8")
        (GOLDEN / f"{name}.txt").write_text(sheet, encoding="utf-8")
    old = json.loads((GOLDEN / f"{name}.json").read_text(encoding="utf-8"))
    found = list(differences(old, run))
    assert not found, f"{len(found)} differences\n" + "\n".join(found[:20])
    assert sheet == (GOLDEN / f"{name}.txt").read_text(encoding="utf-8")


def test_a_number_a_word_and_a_row_that_differ_are_seen():
    frame = pd.DataFrame({"p": [0.25, 0.5], "id": ["a", "b"]})
    old = {"table": table(frame), "map": raster(np.eye(3))}
    assert not list(differences(old, old))
    for other in (frame.replace(0.5, 0.5 + 1e-6), frame.replace("b", "c"), frame.head(1)):
        assert list(differences(old, {"table": table(other), "map": raster(np.eye(3))}))
    assert list(differences(old, {"table": table(frame)}))
