"""Decisions through the Python face: assess, rank, best spots. Numbers are checked in Rust and here by plain numpy."""

import itertools
import subprocess
import sys

import numpy as np
import pandas as pd
import pytest
from mistakes import with_options

import underturf as ut

INCH = 0.0254


@pytest.fixture(scope="module")
def site():
    return ut.read_site(ut.example("green"))


@pytest.fixture(scope="module")
def layouts(site):
    return ut.sample_layouts(site, draws=400, seed=7)


@pytest.fixture(scope="module")
def assessment(layouts):
    return layouts.assess()


@pytest.fixture(scope="module")
def table(assessment):
    return assessment.table()


def carries_cautions(result):
    assert result.cautions == ut.CAUTIONS
    table = result.table()
    assert "converged" in table.columns
    words = " ".join(str(cell) for cell in table.to_numpy().ravel())
    assert "safe" not in words.lower()


def test_loss_is_the_weighted_sum_of_chances(layouts, assessment, table):
    carries_cautions(assessment)
    weights = ut.default_weights()
    machine = np.where(table.index == "drain", weights["machine"], 1.0)
    plain = sum(weights[name] * table[f"p_{name}"].fillna(0.0) for name in ut.CLASSES)
    np.testing.assert_allclose(table["loss"], machine * plain, rtol=1e-9, atol=1e-8)  # chances of 0 read 1e-12
    assert (table["loss_mcse"] > 0).all()
    heavy = layouts.assess(weights={"lateral": 20.0, "unknown": 0}).table()
    plain = plain + 18.0 * table["p_lateral"] - weights["unknown"] * table["p_unknown"]
    np.testing.assert_allclose(heavy["loss"], machine * plain, rtol=1e-9, atol=1e-8)


def test_a_machine_strikes_as_often_and_costs_more(layouts):
    hand, machine = (ut.Hole(4, 3, 0.3, 0.4, id=method, method=method) for method in ("hand", "machine"))
    found = layouts.assess([hand, machine]).table()
    assert found.loc["hand", "p_strike"] == found.loc["machine", "p_strike"]
    assert found.loc["machine", "loss"] == pytest.approx(2 * found.loc["hand", "loss"])


def test_a_reach_is_the_users(layouts, assessment, table):
    near, far = (layouts.assess(reach_m=reach, cell_m=0.1).table() for reach in (0.3, 3.0))
    assert (near["shift_m"].dropna() <= 0.3 + 1e-9).all()
    assert (far["shift_m"] > 1.5).any()
    both = far["loss_shifted"].notna() & table["loss_shifted"].notna()
    assert (far["loss_shifted"] <= table["loss_shifted"])[both].all()
    # Planted fault: a reach that is ignored gives the same table three times.
    assert not far["loss_shifted"].equals(table["loss_shifted"])
    assert assessment.reach_m == 1.5
    with pytest.raises(ut.ArgumentError, match="reach_m"):
        layouts.assess(reach_m=-1.0)
    with pytest.raises(ut.ArgumentError, match="cell_m"):
        layouts.assess(reach_m=0.5, cell_m=0.6)


def test_every_fault_of_weights_is_named_in_one_error(layouts):
    with pytest.raises(ut.ArgumentError) as caught:
        layouts.assess(weights={"steam": 1.0, "gas": -2.0, "lateral": float("nan")})
    assert all(word in str(caught.value) for word in ('"steam"', "gas = -2", "lateral = NaN"))
    for wrong in ({"gas": "much"}, {"gas": True}, [("gas", 1.0)]):
        with pytest.raises(ut.ArgumentError):
            layouts.rank(weights=wrong)
    with pytest.raises(ut.ArgumentError, match="lateral_5ft, lateral_10ft"):
        layouts.assess(rules=ut.TreeRules(setback="12ft"))


def test_nearest_line_is_median_and_band_over_draws(layouts, table):
    """Against shapely-free numpy: distance of a hole's edge to every piece of every draw."""
    pieces = layouts.segments()
    x, y, radius = 2.4, 4.2, 0.45  # the crabapple
    a = pieces[["x0_m", "y0_m"]].to_numpy()
    along = pieces[["x1_m", "y1_m"]].to_numpy() - a
    length2 = np.maximum((along**2).sum(axis=1), 1e-18)
    t = np.clip((((x, y) - a) * along).sum(axis=1) / length2, 0, 1)
    gap = np.hypot(*((x, y) - a - t[:, None] * along).T) - radius - pieces["diameter_m"] / 2
    pieces = pieces.assign(gap=np.maximum(gap, 0))
    nearest = pieces.loc[pieces.groupby("draw")["gap"].idxmin()]
    row = table.loc["crabapple"]
    expected = np.quantile(nearest["gap"], [0.05, 0.5, 0.95])
    np.testing.assert_allclose(row[["nearest_m_q05", "nearest_m", "nearest_m_q95"]].to_list(), expected, atol=1e-6)
    assert row["nearest_class"] == nearest["class"].mode()[0]
    assert row["nearest_share"] == pytest.approx((nearest["class"] == row["nearest_class"]).mean(), abs=0.01)


def test_nameless_valves_do_not_lose_by_split_votes():
    site = ut.read_site(ut.example("unlabelled"))
    found = ut.sample_layouts(site, draws=200, seed=7).assess().table()
    lateral = found[found["nearest_class"] == "lateral"]
    assert len(lateral)
    assert (lateral["nearest_share"] > 0.4).all()
    assert not lateral["nearest_zone"].str.contains(r"valve \d").any()


def test_shifts_gain_in_loss_and_never_in_chance(table):
    moved = table[table["shift_m"].notna()]
    assert len(moved)
    free = moved[~moved["in_tolerance_zone"]]
    assert (free["loss_shifted"] < free["loss"]).all()
    assert (free["p_shifted"] <= free["p_strike"] + 4 * free["mcse"] + 0.01).all()


def test_rank_orders_by_loss_and_leaves_tolerance_zones_last(layouts, table):
    carries_cautions(layouts.rank())
    ranking = layouts.rank().table()
    free = ranking[~ranking["in_tolerance_zone"]]
    assert free["loss"].is_monotonic_increasing
    assert set(ranking.index) == set(table.index)
    pd.testing.assert_series_equal(ranking["loss"].sort_index(), table["loss"].sort_index())
    assert ranking["in_tolerance_zone"].iloc[-1]
    assert "call the one-call centre" in ranking["note"].iloc[-1]
    np.testing.assert_allclose(free["gap_to_next"].iloc[:-1], np.diff(free["loss"]))
    by_p = layouts.rank(by="p").table()
    assert by_p.loc[~by_p["in_tolerance_zone"], "p_strike"].is_monotonic_increasing
    with pytest.raises(ut.ArgumentError, match="'loss' or 'p'"):
        layouts.rank(by="luck")
    assert len(layouts.rank([])) == 0
    with pytest.raises(ut.DigError, match="oak: two digs have the same name"):
        layouts.rank([ut.Hole(4, 3, 0.3, 0.4, id="oak"), ut.Hole(5, 3, 0.3, 0.4, id="oak")])


def test_digs_that_cannot_be_dug_where_they_are_drawn_are_told_and_last(layouts):
    """Into the building, beside it, and over the boundary."""
    digs = [
        ut.Hole(10.9, 12.0, 0.2, 0.4, id="wall"),  # the building begins at x = 11, the boundary at x = 0
        ut.Hole(10.9, 12.0, 0.1, 0.4, id="beside"),
        ut.Pit([(-0.5, 1), (0.5, 1), (0.5, 2)], 0.4, id="fence"),
    ]
    assessment = layouts.assess(digs)
    table = assessment.table()
    assert table["blocked_by"].tolist() == ["obstacles[0]", "", "boundary"]
    ranking = layouts.rank(digs).table()
    assert ranking.index[0] == "beside"
    assert ranking["rank"].tolist() == [1, 2, 2]
    assert ranking.loc["fence", "note"] == "reaches over the boundary as it is drawn: last for that alone"
    assert "wall: meets obstacles[0] as it is drawn; beside that: " in str(assessment)


def test_paired_errors_are_smaller_than_those_of_two_samples(layouts):
    """Holes that share most of their ground: their difference is far better known than either."""
    digs = [ut.Hole(6.7, 4.2, 0.45, 0.4, id="a"), ut.Hole(6.7, 4.25, 0.45, 0.4, id="b")]
    ranking = layouts.rank(digs).table()
    alone = np.hypot(*ranking["loss_mcse"])
    assert ranking["gap_mcse"].iloc[0] < 0.5 * alone


def test_ties_are_named_and_more_draws_part_what_they_can(site):
    few = ut.sample_layouts(site, draws=40, seed=7)
    twins = [ut.Hole(6.7, 2.0, 0.45, 0.4, id=name) for name in ("left", "right")]
    whole = few.rank(twins, until_distinct=True)
    tied = whole.table()
    assert tied["tied_with"].to_list() == [["right"], ["left"]]
    assert np.isinf(tied["draws_needed"].iloc[0])
    assert "evidence, not draws" in tied["note"].iloc[0]
    assert whole.draws == 40
    digs = [ut.Hole(2.2, 6.0, 0.3, 0.4, id="a"), ut.Hole(6.6, 6.0, 0.3, 0.4, id="b")]
    first = few.rank(digs).table()
    assert first["tied_with"].iloc[0]
    on, again = (few.rank(digs, until_distinct=True, longest_draws=2560) for _ in range(2))
    assert on == again
    assert 40 < on.draws <= 2560
    assert on[0].gap_mcse < first["gap_mcse"].iloc[0]


def test_best_spots_equal_brute_force_over_maps(layouts):
    spots = layouts.best_spots(2, 0.45, 0.4, options=ut.SpotOptions(spacing_m=4.0, cell_m=1.0))
    carries_cautions(spots)
    weights = ut.default_weights()
    loss, smap = 0.0, None
    for name in layouts.assessed:
        smap = layouts.strike_map(0.45, 0.4, 1.0, name)
        loss = loss + weights[name] * smap.p
    walk = np.hypot(
        np.maximum(0, np.abs(smap.x_m - 14.0) - 0.6)[None, :], np.maximum(0, np.abs(smap.y_m - 4.0) - 4.0)[:, None]
    )  # distance to the paving of the example, where nothing is planted
    rows, cols = np.nonzero(~np.isnan(loss) & (walk >= 0.45))
    places = np.stack([smap.x_m[cols], smap.y_m[rows]], axis=1)
    costs = loss[rows, cols]
    least = min(
        costs[a] + costs[b]
        for a, b in itertools.combinations(range(len(costs)), 2)
        if np.hypot(*(places[a] - places[b])) >= 4.0 - 1e-9
    )
    assert spots.total_loss == pytest.approx(least)
    assert spots.exact
    assert spots.gap == pytest.approx(0, abs=1e-9)
    assert spots.candidates == len(costs)
    assert np.hypot(spots[0].x_m - spots[1].x_m, spots[0].y_m - spots[1].y_m) >= 4.0 - 1e-9


def test_spots_keep_off_what_they_must(layouts):
    corner = [[0.5, 0.5], [19.0, 0.5], [19.0, 7.5], [0.5, 7.5]]
    spots = layouts.best_spots(
        5,
        0.45,
        0.4,
        tree="large",
        options=ut.SpotOptions(
            spacing_m=2.5, setback_limit=0.9, from_building_m=1.5, from_boundary_m=0.7, within=corner
        ),
    )
    assert spots.lower_bound <= spots.total_loss + 1e-12
    spots = spots.table()
    assert (spots["p_setback"] <= 0.9).all()
    assert (spots["x_m"].between(1.15, 19.2 - 1.15)).all()
    assert (spots["y_m"] >= 1.15 - 1e-9).all()
    beside = np.maximum(11.0 - spots["x_m"], 0)
    assert (np.hypot(beside, np.maximum(8.0 - spots["y_m"], 0)) >= 1.95 - 1e-9).all()
    assert (abs(spots["x_m"] - 17.2) >= 5 * 0.3048 - 1e-9).all()  # the gas mark, by the setback
    assert (spots["setback_loss"] > 0).all()
    xy = spots[["x_m", "y_m"]].to_numpy()
    apart = np.hypot(*(xy[:, None] - xy[None]).T)[~np.eye(5, dtype=bool)]
    assert apart.min() >= 2.5 - 1e-9
    assert (spots["p_upper95"] > spots["p_strike"] + 0.001).all()
    small = layouts.best_spots(5, 0.45, 0.4, tree="small", options=ut.SpotOptions(spacing_m=2.5, within=corner)).table()
    assert (small["setback_loss"] == 0).all()


def test_spots_that_do_not_fit_are_refused_with_how_many_do(layouts):
    tiny = [[1.0, 1.0], [4.0, 1.0], [4.0, 4.0], [1.0, 4.0]]
    with pytest.raises(
        ut.ArgumentError, match=r"9 spots do not fit: no more than 4(?s:.*)In Python: SpotOptions takes"
    ):
        layouts.best_spots(9, 0.4, 0.4, options=ut.SpotOptions(spacing_m=1.9, cell_m=0.1, within=tiny))
    for wrong, words in (
        ({"spacing_m": -1}, "spacing_m"),
        ({"gap_m": float("nan")}, "gap_m"),
        ({"setback_limit": 2}, "setback_limit"),
        ({"cell_m": -1}, "cell_m"),
        ({"within": [[0, 0], [2, 2], [2, 0], [0, 2]]}, "within"),
        ({"setback": "12ft"}, "no setback"),
        ({"tree": "tall"}, "tree"),
        ({"from_boundary_m": float("nan")}, "from_boundary_m"),
        ({"method": "blasting"}, "method"),
    ):
        with pytest.raises((ut.ArgumentError, ut.DigError), match=words):
            layouts.best_spots(1, 0.4, 0.4, **with_options(ut.SpotOptions, **wrong))


def test_threads_do_not_change_a_decision(layouts):
    for call in (
        lambda threads: layouts.rank(run=ut.Running(threads=threads)),
        lambda threads: layouts.best_spots(
            3, 0.45, 0.4, run=ut.Running(threads=threads), options=ut.SpotOptions(cell_m=0.5)
        ),
    ):
        assert call(1) == call(2)
    one, two = (layouts.tree_conflicts(run=ut.Running(threads=threads)) for threads in (1, 2))
    pd.testing.assert_frame_equal(one, two)


def test_long_searches_stop_when_asked(layouts):
    def stop(done, total):
        raise RuntimeError("enough")

    with pytest.raises(RuntimeError, match="enough"):
        layouts.best_spots(
            30, 0.2, 0.4, run=ut.Running(progress=stop), options=ut.SpotOptions(spacing_m=2.4, cell_m=0.05)
        )


def test_the_text_and_the_command_show_loss_and_band(assessment):
    text = ut.text_table(assessment)
    assert text == str(assessment)
    assert "loss" in text
    assert " to " in text
    assert "within its setback (lateral_5ft)" in text
    assert " 0 %" not in text
    assert "safe" not in text.lower()
    run = [sys.executable, "-m", "underturf", "assess", str(ut.example("green")), "--draws", "60"]
    shown = subprocess.run(run, capture_output=True, text=True, check=True).stdout
    assert "loss" in shown
    assert "nearest likely line" in shown
