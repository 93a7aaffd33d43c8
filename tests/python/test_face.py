"""The Python face: shapes, types, errors, reproducibility. Numbers are checked in Rust."""

import multiprocessing
import os
import pickle
import signal
import subprocess
import sys
import threading
import time

import numpy as np
import pytest

import underturf as ut

HOLES = [ut.Hole(4.0, 3.0, 0.3, 0.4, id="a"), ut.PostHole(6.0, 3.0, 0.3, 0.6)]


@pytest.fixture(scope="module")
def site():
    return ut.read_site(ut.example("green"))


@pytest.fixture(scope="module")
def layouts(site):
    return ut.sample_layouts(site, draws=200, seed=7)


@pytest.mark.parametrize("name", ut.examples())
def test_examples_are_in_order_and_survive_a_round_trip(name, tmp_path):
    site = ut.read_site(ut.example(name))
    assert site.dig_ids
    for suffix in (".toml", ".json"):
        site.write(tmp_path / f"copy{suffix}")
        assert ut.read_site(tmp_path / f"copy{suffix}") == site
    assert ut.Site.from_dict(site.to_dict()) == site
    assert pickle.loads(pickle.dumps(site)) == site  # noqa: S301 - our own bytes


def test_every_fault_is_reported_with_its_place():
    head = {"id": "a", "x": 1.0, "y": 1.0, "zone": "1"}
    document = {
        "format": "underturf-site/2",
        "units": "yards",
        "heads": [head, {**head, "x": "far"}],
        "digs": [{"x": 1, "y": 1, "radius": -1, "depth": 0.3}],
        "sprinklers": [],
    }
    with pytest.raises(ut.SiteError) as caught:
        ut.Site.from_dict(document)
    places = [place for place, _ in caught.value.faults]
    assert {"units", "heads[1].x", "digs[0].radius", "sprinklers"} <= set(places)
    assert pickle.loads(pickle.dumps(caught.value)).faults == caught.value.faults  # noqa: S301


def test_chances_have_shape_type_and_range(layouts):
    p = layouts.strike_probability(HOLES)
    assert p.shape == (2,)
    assert p.dtype == np.float64
    assert ((p > 0) & (p < 1)).all()
    assert layouts.strike_probability([]).shape == (0,)
    assert layouts.strike_probability().shape == (len(layouts.site.dig_ids),)


def test_both_forms_say_which_they_are(layouts):
    general = layouts.strikes(HOLES, form="general")
    exact = layouts.strikes(HOLES, form="determinant")
    assert set(general["form"]) == {"general"}
    assert set(exact["form"]) == {"determinant"}
    assert (exact["mcse"] == 0).all()
    assert (abs(general["p_strike"] - exact["p_strike"]) < 6 * general["mcse"] + 0.005).all()
    with pytest.raises(ut.ArgumentError, match="'auto', 'general' or 'determinant'"):
        layouts.strikes(HOLES, form="guess")


def test_what_is_not_assessed_is_nan_and_said_in_words(layouts):
    assessment = layouts.assess()
    table = assessment.table()
    assert table["p_electric"].isna().all()
    assert table["p_gas"].notna().all()
    assert table["p_lateral"].notna().all()
    assert "electric" in assessment.not_assessed
    assert "electric" not in assessment[0].p_by_class
    text = ut.text_table(assessment)
    assert "assessed classes and unmapped lines only" in text
    assert "not assessed" in text
    assert " 0 %" not in text
    assert "safe" not in text.lower()
    with pytest.raises(ut.ArgumentError, match="not assessed"):
        layouts.strike_map(classes="electric")


def test_a_dig_in_a_tolerance_zone_gets_no_verdict_by_probability(layouts):
    table = layouts.assess().table()
    inside = table[table["in_tolerance_zone"]]
    assert len(inside) >= 1
    assert inside["verdict"].str.contains("one-call centre").all()


def test_same_seed_same_bits_for_any_number_of_threads(site):
    one, two = (ut.sample_layouts(site, 100, 3, run=ut.Running(threads=k)) for k in (1, 2))
    assert one.segments().equals(two.segments())
    assert (one.strike_probability() == two.strike_probability()).all()
    assert not one.segments().equals(ut.sample_layouts(site, 100, 4).segments())


def test_segments_name_their_columns(layouts):
    table = layouts.segments()
    assert {"draw", "zone", "class", "kind", "x0_m", "y0_m", "x1_m", "y1_m", "cover_m"} <= set(table.columns)
    assert table["draw"].nunique() == layouts.draws
    assert set(table["class"].unique()) <= set(ut.CLASSES)


def test_a_zone_named_as_the_mark_keeps_its_column():
    document = ut.read_site(ut.example("green")).to_dict()
    for head in document["heads"]:
        head["zone"] = head["zone"].replace("1", "converged")
    for box in document["valve_boxes"]:
        box["zones"] = [zone.replace("1", "converged") for zone in box["zones"]]
    chances = ut.sample_layouts(ut.Site.from_dict(document), 20, 7).zone_chances()
    assert list(chances.columns).count("converged") == 2
    assert chances["converged"].iloc[0, 0] > 0.9


def test_maps_have_their_orientation(layouts):
    smap = layouts.strike_map(0.3, 0.4, 0.5)
    assert smap.p.shape == smap.mcse.shape == smap.upper.shape == (smap.y_m.size, smap.x_m.size)
    assert smap.y_m[0] > smap.y_m[-1]
    known = smap.p[~np.isnan(smap.p)]
    assert known.size > 100
    assert ((known > 0) & (known < 1)).all()
    dataset = smap.to_xarray()
    assert dataset["p_strike"].dims == ("y", "x")


def test_the_pinned_calls_work_as_they_are_written_down(tmp_path):
    """The calls of the design's section 6, word by word."""
    site = ut.read_site(ut.example("green"))
    assert ut.Site.from_dict(site.to_dict()) == site
    site.write(tmp_path / "green.toml")
    layouts = ut.sample_layouts(site, draws=200, seed=7)
    pieces = ["draw", "zone", "class", "kind", "x0_m", "y0_m", "x1_m", "y1_m", "cover_m"]
    assert set(pieces) <= set(layouts.segments().columns)
    digs = [
        ut.Hole(x_m=4.0, y_m=3.0, radius_m=0.3, depth_m=0.4, id=None),
        ut.PostHole(x_m=6.0, y_m=3.0, diameter_m=0.3, depth_m=0.6),
        ut.Pit(outline_m=[[1, 1], [2, 1], [2, 2]], depth_m=0.4),
        ut.Trench(path_m=[[2, 6], [4, 6]], width_m=0.2, depth_m=0.4),
    ]
    assert layouts.strike_probability(digs).shape == (4,)
    assert {"p_strike", "mcse", "verdict"} <= set(layouts.assess(digs).table().columns)
    smap = layouts.strike_map(radius_m=0.6, depth_m=0.4, cell_m=0.5, classes=None)
    assert smap.p.shape == smap.mcse.shape == (smap.y_m.size, smap.x_m.size)
    assert len(layouts.dig_maps(digs, reach_m=1.5, cell_m=0.5)) == 4
    assert isinstance(layouts.rank(digs), ut.Ranking)
    assert len(layouts.best_spots(2, 0.45, 0.4)) == len(layouts.best_spots(n=2, radius_m=0.45, depth_m=0.4)) == 2
    assert isinstance(layouts.plan_probes(digs, n=8, radius_m=0.25), ut.ProbePlan)
    assert isinstance(layouts.plan_station_tests(), ut.ValvePlan)
    assert isinstance(layouts.plan_sweeps(digs, n=3), ut.SweepPlan)
    assert site.with_probe(4.0, 3.0, 0.25, 0.45, found=True) != site
    assert site.with_station_test("3", ["h21", "h22"]) != site


def test_misaligned_and_strided_outlines_are_read_rightly(layouts):
    ring = np.array([[3.0, 3.0], [4.0, 3.0], [4.0, 4.0], [3.0, 4.0]])
    buffer = np.zeros(ring.nbytes + 1, np.uint8)
    misaligned = buffer[1:].view(np.float64).reshape(4, 2)
    misaligned[:] = ring
    strided = np.repeat(ring, 2, axis=0)[::2]
    p = layouts.strike_probability([ut.Pit(outline, 0.4) for outline in (ring, misaligned, strided)])
    assert p[0] == p[1] == p[2]


@pytest.mark.parametrize(
    "dig",
    [ut.Hole(np.nan, 0, 0.3, 0.4), ut.Hole(0, 0, 0, 0.4), ut.Hole(0, 0, 0.3, -1), "no such dig", 7],
)
def test_bad_digs_are_refused(layouts, dig):
    with pytest.raises(ut.DigError):
        layouts.strike_probability([dig])


def test_fewer_heads_than_zones_are_answered_with_a_word_on_them():
    document = {
        "format": "underturf-site/2",
        "units": "m",
        "heads": [{"id": "a", "x": 1.0, "y": 1.0}, {"id": "b", "x": 5.0, "y": 1.0}],
        "valve_boxes": [{"id": "box", "x": 3.0, "y": 0.5, "zones": ["1", "2", "third"]}],
    }
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=50)
    said = [
        warning for warning in layouts.warnings if 'Zones "1", "2", "third" have valves of valve box box' in warning
    ]
    assert len(said) == 1


def test_a_panic_is_an_ordinary_exception(hooks):
    with pytest.raises(ut.InternalError, match="asked for by a test"):
        hooks._panic_for_test()


def test_interrupt_stops_a_long_run_soon(hooks):
    # A shell starts what runs in the background deaf to Ctrl-C; Python then has no handler of its own.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    start = []

    def interrupt():
        time.sleep(0.4)
        start.append(time.perf_counter())
        os.kill(os.getpid(), signal.SIGINT)

    threading.Thread(target=interrupt).start()
    try:
        with pytest.raises(KeyboardInterrupt):
            hooks._spin_for_test(20.0)
    finally:
        signal.signal(signal.SIGINT, before)
    assert time.perf_counter() - start[0] < 1.0  # 0.2 s on a quiet machine; the rest is for a loaded one


def test_interrupt_stops_sampling(site):
    def stop(done, total):
        if done:
            raise RuntimeError("enough")

    with pytest.raises(RuntimeError, match="enough"):
        ut.sample_layouts(site, 200_000, 1, run=ut.Running(progress=stop))


def child(queue):
    site = ut.read_site(ut.example("green"))
    queue.put(float(ut.sample_layouts(site, 20, 1).strike_probability()[0]))


@pytest.mark.parametrize("method", ["fork", "spawn"])
@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_child_processes_get_the_same_answer(site, method):
    here = float(ut.sample_layouts(site, 20, 1).strike_probability()[0])
    context = multiprocessing.get_context(method)
    if method == "spawn":
        code = (
            "import underturf as ut; s = ut.read_site(ut.example('green')); "
            "print(repr(float(ut.sample_layouts(s, 20, 1).strike_probability()[0])))"
        )
        out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
        assert float(out.stdout) == here
        return
    queue = context.Queue()
    process = context.Process(target=child, args=(queue,))
    process.start()
    assert queue.get(timeout=60) == here
    process.join(10)


def test_commands(tmp_path):
    run = [sys.executable, "-m", "underturf"]
    check = subprocess.run([*run, "check", str(ut.example("terrace"))], capture_output=True, text=True, check=True)
    assert "in order" in check.stdout
    demo = subprocess.run(
        [*run, "demo", "--draws", "50", "--out", str(tmp_path)], capture_output=True, text=True, check=True
    )
    assert "one-call centre" in demo.stdout
    pictures = list(tmp_path.glob("*.png"))
    assert len(pictures) >= 3
    assert all(picture.stat().st_size > 20_000 for picture in pictures)
