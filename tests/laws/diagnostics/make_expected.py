"""Write expected.json: chain matrices and what arviz-stats says about them.

Run by hand with arviz-stats 0.8.0 and numpy installed: `python tests/laws/diagnostics/make_expected.py`. Draws are rounded to
six digits first, so that the file holds exactly the numbers that were diagnosed. Undefined values are null.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
from arviz_stats import __version__
from arviz_stats.base import array_stats

TAILS = (0.05, 0.95)
LEVELS = (0.05, 0.25, 0.5, 0.9)


def first_order(rng: np.random.Generator, a: float, chains: int, draws: int) -> np.ndarray:
    """Draw x' = a x + sqrt(1 - a^2) e, started in its own law."""
    x = rng.standard_normal((chains, draws))
    for draw in range(1, draws):
        x[:, draw] = a * x[:, draw - 1] + math.sqrt(1 - a * a) * x[:, draw]
    return x


def matrices(rng: np.random.Generator) -> dict[str, np.ndarray]:
    """Return chain matrices of shape (chains, draws), by name."""
    sticky = first_order(rng, 0.7, 4, 120)
    shifted = first_order(rng, 0.3, 4, 120)
    shifted[2] += 1.0
    return {
        "independent": rng.standard_normal((4, 120)),
        "first order 0.3": first_order(rng, 0.3, 4, 120),
        "first order 0.9": first_order(rng, 0.9, 4, 200),
        "first order -0.5": first_order(rng, -0.5, 4, 120),
        "binary rare": (rng.random((4, 200)) < 0.02).astype(float),
        "binary common": (sticky > 0.2).astype(float),
        "ties": np.round(2 * first_order(rng, 0.5, 3, 100)),
        "trend": rng.standard_normal((4, 100)) + np.linspace(0, 2, 100),
        "one shifted chain": shifted,
        "odd number of draws": first_order(rng, 0.4, 2, 101),
        "heavy tails": rng.standard_cauchy((4, 120)),
        "constant": np.full((4, 50), 3.25),
        "one chain": first_order(rng, 0.6, 1, 90),
        "fewest draws": rng.standard_normal((2, 4)),
        "unequal spread": rng.standard_normal((4, 100)) * np.array([[1], [1], [1], [4]]),
        "far from zero": 1e5 + first_order(rng, 0.5, 2, 80),
    }


def number(value: float) -> float | None:
    """Return a number that JSON can hold."""
    return None if math.isnan(value) else float(value)


def expected(chains: np.ndarray) -> dict[str, object]:
    """Return what arviz-stats says."""
    axes = {"chain_axis": 0, "draw_axis": 1}
    with np.errstate(invalid="ignore"):
        return {
            "r_hat": number(array_stats.rhat(chains, **axes)),
            "ess_bulk": number(array_stats.ess(chains, method="bulk", **axes)),
            "ess_tail": number(array_stats.ess(chains, method="tail", prob=TAILS, **axes)),
            "ess_mean": number(array_stats.ess(chains, method="mean", **axes)),
            "mcse_mean": number(array_stats.mcse(chains, method="mean", **axes)),
            "mcse_sd": number(array_stats.mcse(chains, method="sd", **axes)),
            "quantiles": [
                {
                    "level": level,
                    "ess": number(array_stats.ess(chains, method="quantile", prob=level, **axes)),
                    "mcse": number(array_stats.mcse(chains, method="quantile", prob=level, **axes)),
                }
                for level in LEVELS
            ],
        }


def main() -> None:
    """Write the file beside this one, a line for each matrix."""
    rows = []
    for name, drawn in matrices(np.random.default_rng(20210607)).items():
        chains = np.array([[float(f"{value:.6g}") for value in row] for row in drawn])
        if name == "far from zero":
            chains = np.round(drawn, 4)
        rows.append(json.dumps({"name": name, "chains": chains.tolist(), **expected(chains)}))
    text = f'{{"arviz_stats": "{__version__}", "cases": [\n' + ",\n".join(rows) + "\n]}\n"
    Path(__file__).with_name("expected.json").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
