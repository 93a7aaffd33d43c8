"""Effects of settings as bars: from the chance as it is to the chance with a setting moved, the greatest change on top."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

import numpy as np

from underturf.cautions import NOT_CONVERGED, caution_text
from underturf.errors import none_such
from underturf.plotting import style
from underturf.plotting.names import clean
from underturf.report import chance_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from underturf.results.sensitivity import Sensitivity

__all__ = ["plot_sensitivity"]

#: Settings that a picture shows at most, the greatest changes.
MOST = 20

#: Characters of a line below the picture.
WIDTH = 105

#: Looks of a setting moved down and up: they differ in grey too.
LOOKS = {"low": {"color": "#bcd4ea", "hatch": "////"}, "high": {"color": "#e0a060", "hatch": ""}}


def plot_sensitivity(effects: Sensitivity, ax: Axes | None = None, dig: str | None = None) -> Axes:
    """Draw the changes of one dig; see `Sensitivity.plot`.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("bare")), draws=50, seed=7)
    >>> options = ut.SensitivityOptions(settings=["lateral_cover_m"], draws=50, replicates=2)
    >>> plot_sensitivity(layouts.sensitivity(options=options), Figure().add_subplot()).has_data()
    True
    """
    import matplotlib.pyplot as plt

    names = [of.id or "" for of in effects.for_digs]
    name = dig if dig is not None else next(iter(names), "")
    if name not in names:
        raise none_such("dig", name, names, "")
    own = [effect for effect in effects if effect.dig == name]
    rows = [effect for effect in own if effect.swing > 0.0][:MOST]
    if ax is None:
        _, ax = plt.subplots(figsize=(7.2, 1.9 + 0.34 * len(rows)), layout="constrained")
    for k, effect in enumerate(rows):
        ways = {
            "low": (effect.change_low, effect.change_low_mcse),
            "high": (effect.change_high, effect.change_high_mcse),
        }
        for way, (change, error) in ways.items():
            if change is None:
                continue
            shift = -0.19 if way == "low" else 0.19
            label = f"setting moved {'down' if way == 'low' else 'up'}" if k == 0 else None
            look = {"edgecolor": style.INK, "linewidth": 0.6, **LOOKS[way]}
            ax.barh(k + shift, 100 * change, 0.36, label=label, **look)
            ax.errorbar(100 * change, k + shift, xerr=100 * (error or 0.0), color=style.INK, linewidth=1.0, capsize=2)
    ax.axvline(0.0, color=style.INK, linewidth=1.0)
    ax.set_yticks(np.arange(len(rows)), [label_of(effect.setting, effect.distinct) for effect in rows])
    ax.invert_yaxis()
    at = f": {chance_text(own[0].p_strike)} as things are" if own else ""
    mark = "" if effects.converged else f"{NOT_CONVERGED}\n"
    ax.set_title(f"{mark}{clean(name)}{at}", loc="left", fontsize=9)
    still = [effect.setting for effect in own if effect.swing == 0.0]
    note = ["change of the chance, percentage points; whiskers: one standard error; (n): may be noise"]
    note += [textwrap.fill(f"no effect at all: {', '.join(still)}", WIDTH)] if still else []
    ax.set_xlabel("\n".join([*note, caution_text(WIDTH)]), fontsize=7, loc="left")
    ax.tick_params(labelsize=8)
    if rows:
        ax.legend(fontsize=7, loc="lower right", frameon=False)
    return ax


def label_of(setting: str, distinct: bool) -> str:
    """Return the name of a setting, marked where its change may be noise."""
    return setting if distinct else f"{setting} (n)"
