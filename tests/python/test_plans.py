"""Plans of probes and of station tests through the Python face; the figures are checked in Rust."""

import numpy as np
import pytest
from mistakes import with_options

import underturf as ut


@pytest.fixture(scope="module")
def site():
    return ut.read_site(ut.example("green"))


@pytest.fixture(scope="module")
def layouts(site):
    return ut.sample_layouts(site, draws=600, seed=7)


@pytest.fixture(scope="module")
def plan(layouts):
    return layouts.plan_probes(n=3, options=ut.ProbeOptions(objective="variance", cell_m=0.4, always=True))


def test_a_plan_carries_what_its_reader_must_know(plan):
    notes, cautions, plan = plan.notes, plan.cautions, plan.table()
    assert plan.index.tolist() == [1, 2, 3]
    assert plan.index.name == "probe"
    assert cautions == ut.CAUTIONS
    assert {"converged", "decides", "worth"} <= set(plan.columns)
    assert any("lamp-post" in note for note in notes)
    words = " ".join([*plan["decides"], *notes])
    assert "safe" not in words
    assert " 0 %" not in words
    assert "100 %" not in words
    assert plan["azimuth_deg"].isna().all()
    assert ((plan["p_found"] > 0) & (plan["p_found"] < 1)).all()
    assert (plan["gain_mcse"] >= 0).all()


def test_outcomes_balance_and_agree_with_assess(layouts, plan):
    outcomes, plan = plan.outcomes(), plan.table()
    assessed = layouts.assess().table()
    for probe, rows in outcomes.groupby("probe"):
        found = plan.loc[probe, "p_found"]
        mean = found * rows["p_if_found"] + (1 - found) * rows["p_if_clear"]
        np.testing.assert_allclose(mean, rows["p_now"], atol=1e-9)
        np.testing.assert_allclose(rows["p_now"], assessed.loc[rows["dig"], "p_strike"], atol=1e-9)
        for outcome in ("found", "clear"):
            changed = rows.loc[rows[f"verdict_if_{outcome}"] != rows["verdict_now"], "dig"].tolist()
            told = [*plan.loc[probe, f"changes_if_{outcome}"], *plan.loc[probe, f"unsure_if_{outcome}"]]
            assert sorted(told) == sorted(changed)
            assert all(name in plan.loc[probe, "decides"] for name in changed[:6])


def test_verdicts_that_change_by_less_than_their_error_are_unsure(site):
    """Forty draws: what is called a change lies on both sides of a limit by more than the errors, the rest is unsure."""
    few = ut.sample_layouts(site, draws=40, seed=7)
    plan = few.plan_probes(n=6, options=ut.ProbeOptions(objective="variance", cell_m=0.4, always=True))
    outcomes, plan = plan.outcomes(), plan.table()
    assert (outcomes[["mcse_now", "mcse_if_found", "mcse_if_clear"]].to_numpy() > 0).all()
    seen = {"sure": 0, "unsure": 0}
    for row in outcomes.to_dict("records"):
        for outcome in ("found", "clear"):
            if row[f"verdict_if_{outcome}"] == row["verdict_now"]:
                continue
            crossed = any(
                (row["p_now"] - limit) * (row[f"p_if_{outcome}"] - limit) < 0
                and abs(row["p_now"] - limit) > row["mcse_now"]
                and abs(row[f"p_if_{outcome}"] - limit) > row[f"mcse_if_{outcome}"]
                for limit in (0.05, 0.5)
            )
            sure, unsure = (plan.loc[row["probe"], f"{kind}_if_{outcome}"] for kind in ("changes", "unsure"))
            assert (row["dig"] in sure, row["dig"] in unsure) == (crossed, not crossed)
            seen["sure" if crossed else "unsure"] += 1
    # Planted fault: verdicts compared without errors have no unsure ones.
    assert seen["unsure"] > 0
    assert seen["sure"] > 0
    assert any("perhaps," in words for words in plan["decides"])


def test_a_report_is_entered_and_the_next_plan_keeps_off_it(site, plan):
    x, y = plan[0].x_m, plan[0].y_m
    told = site.with_probe(x, y, 0.25, plan.depth_m, found=False)
    again = (
        ut.sample_layouts(told, draws=300, seed=7)
        .plan_probes(n=2, options=ut.ProbeOptions(objective="variance", cell_m=0.4, always=True))
        .table()
    )
    assert (np.hypot(again["x_m"] - x, again["y_m"] - y) >= 0.49).all()


def test_a_dear_probe_is_not_planned(layouts):
    none = layouts.plan_probes(n=2, options=ut.ProbeOptions(cell_m=0.5, probe_cost=1e6))
    assert len(none) == 0
    assert none.outcomes().empty
    assert any("no clearance" in note for note in none.notes)


def test_slits_have_a_bearing_and_rods_none(layouts):
    slits = layouts.plan_probes(
        n=2, options=ut.ProbeOptions(objective="variance", slit_m=(1.0, 0.2), cell_m=0.5, always=True)
    )
    assert slits.table()["azimuth_deg"].notna().all()
    assert slits.tool == "slit"
    rods = layouts.plan_probes(n=1, options=ut.ProbeOptions(objective="variance", cell_m=0.5, always=True, tool="rod"))
    assert rods.tool == "rod"
    assert rods.p_detect == 0.7


def test_digs_that_may_shift_are_decided_among_places(layouts):
    plan = layouts.plan_probes(n=3, options=ut.ProbeOptions(cell_m=0.5, shift_m=1.5, always=True))
    assert plan.shift_m == 1.5
    outcomes, plan = plan.outcomes(), plan.table()
    now = {hole.id: hole for hole in layouts.shifted(reach_m=1.5)}
    drawn = {dig["id"]: dig for dig in layouts.site.to_dict()["digs"]}
    for row in outcomes.itertuples():
        to, at = now[row.dig], drawn[row.dig]
        assert np.isclose(row.p_now, layouts.strike_probability(to), atol=1e-9).all()
        if isinstance(to, ut.Hole):
            np.testing.assert_allclose([row.dx_now_m, row.dy_now_m], [to.x_m - at["x"], to.y_m - at["y"]], atol=1e-9)
        for outcome in ("found", "clear"):
            assert np.hypot(getattr(row, f"dx_if_{outcome}_m"), getattr(row, f"dy_if_{outcome}_m")) <= 1.5 + 1e-9
    for outcome in ("found", "clear"):
        moved = (outcomes[f"dx_if_{outcome}_m"] != outcomes["dx_now_m"]) | (
            outcomes[f"dy_if_{outcome}_m"] != outcomes["dy_now_m"]
        )
        changed = moved | (outcomes[f"verdict_if_{outcome}"] != outcomes["verdict_now"])
        for probe, rows in outcomes[changed].groupby("probe"):
            told = [*plan.loc[probe, f"changes_if_{outcome}"], *plan.loc[probe, f"unsure_if_{outcome}"]]
            assert sorted(told) == sorted(rows["dig"])
            assert set(rows.loc[moved.loc[rows.index], "dig"]) <= set(plan.loc[probe, f"changes_if_{outcome}"])


@pytest.mark.parametrize(
    "wrong",
    [
        {"n": 0},
        {"radius_m": -1.0},
        {"objective": "luck"},
        {"slit_m": (0.2, 1.0)},
        {"slit_m": (1.0, 0.2), "tool": "rod"},
        {"careful": 2.0},
        {"p_detect": 0.0},
        {"reach_m": float("nan")},
        {"shift_m": -1.0},
        {"weights": {"steam": 1.0}},
    ],
)
def test_wrong_arguments_are_named(layouts, wrong):
    with pytest.raises(ut.ArgumentError):
        layouts.plan_probes(**with_options(ut.ProbeOptions, **wrong))


def test_known_zones_leave_no_valve_to_run(layouts):
    tests = layouts.plan_station_tests()
    assert len(tests) == 0
    assert "known or settled" in tests.notes[0]
    assert any("Run every zone" in note for note in tests.notes)
    with pytest.raises(ut.ArgumentError, match="by is"):
        layouts.plan_station_tests(by="luck")


def test_nameless_valves_of_one_box_are_one_row():
    site = ut.read_site(ut.example("unlabelled"))
    tests = ut.sample_layouts(site, draws=400, seed=7).plan_station_tests().table()
    assert tests.index.is_unique
    assert len(tests) > 0
    assert tests["information_bits"].is_monotonic_decreasing
    assert (tests["gain"] >= 0).all()
    assert (tests["variance_gain"] >= 0).all()


def test_shifted_digs_are_the_same_digs_where_their_best_shifts_lead(layouts: ut.Layouts) -> None:
    tree = ut.Tree("large", vigour="aggressive", caliper_m=0.05)
    digs = [
        ut.Hole(8.0, 6.5, 0.3, 0.4, id="hole", tree=tree),
        ut.Trench([(6, 6), (8, 6), (8, 7)], 0.3, 0.4, id="trench", method="machine"),
        ut.Pit([(9, 6), (10, 6), (9.5, 7)], 0.4, id="pit"),
    ]
    moved = layouts.shifted(digs, reach_m=1.0)
    maps = layouts.dig_maps(digs, reach_m=1.0)
    assert [type(dig) for dig in moved] == [type(dig) for dig in digs]
    assert any(smap.shift is not None for smap in maps)
    for dig, there, smap in zip(digs, moved, maps, strict=True):
        dx, dy = (0.0, 0.0) if smap.shift is None else (smap.shift.dx_m, smap.shift.dy_m)
        assert (there.id, there.depth_m, there.method) == (dig.id, dig.depth_m, dig.method)
        assert (there.tree is None) == (dig.tree is None)
        if isinstance(dig, ut.Hole) and isinstance(there, ut.Hole):
            assert there.tree is not None
            assert (there.x_m - dig.x_m, there.y_m - dig.y_m) == pytest.approx((dx, dy))
            assert (there.radius_m, there.tree.caliper_m, there.tree.vigour) == (0.3, 0.05, "aggressive")
        before, after = (np.array(d._entry().get("path") or d._entry().get("outline") or [0]) for d in (dig, there))
        if before.ndim == 2:
            assert after - before == pytest.approx(np.broadcast_to((dx, dy), before.shape))
