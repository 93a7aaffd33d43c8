"""The sheet for the crew: how lengths are carried, likely lines, and places that come back from their tapes."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd
from sheets import plan_of

import underturf as ut
from underturf.crew.lengths import tape_text, width_text
from underturf.crew.sweeps import sweep_points
from underturf.directions import azimuth_deg, direction


def test_feet_and_inches_are_carried():
    inch = 0.0254
    assert tape_text(11.99 * inch, "ft") == "1' 0\""
    assert tape_text(11.74 * inch, "ft") == "0' 11½\""
    assert tape_text(23.76 * inch, "ft") == "2' 0\""
    # Planted fault: inches rounded on their own, feet cut off, give twelve inches.
    assert divmod(11.99, 12)[0] == 0
    assert round(11.99 % 12 * 2) / 2 == 12
    for halves in range(-100, 2000, 7):
        text = tape_text(halves * inch / 2, "ft")
        feet, inches = re.fullmatch(r"-?(\d+)' (\d+½?)\"", text).groups()
        whole = float(inches.replace("½", ".5"))
        assert whole < 12
        assert int(feet) * 12 + whole == abs(halves) / 2
        assert text.startswith("-") == (halves < 0)


def test_metres_to_the_centimetre_and_doubt_rounded_up():
    assert [tape_text(x, "m") for x in (1.005001, 0.0, -0.001, 12.3456)] == ["1.01", "0.00", "0.00", "12.35"]
    assert [width_text(x, "m") for x in (0.231, 0.23, 0.2301)] == ["0.24", "0.23", "0.24"]
    assert width_text(0.0254, "ft") == '1"'


def test_likely_lines_carry_the_cautions(sampled):
    lines = sampled["green"].likely_lines()
    assert lines.attrs["cautions"] == list(ut.CAUTIONS)
    assert lines["converged"].all()


def test_likely_lines_follow_the_segments(sampled):
    """Each station's chance and band, counted again over the table of segments."""
    layouts = sampled["green"]
    lines, segments = layouts.likely_lines(), layouts.segments()
    assert set(lines["class"]) >= {"lateral", "mainline"}
    checked = 0
    for row in lines.iloc[::9].itertuples():
        angle = np.radians(90 - row.azimuth_deg)
        along, left = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
        part = segments[segments["class"] == lines.loc[row.Index, "class"]]
        a = part[["x0_m", "y0_m"]].to_numpy() - [row.x_m, row.y_m]
        b = part[["x1_m", "y1_m"]].to_numpy() - [row.x_m, row.y_m]
        s, t = a @ along, b @ along
        crosses = (s * t <= 0) & (s != t)
        with np.errstate(invalid="ignore", divide="ignore"):
            share = np.where(crosses, s / (s - t), 0)
        aside = a @ left + share * ((b - a) @ left)
        turned = np.abs((b - a) @ left) / np.maximum(np.linalg.norm(b - a, axis=1), 1e-12) <= np.sin(np.pi / 6)
        near = crosses & turned & (np.abs(aside) <= row.half_width_m + 1e-6)
        held = part["draw"].to_numpy()[near]
        # 90 % of the draws that have it lie within the band; a draw may have two lines there.
        assert len(set(held)) >= 0.9 * row.p_here * layouts.draws - 2
        checked += 1
    assert checked >= 5


def test_every_place_of_the_sheet_comes_back_from_its_tapes(sampled):
    """Trilateration written out here, on the rounded tapes of the sheet."""
    plan = plan_of(sampled["terrace"])
    places = [(p.x_m, p.y_m) for p in plan.points] + [(s.x_m, s.y_m) for s in plan.stakes]
    places += [(p.x_m, p.y_m) for find in plan.finds for p in find.points]
    places += [(p.x_m, p.y_m) for p in sweep_points(plan.sweeps)]
    fixed = np.array([[x, y] for _, x, y in plan.fixed.points])
    back = 0
    for place, tie in zip(places, plan.fixed.ties.itertuples(), strict=True):
        if pd.isna(tie.pair):
            assert tie.refused
            continue
        a, b, length = plan.fixed.pairs[int(tie.pair)]
        along = (fixed[b] - fixed[a]) / length
        x = (tie.to_a_m**2 - tie.to_b_m**2 + length**2) / (2 * length)
        y = np.sqrt(max(tie.to_a_m**2 - x**2, 0)) * (1 if tie.left_m > 0 else -1)
        found = fixed[a] + x * along + y * np.array([-along[1], along[0]])
        assert np.hypot(*(found - place)) < 1e-6
        assert np.hypot(x - tie.along_m, y - tie.left_m) < 1e-6
        assert 30 <= tie.crossing_deg <= 120
        back += 1
    assert back > 0.8 * len(places)


def test_directions_are_those_of_the_ground():
    assert [direction(azimuth) for azimuth in (0, 67.5, 45, 90, 180, 270)] == [
        "north",
        "east-north-east",
        "north-east",
        "east",
        "south",
        "west",
    ]
    # The plan's y axis points west: what lies up the plan is west.
    assert direction(azimuth_deg(0.0, 1.0, 270.0)) == "west"
