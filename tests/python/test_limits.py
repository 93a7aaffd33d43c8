"""Limits of calls: effort counted in work, memory asked for before work; both refused with a typed error that says what to do."""

from __future__ import annotations

import pickle
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import underturf as ut
from underturf import _core
from underturf.__main__ import main

GREEN = ut.read_site(ut.example("green"))


@pytest.fixture(scope="module")
def layouts() -> ut.Layouts:
    return ut.sample_layouts(GREEN, draws=50, seed=7)


def ringed() -> ut.Site:
    """Return the example with clear slits all round a valve box: no pipe is left a way out."""
    document = GREEN.to_dict()
    x, y = 15.4, 7.2
    ring = [[x - 0.4, y - 0.4], [x + 0.4, y - 0.4], [x + 0.4, y + 0.4], [x - 0.4, y + 0.4], [x - 0.4, y - 0.3]]
    document["probes"] = [
        {"x": 6.7, "y": 2.0, "radius": 0.25, "depth": 0.4, "found": False},
        {"path": ring, "width": 0.2, "depth": 0.9, "found": False, "p_detect": 1.0, "tool": "slit"},
    ]
    return ut.Site.from_dict(document)


def test_a_call_that_is_given_up_names_the_probe_and_survives_pickling() -> None:
    """Catches an error that loses its attributes on the way, and a diagnosis that names the wrong probe."""
    with pytest.raises(ut.EffortError) as caught:
        ut.sample_layouts(ringed(), draws=50, seed=1, effort=1e-6)
    error = pickle.loads(pickle.dumps(caught.value))  # noqa: S301 - pickled on this line
    assert isinstance(error, ut.UnderturfError)
    assert not isinstance(error, ut.ConvergenceError)
    assert error.effort == pytest.approx(1e-6)
    place, chance = error.probes[0]
    assert place == 1
    assert 0 <= chance < 0.05
    assert "probes[1] at (15, 6.8) found nothing" in str(error)
    assert "1 in " in str(error)
    assert "Check where these probes were dug" in str(error)


def test_answers_do_not_depend_on_the_effort_allowed() -> None:
    """Catches a limit that changes what is drawn."""
    few, many = (ut.sample_layouts(GREEN, draws=30, seed=2, effort=e).segments() for e in (1, 50))
    assert few.equals(many)


@pytest.mark.parametrize("effort", [0, -1, float("nan"), float("inf"), "much"])
def test_efforts_that_are_none_are_refused(effort: object) -> None:
    with pytest.raises(ut.ArgumentError, match="effort"):
        ut.sample_layouts(GREEN, draws=2, effort=effort)  # type: ignore[arg-type]


@pytest.mark.parametrize("limit", [0, -2, float("nan"), "4GB"])
def test_memory_limits_that_are_none_are_refused(limit: object) -> None:
    with pytest.raises(ut.ArgumentError, match="memory_limit_gb"):
        ut.sample_layouts(GREEN, draws=2, run=ut.Running(memory_limit_gb=limit))  # type: ignore[arg-type]


def test_draws_that_do_not_fit_are_refused_before_work() -> None:
    """Catches a check after the work: fifty million draws would take hours."""
    with pytest.raises(ut.MemoryLimitError) as caught:
        ut.sample_layouts(GREEN, draws=50_000_000, run=ut.Running(memory_limit_gb=4))
    error = pickle.loads(pickle.dumps(caught.value))  # noqa: S301 - pickled on this line
    assert error.asked == 50_000_000
    assert 100_000 < error.fits < 1_000_000
    assert error.needs_gb > 100
    assert error.limit_gb == 4
    assert str(error).startswith("draws = 50,000,000 needs about ")
    assert "fit in 4.0 GB" in str(error)


CALLS: dict[str, Callable[[ut.Layouts, Path], object]] = {
    "strike_map": lambda of, _: of.strike_map(cell_m=0.02, run=ut.Running(memory_limit_gb=0.001)),
    "dig_maps": lambda of, _: of.dig_maps(reach_m=50, cell_m=1e-6, run=ut.Running(memory_limit_gb=1)),
    "assess": lambda of, _: of.assess(reach_m=50, cell_m=1e-6, run=ut.Running(memory_limit_gb=1)),
    "best_spots": lambda of, _: of.best_spots(
        1, 0.3, 0.4, run=ut.Running(memory_limit_gb=0.001), options=ut.SpotOptions(cell_m=0.03)
    ),
    "plan_probes": lambda of, _: of.plan_probes(
        n=1, run=ut.Running(memory_limit_gb=0.001), options=ut.ProbeOptions(cell_m=0.001)
    ),
    "crew_sheet": lambda of, at: of.crew_sheet(at / "sheet.html", run=ut.Running(memory_limit_gb=1e-5)),
}


@pytest.mark.parametrize("name", CALLS)
def test_every_call_that_may_take_much_memory_has_a_limit(name: str, layouts: ut.Layouts, tmp_path: Path) -> None:
    """Catches an argument that is accepted and ignored, and a limit that outlives its call."""
    with pytest.raises(ut.MemoryLimitError, match="memory_limit_gb"):
        CALLS[name](layouts, tmp_path)
    assert _core.set_memory_limit(None) is None
    assert layouts.strike_map(cell_m=0.5).p.size > 100


def test_the_command_line_has_both_limits(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "ringed.toml"
    ringed().write(path)
    assert main(["assess", str(path), "--draws", "20", "--effort", "1e-6"]) == 1
    said = capsys.readouterr().err
    assert "probes[1]" in said
    assert "--effort" in said
    assert main(["assess", str(path), "--draws", "900000", "--memory-limit-gb", "0.01"]) == 1
    assert "--memory-limit-gb" in capsys.readouterr().err


MEASURE = """
import sys, underturf as ut
def peak():
    with open("/proc/self/status") as file:
        return int(next(line for line in file if line.startswith("VmHWM")).split()[1]) * 1024
site = ut.read_site(ut.example("green"))
layouts = ut.sample_layouts(site, draws=10, seed=1)
calls = {
    "draws": lambda **limit: ut.sample_layouts(site, draws=12000, seed=1, run=ut.Running(**limit)),
    "cells": lambda **limit: layouts.strike_map(cell_m=0.012, run=ut.Running(**limit)),
}
call = calls[sys.argv[1]]
try:
    call(memory_limit_gb=1e-4)
except ut.MemoryLimitError as error:
    wanted = error.needs_gb * 1e9
before = peak()
kept = call()
print(wanted / (peak() - before))
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="peak memory is read from /proc")
@pytest.mark.parametrize("what", ["draws", "cells"])
def test_estimates_are_within_a_factor_of_two_of_what_is_taken(what: str) -> None:
    """In a process of its own. Catches estimates that refuse what would fit or let pass what would not."""
    done = subprocess.run([sys.executable, "-c", MEASURE, what], capture_output=True, text=True, check=True)
    assert 0.5 < float(done.stdout) < 2, done.stdout
