"""Puts the flags of simulated detector walks on lines by general-purpose clustering and robust regression.

    cargo test --release --test statistical walk_write_sites -- --ignored
    python -m venv VENV && VENV/bin/pip install scikit-learn
    VENV/bin/python benches/cluster_flags.py [--write] [--only WAY]

Reads target/walk/sites_{given,not_given}.json. Three ways: DBSCAN on positions; sequential RANSAC lines; DBSCAN first and RANSAC
lines within each cluster. Where names are given, each way is also run on the flags of each name alone, and names are also taken
as they are. Settings are chosen on the very sites that are scored: all are run on the first 25, the best of each way on all.
A flag is right when it is called stray and is, or when its line, matched one to one by most flags, is its own. `--write` keeps
the figures in benches/cluster_flags.json; `--only` runs and replaces the ways whose name contains the word. Time: ten minutes on an idle machine.
"""

import itertools
import json
import sys
import warnings
from pathlib import Path

import numpy as np
import scipy
import sklearn
from scipy.optimize import linear_sum_assignment
from sklearn.cluster import DBSCAN
from sklearn.exceptions import UndefinedMetricWarning
from sklearn.linear_model import RANSACRegressor

ROOT = Path(__file__).resolve().parent.parent
STRAY = -1
FIRST = 25
EPS_M = (1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 7.0, 10.0, 14.0, 20.0)
LEAST = (2, 3, 4)
THRESHOLDS_M = (0.3, 0.5)
INLIERS = (3, 4)
TURNS = np.radians([0.0, 90.0])  # a regression of y on x finds no line along y: both ways are tried


def right(labels: np.ndarray, truth: np.ndarray) -> int:
    """Flags put right by the best one-to-one matching."""
    found, lines = np.unique(labels[labels >= 0]), np.unique(truth[truth >= 0])
    overlap = np.array([[np.sum((labels == f) & (truth == t)) for t in lines] for f in found])
    matched = overlap[linear_sum_assignment(-overlap)].sum() if overlap.size else 0
    return int(matched + np.sum((labels == STRAY) & (truth == STRAY)))


def dbscan(xy: np.ndarray, eps: float, least: int) -> np.ndarray:
    if len(xy) == 0:
        return np.zeros(0, dtype=int)
    return DBSCAN(eps=eps, min_samples=least).fit_predict(xy)


def ransac_line(xy: np.ndarray, threshold: float) -> np.ndarray:
    """Flags on the line that most flags lie near."""
    best = np.zeros(len(xy), dtype=bool)
    for turn in TURNS:
        c, s = np.cos(turn), np.sin(turn)
        p = xy @ np.array([[c, -s], [s, c]])
        try:
            fit = RANSACRegressor(
                min_samples=2, residual_threshold=threshold, max_trials=60, random_state=7
            ).fit(p[:, :1], p[:, 1])
        except ValueError:
            continue
        if fit.inlier_mask_.sum() > best.sum():
            best = fit.inlier_mask_
    return best


def ransac(xy: np.ndarray, threshold: float, least: int) -> np.ndarray:
    """One line after another is taken away, until none holds enough flags."""
    labels, left, k = np.full(len(xy), STRAY), np.arange(len(xy)), 0
    while len(left) >= max(least, 3):
        on = ransac_line(xy[left], threshold)
        if on.sum() < least:
            break
        labels[left[on]] = k
        left, k = left[~on], k + 1
    return labels


def within(parts: np.ndarray, xy: np.ndarray, way) -> np.ndarray:
    """A way within each part; parts below zero stay stray."""
    labels, k = np.full(len(xy), STRAY), 0
    for part in np.unique(parts[parts >= 0]):
        of = np.flatnonzero(parts == part)
        inner = way(xy[of])
        labels[of] = np.where(inner >= 0, inner + k, STRAY)
        k += inner.max(initial=-1) + 1
    return labels


def ways(named: bool):
    """Name, settings and function from positions and names to labels."""
    for eps, least in itertools.product(EPS_M, LEAST):
        settings = {"eps_m": eps, "least": least}
        yield "dbscan", settings, lambda xy, n, e=eps, m=least: dbscan(xy, e, m)
        if named:
            # largest cluster of each name, so that a name stays one line
            yield "names, dbscan within", settings, lambda xy, n, e=eps, m=least: largest(n, xy, e, m)
    for threshold, least in itertools.product(THRESHOLDS_M, INLIERS):
        settings = {"threshold_m": threshold, "least": least}
        yield "sequential ransac", settings, lambda xy, n, t=threshold, m=least: ransac(xy, t, m)
        for eps in (3.0, 4.0):
            yield (
                "dbscan, then ransac",
                settings | {"eps_m": eps},
                lambda xy, n, e=eps, t=threshold, m=least: within(
                    dbscan(xy, e, 2), xy, lambda p: ransac(p, t, m)
                ),
            )
        if named:
            yield (
                "names, ransac within",
                settings,
                lambda xy, n, t=threshold, m=least: one_line(n, xy, t, m),
            )
    if named:
        yield "names as they are", {}, lambda xy, n: n.copy()


def largest(names: np.ndarray, xy: np.ndarray, eps: float, least: int) -> np.ndarray:
    labels = np.full(len(xy), STRAY)
    for name in np.unique(names[names >= 0]):
        of = np.flatnonzero(names == name)
        clusters = dbscan(xy[of], eps, least)
        labels[of[clusters >= 0]] = name
    return labels


def one_line(names: np.ndarray, xy: np.ndarray, threshold: float, least: int) -> np.ndarray:
    """All pieces of a name are one line."""
    labels = np.full(len(xy), STRAY)
    for name in np.unique(names[names >= 0]):
        of = np.flatnonzero(names == name)
        labels[of[ransac(xy[of], threshold, least) >= 0]] = name
    return labels


def read(arm: str):
    sites = []
    for site in json.loads((ROOT / f"target/walk/sites_{arm}.json").read_text()):
        flags = site["flags"]
        known = sorted({f["name"] for f in flags if f["name"] is not None})
        sites.append(
            (
                np.array([[f["x"], f["y"]] for f in flags]),
                np.array([known.index(f["name"]) if f["name"] is not None else STRAY for f in flags]),
                np.array([f["line"] if f["line"] is not None else STRAY for f in flags]),
            )
        )
    return sites


def interval(parts: np.ndarray) -> list[float]:
    """5 % and 95 % points of 2,000 resamples of whole sites."""
    rng = np.random.default_rng(2000)
    picks = parts[rng.integers(0, len(parts), (2000, len(parts)))].sum(axis=1)
    return [round(float(q), 4) for q in np.quantile(picks[:, 0] / picks[:, 1], [0.05, 0.95])]


def scored(way, sites) -> np.ndarray:
    """Flags right and flags, for each site."""
    return np.array([(right(way(xy, names), truth), len(truth)) for xy, names, truth in sites])


def main() -> None:
    warnings.simplefilter("ignore", UndefinedMetricWarning)
    path = ROOT / "benches/cluster_flags.json"
    only = sys.argv[sys.argv.index("--only") + 1] if "--only" in sys.argv else ""
    before = json.loads(path.read_text()) if only and path.exists() else {}
    kept = {}
    for arm in ("given", "not_given"):
        sites = read(arm)
        tried = {}
        for name, settings, way in ways(arm == "given"):
            if only in name:
                share = scored(way, sites[:FIRST])
                tried.setdefault(name, []).append((share[:, 0].sum() / share[:, 1].sum(), settings, way))
        best = before.get(f"names_{arm}", {})
        for name, entries in tried.items():
            _, settings, way = max(entries, key=lambda e: e[0])
            parts = scored(way, sites)
            best[name] = {
                "flags_right": round(float(parts[:, 0].sum() / parts[:, 1].sum()), 4),
                "interval_90": interval(parts),
                "settings": settings,
                "settings_tried": len(entries),
            }
        best = dict(sorted(best.items(), key=lambda e: -e[1]["flags_right"]))
        for name, entry in best.items():
            print(arm, name, entry, flush=True)
        kept[f"names_{arm}"] = best
    record = {
        "how": "benches/cluster_flags.py on the judged sites of tests/statistical/walk, settings chosen on these very sites",
        "versions": {"scikit-learn": sklearn.__version__, "scipy": scipy.__version__, "numpy": np.__version__},
        "sites": len(sites),
        "flags": int(sum(len(t) for _, _, t in sites)),
        **kept,
    }
    if "--write" in sys.argv:
        path.write_text(json.dumps(record, indent=2) + "\n")


main()
