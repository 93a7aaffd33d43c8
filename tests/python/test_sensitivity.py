"""Which settings matter: what cannot matter has no effect at all, what must has the effect of its closed form."""

from __future__ import annotations

import pickle

import numpy as np
import pytest
from matplotlib.figure import Figure

import underturf as ut
from underturf.methods.sensitivity import CAN_MATTER, settings_that_can_matter

YARD = {
    "format": "underturf-site/2",
    "units": "m",
    "name": "Yard (invented)",
    "boundary": [[0, 0], [12, 0], [12, 9], [0, 9]],
    "heads": [
        {"id": "a", "x": 1, "y": 1, "zone": "1"},
        {"id": "b", "x": 6, "y": 1, "zone": "1"},
        {"id": "c", "x": 11, "y": 1, "zone": "1"},
    ],
    "digs": [
        {"id": "post", "x": 3.5, "y": 1, "radius": 0.15, "depth": 0.6},
        {"id": "bed", "x": 6, "y": 6, "radius": 0.5, "depth": 0.6},
        {"id": "deep", "x": 6, "y": 6, "radius": 0.5, "depth": 0.9},
        {"id": "shallow", "x": 3.5, "y": 1, "radius": 0.15, "depth": 0.3},
    ],
}  # fmt: skip

FEW = {"draws": 60, "replicates": 3}


@pytest.fixture(scope="module")
def yard():
    return ut.sample_layouts(ut.Site.from_dict(YARD), draws=60, seed=5)


@pytest.fixture(scope="module")
def effects(yard):
    moved = {
        "unmapped_density_per_m": (0.005, 0.02),
        "metal_lines": (1, 4),
        "tape_sd_m": (0.01, 0.05),
        "lateral_cover_m": (0.15, 0.45),
    }
    return yard.sensitivity(options=ut.SensitivityOptions(settings=moved, **FEW))


def rows_of(effects, setting):
    return {row.dig: row for row in effects if row.setting == setting}


@pytest.mark.parametrize("setting", ["metal_lines", "tape_sd_m"])
def test_a_setting_that_cannot_matter_has_no_effect_at_all(effects, setting):
    """No metal is told of on this site, and tapes measure stakes. With common random numbers nothing moves, not a bit."""
    for row in rows_of(effects, setting).values():
        assert (row.change_low, row.change_high, row.swing) == (0.0, 0.0, 0.0)
        assert not row.distinct


def test_unmapped_lines_move_chances_as_their_closed_form_says(effects):
    """1 - p is (1 - p of layouts) exp(-mu), and mu is proportional to the density (python/docs/model.md, 2.13 and 3.5)."""
    rows = rows_of(effects, "unmapped_density_per_m")
    for row in rows.values():
        assert row.distinct
        # The factor is the same for every draw, so the mean keeps it: rounding alone is left.
        half, double = (1 - row.p_low) / (1 - row.p_strike), (1 - row.p_high) / (1 - row.p_strike)
        assert half**-2 == pytest.approx(double, rel=1e-9)
        assert row.change_low < 0 < row.change_high
    mu = {name: -np.log((1 - row.p_high) / (1 - row.p_strike)) for name, row in rows.items()}
    # A disc meets 2 r L0 F(depth) of them, r widened by half a pipe of a few centimetres at most; F by a normal cover.
    share = 0.8944 / 1.0  # F(0.6): a cover of 0.35 m with a spread of 0.2 m lies above 0.6 m with 0.106
    assert mu["bed"] == pytest.approx(2 * 0.5 * 0.01 * share, rel=0.1)
    assert mu["post"] / mu["bed"] == pytest.approx(0.15 / 0.5, rel=0.12)
    assert mu["deep"] > mu["bed"]


def test_deeper_pipe_is_struck_less_and_that_is_no_noise(effects):
    row = rows_of(effects, "lateral_cover_m")["shallow"]
    assert row.p_strike > row.p_high
    assert row.distinct


def test_values_between_are_halfway_to_the_nearer_end(yard):
    effects = yard.sensitivity(
        "post",
        options=ut.SensitivityOptions(settings=["lateral_cover_m", "third_branch_factor"], draws=20, replicates=2),
    )
    cover, branch = (rows_of(effects, name)["post"] for name in ("lateral_cover_m", "third_branch_factor"))
    assert (cover.low, cover.high) == (0.14, 0.32)  # 0.23, and 0.05 is nearer than 1.5
    assert (branch.low, branch.high) == (0.505, None)  # at its greatest: moved inward alone
    assert (branch.p_high, branch.change_high) == (None, None)


def test_noise_is_seldom_called_an_effect(yard):
    """Planted: the same setting with another seed each time is noise alone, and errors must cover it.

    Differences of independent samples, by the same rule: of 40 about 2 pass. More than 8 do once in ten thousand.
    """
    site, names = yard.site, [f"d{k}" for k in range(40)]
    digs = [ut.Hole(1 + 0.25 * k, 1.2 + 0.02 * k, 0.2, 0.5, id=name) for k, name in enumerate(names)]
    draws = [ut.sample_layouts(site, draws=60, seed=seed).strike_probability(digs) for seed in range(100, 108)]
    changes = np.array(draws[:4]) - np.array(draws[4:])
    mean, error = changes.mean(axis=0), changes.std(axis=0, ddof=1) / 2
    assert (np.abs(mean) > 3.182 * error).sum() <= 8
    assert (np.abs(mean) > 0.1 * error).sum() >= 8  # and a rule without errors would call most of them effects


def test_effects_keep_their_order_and_come_back_from_a_file(effects, tmp_path):
    table = effects.table()
    assert table["dig"].drop_duplicates().tolist() == ["post", "bed", "deep", "shallow"]
    for _, part in table.groupby("dig"):
        keys = list(zip(~part["distinct"], -part["swing"], strict=True))
        assert keys == sorted(keys)
    for ending in ("json", "csv"):
        assert ut.Sensitivity.load(effects.save(tmp_path / f"effects.{ending}")) == effects
    assert pickle.loads(pickle.dumps(effects)) == effects  # noqa: S301  our own
    assert effects.draws == 180
    assert "A probability is not a clearance" in str(effects)


def test_the_same_seed_gives_the_same_effects(yard):
    options = ut.SensitivityOptions(settings=["align_gain"], draws=20, replicates=2)
    assert yard.sensitivity(options=options) == yard.sensitivity(options=options, run=ut.Running(threads=1))


def test_settings_are_chosen_by_the_evidence_of_the_site(yard):
    assert set(settings_that_can_matter(yard.site)) == {*CAN_MATTER[""], *CAN_MATTER["heads"]}
    metal = settings_that_can_matter(ut.read_site(ut.example("metal")))
    assert {"metal_stray_share", "metal_false_mark", "metal_lines", "obstacle_clearance_m", "paving_cover_m"} <= set(
        metal
    )
    assert "zone_fill" in settings_that_can_matter(ut.read_site(ut.example("unlabelled")))
    known = set(ut.settings_table().index)
    assert {name for names in CAN_MATTER.values() for name in names} <= known


def test_a_caller_is_told_of_progress_and_can_stop(yard):
    told = []
    options = ut.SensitivityOptions(settings=["align_gain"], draws=20, replicates=2)
    yard.sensitivity(options=options, run=ut.Running(progress=lambda done, total: told.append(done / total)))
    assert told == sorted(told)
    assert told[-1] == 1.0

    def stop(done, total):
        raise InterruptedError("enough")

    with pytest.raises(InterruptedError, match="enough"):
        yard.sensitivity(options=options, run=ut.Running(progress=stop))


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"settings": ["lateral_cover"]}, "there is no setting 'lateral_cover'; did you mean"),
        ({"settings": {"align_gain": (3, 1)}}, "a low and a higher value in 0 to 100"),
        ({"settings": {"align_gain": 3}}, "a low and a high value"),
        ({"settings": {"header_share": (0.1, 1.5)}}, "a low and a higher value in 0 to 1"),
        ({"share": 0}, "share is 0; it must be above 0 and at most 1"),
        ({"replicates": 1}, "replicates is 1; it must be at least 2"),
        ({"draws": 1}, "draws is 1"),
    ],
)  # fmt: skip
def test_wrong_options_are_refused_by_name(given, said):
    with pytest.raises(ut.ArgumentError, match=said):
        ut.SensitivityOptions(**given)


def test_values_that_do_not_go_together_are_refused_by_the_document(yard):
    with pytest.raises(ut.SiteError, match="share"):
        yard.sensitivity(
            "post", options=ut.SensitivityOptions(settings={"header_share": (0.1, 0.9)}, draws=20, replicates=2)
        )


def test_no_digs_have_no_effects(yard):
    options = ut.SensitivityOptions(settings=["align_gain"], draws=20, replicates=2)
    assert len(yard.sensitivity([], options=options)) == 0


def test_a_picture_shows_what_moves_and_names_the_rest(effects):
    axes = effects.plot(Figure(figsize=(7, 4)).add_subplot(), dig="bed")
    shown = [label.get_text() for label in axes.get_yticklabels()]
    assert shown[0] == "unmapped_density_per_m"
    assert "metal_lines" not in " ".join(shown)
    assert "no effect at all: metal_lines, tape_sd_m" in axes.get_xlabel()
    assert "A probability is not a clearance" in " ".join(axes.get_xlabel().split())
    with pytest.raises(ut.ArgumentError, match="there is no dig 'bedd'"):
        effects.plot(dig="bedd")
