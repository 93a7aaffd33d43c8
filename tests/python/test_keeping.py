"""Layouts as one file: the same answers after reading, whatever happens while it is written, whatever is read."""

from __future__ import annotations

import copy
import pickle
import random
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import h5py
import numpy as np
import pytest

import underturf as ut
from underturf.keeping import form, writing
from underturf.keeping.reading import content

PAGE = Path(ut.__file__).parents[1] / "docs" / "layouts-file.md"


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A file of each sort of layouts, with the layouts: independent, with metal, from chains."""
    folder = tmp_path_factory.mktemp("kept")
    found = {}
    for name, draws in (("bare", 60), ("metal", 60), ("unlabelled", 60)):
        layouts = ut.sample_layouts(ut.read_site(ut.example(name)), draws=draws, seed=7, accept_unconverged=True)
        found[name] = layouts, layouts.save(folder / f"{name}.nc")
    return found


def answers(layouts):
    """What is asked of layouts, as things that compare."""
    smap = layouts.strike_map(radius_m=0.3, depth_m=0.4, cell_m=0.5)
    tables = [
        layouts.segments(),
        layouts.bearings(),
        layouts.diagnostics(),
        layouts.proposals(),
        layouts.zone_chances(),
    ]
    return [
        layouts.assess()._fields(),
        layouts.rank()._fields(),
        layouts.metal_lines()._fields(),
        [table.to_json(double_precision=15) for table in tables],
        [array.tobytes() for array in (smap.p, smap.mcse, smap.upper)],
        layouts.strike_probability().tobytes(),
        (layouts.warnings, layouts.converged, layouts.effective_draws, layouts.run_info, layouts.effort_spent),
    ]


@pytest.mark.parametrize("name", ["bare", "metal", "unlabelled"])
def test_layouts_read_again_answer_the_same_bits(kept, name):
    layouts, path = kept[name]
    again = ut.load(path)
    assert (again.site, again.seed, again.draws) == (layouts.site, layouts.seed, layouts.draws)
    assert repr(answers(again)) == repr(answers(layouts))
    if not layouts.site.probes.empty or name == "bare":
        return
    assert repr(again.plan_probes(n=1)._fields()) == repr(layouts.plan_probes(n=1)._fields())


def test_a_moved_bit_is_seen(kept, tmp_path):
    layouts, path = kept["bare"]
    with h5py.File(copied(path, tmp_path), "a") as file:
        shares = file["layouts/ways/share"]
        shares[...] = shares[...] * (1 - 1e-12)
    assert repr(answers(ut.load(tmp_path / path.name))) != repr(answers(layouts))


def copied(path, folder):
    (folder / path.name).write_bytes(path.read_bytes())
    return folder / path.name


def test_others_read_the_file_without_us(kept):
    import arviz_stats
    import xarray

    layouts, path = kept["unlabelled"]
    with xarray.open_datatree(path, engine="h5netcdf") as tree:
        with np.errstate(invalid="ignore"):  # ArviZ's own, on a quantity that never changes
            summary = arviz_stats.summary(tree, round_to="none")
        assert list(summary.index) == [name.replace("/", "|") for name in layouts.diagnostics()["quantity"]]
        assert np.allclose(summary["mean"].astype(float), layouts.diagnostics()["mean"], rtol=1e-9)
        pieces, count = tree["layouts/pieces"], tree["layouts/draws/pieces"]
        of_draw = np.repeat(np.arange(layouts.draws), count.to_numpy())
        table = layouts.segments()
        assert (of_draw == table["draw"]).all()
        assert (pieces["x1_m"].to_numpy() == table["x1_m"]).all()
        assert count.attrs["sample_dimension"] == "pieces"
        meanings = pieces["class"].attrs["flag_meanings"].split()
        assert [meanings[code] for code in pieces["class"].to_numpy()] == list(table["class"])
        assert tree.attrs["cautions"].split("\n") == list(ut.CAUTIONS)
        assert ut.Site.from_json(tree.attrs["site"]) == layouts.site
        assert tree.attrs["underturf_version"] == ut.__version__


def test_independent_draws_are_one_chain(kept):
    import arviz_stats
    import xarray

    layouts, path = kept["bare"]
    with xarray.open_datatree(path, engine="h5netcdf") as tree:
        assert dict(tree["posterior"].sizes) == {"chain": 1, "draw": 60}
        summary = arviz_stats.summary(tree, kind="stats", round_to="none")
    chances = dict(zip(layouts.site.dig_ids, layouts.strike_probability(form="general"), strict=True))
    for name, chance in chances.items():
        assert float(summary.loc[f"strike chance of {name}", "mean"]) == pytest.approx(chance, abs=1e-12)


@pytest.mark.parametrize("again", [copy.copy, copy.deepcopy, lambda it: pickle.loads(pickle.dumps(it))])  # noqa: S301
def test_everything_copies_and_pickles(kept, again):
    layouts, _ = kept["metal"]
    assert again(layouts).strike_probability().tobytes() == layouts.strike_probability().tobytes()
    results = [layouts.assess(), layouts.rank(), layouts.metal_lines(), layouts.plan_probes(n=1), layouts.plan_sweeps()]
    results += [layouts.best_spots(1, radius_m=0.3, depth_m=0.4), layouts.plan_station_tests(), layouts.site]
    for result in results:
        assert again(result) == result, type(result)
    for smap in (layouts.strike_map(radius_m=0.3, depth_m=0.4, cell_m=1.0), *layouts.dig_maps(cell_m=0.5)):
        other = again(smap)
        assert (other.p.tobytes(), other.what, other.shift) == (smap.p.tobytes(), smap.what, smap.shift)


def test_results_are_read_by_the_same_call(kept, tmp_path):
    ranking = kept["bare"][0].rank()
    for ending in ("json", "csv"):
        assert ut.load(ranking.save(tmp_path / f"r.{ending}")) == ranking
    (tmp_path / "other.json").write_text('{"format": "something/1"}')
    with pytest.raises(ut.ArgumentError, match="'something/1'"):
        ut.load(tmp_path / "other.json")


def changed(path, folder, **attributes):
    with h5py.File(copied(path, folder), "a") as file:
        file.attrs.update(attributes)
    return folder / path.name


def test_a_newer_version_is_refused_with_what_to_do(kept, tmp_path):
    newer = changed(kept["bare"][1], tmp_path, format="underturf-layouts/2", underturf_version="9.1.0")
    with pytest.raises(ut.ArgumentError, match=r"underturf 9\.1\.0 .*reads up to 'underturf-layouts/1'.*Install"):
        ut.load(newer)
    with pytest.raises(ut.ArgumentError, match="its format is 'other/1'"):
        ut.load(changed(kept["bare"][1], tmp_path, format="other/1"))


def test_an_older_version_is_brought_up_step_by_step(monkeypatch):
    monkeypatch.setattr(form, "VERSION", 3)
    steps = {1: lambda columns: columns | {"b": columns["a"]}, 2: lambda columns: columns | {"c": columns["b"]}}
    monkeypatch.setattr(form, "MIGRATIONS", steps)
    assert form.brought_up(Path("x.nc"), "underturf-layouts/1", "0.1.0", {"a": 1}) == {"a": 1, "b": 1, "c": 1}
    assert form.brought_up(Path("x.nc"), "underturf-layouts/2", "0.1.0", {"b": 2}) == {"b": 2, "c": 2}


def test_every_version_has_its_migration():
    assert sorted(form.MIGRATIONS) == list(range(1, form.VERSION))


def test_broken_files_are_refused_in_one_sentence(kept, tmp_path):
    """Cut, spoilt at a thousand bytes, and emptied; none is taken for sound that answers something else."""
    layouts, path = kept["bare"]
    whole, dice = path.read_bytes(), random.Random(1)  # noqa: S311
    sound = layouts.strike_probability().tobytes()
    broken, refused = tmp_path / "broken.nc", 0
    spoilt = [whole[: len(whole) * k // 8] for k in range(8)]
    for _ in range(40):
        bytes_ = bytearray(whole)
        for at in dice.sample(range(len(whole)), 25):
            bytes_[at] ^= 0xFF
        spoilt.append(bytes(bytes_))
    for text in spoilt:
        broken.write_bytes(text)
        try:
            again = ut.load(broken)
        except ut.ArgumentError as error:
            assert "broken.nc" in str(error)  # noqa: PT017
            refused += 1
        else:
            assert again.strike_probability().tobytes() == sound
    assert refused > 40


@pytest.mark.parametrize("column", ["draws/bearing", "runs/kind", "ways/share", "about/seed"])
def test_a_missing_column_is_named(kept, tmp_path, column):
    path = copied(kept["bare"][1], tmp_path)
    with h5py.File(path, "a") as file:
        del file[f"layouts/{column}"]
    with pytest.raises(ut.ArgumentError, match=f"{column} is missing"):
        ut.load(path)


def test_names_of_files_are_checked_before_any_work(kept, tmp_path):
    layouts, _ = kept["bare"]
    with pytest.raises(ut.ArgumentError, match=r"\.nc"):
        layouts.save(tmp_path / "layouts.h5")
    with pytest.raises(ut.ArgumentError, match=r"\.nc"):
        ut.load(tmp_path / "layouts.h5")
    with pytest.raises(FileNotFoundError):
        ut.load(tmp_path / "none.nc")


def test_a_failure_while_writing_leaves_the_old_file(kept, tmp_path, monkeypatch):
    layouts, path = kept["bare"]
    old = copied(path, tmp_path)
    before, put, groups = old.read_bytes(), writing.put_group, []

    def full(file, group, columns, every):
        groups.append(group)
        if len(groups) == 7:
            raise OSError(28, "No space left on device")
        put(file, group, columns, every)

    monkeypatch.setattr(writing, "put_group", full)
    with pytest.raises(OSError, match="No space"):
        layouts.save(old)
    assert old.read_bytes() == before
    assert list(tmp_path.iterdir()) == [old]


WRITER = """
import sys, underturf as ut
layouts = ut.load(sys.argv[1])
print("ready", flush=True)
while True:
    layouts.save(sys.argv[2])
"""


@pytest.mark.slow
def test_a_kill_at_any_moment_leaves_a_whole_file(kept, tmp_path):
    """n = 6 kills at other moments of a loop that does nothing but write."""
    layouts, path = kept["bare"]
    target = copied(path, tmp_path)
    sound = layouts.strike_probability().tobytes()
    for k in range(6):
        command = [sys.executable, "-c", WRITER, path, target]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as writer:
            assert writer.stdout.readline() == "ready\n"
            time.sleep(0.05 + 0.13 * k)
            writer.send_signal(signal.SIGKILL)
        assert ut.load(target).strike_probability().tobytes() == sound


def test_the_page_tells_every_column(kept):
    page = PAGE.read_text(encoding="utf-8")
    told = {
        f"{group}/{name}"
        for group, row in re.findall(r"^\| `(\w+)` \|[^|]*\| (.*) \|$", page, re.MULTILINE)
        for name in re.findall(r"`(\w+)`", row)
    }
    found = set().union(*(content(path)[1] for _, path in kept.values()))
    assert len(found) > 110
    assert found - told == set()
    supply = {name for name in told if name.startswith("supply_")}
    assert told - found <= supply, "only sites with a metal supply have those"
