"""The comparison of benches with their baseline (``benches/ratios.py``), on times made up for it."""

import importlib.util
from pathlib import Path

import pytest

BENCHES = Path(__file__).resolve().parents[2] / "benches"


@pytest.fixture(scope="module")
def ratios():
    spec = importlib.util.spec_from_file_location("ratios", BENCHES / "ratios.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_a_bench_is_slower_from_a_fifth_on_whatever_the_machine(ratios):
    then = ratios.ratios({"reference/map": 100.0, "map/hole": 1000.0, "map/pit": 2000.0}, ("map",))
    assert then == {"map/hole": 10.0, "map/pit": 20.0}
    # Twice as slow a machine, and one bench slower by 19 %, the other by 21 %.
    now = ratios.ratios({"reference/map": 200.0, "map/hole": 2380.0, "map/pit": 4840.0}, ("map",))
    assert ratios.slower(then, now) == ["map/pit"]
    marked = [line.split()[0] for line in ratios.told(then, now).splitlines() if "SLOWER" in line]
    assert marked == ["map/pit"]
    assert ratios.slower(then, then) == []


def test_benches_of_one_side_alone_are_named(ratios):
    said = ratios.told({"map/gone": 1.0}, {"map/fresh": 1.0})
    assert "map/gone: in the baseline, not measured now" in said
    assert "new" in said
    with pytest.raises(SystemExit, match="nothing of site"):
        ratios.ratios({"reference/map": 1.0, "map/hole": 2.0}, ("site",))
