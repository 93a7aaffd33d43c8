"""The constants of the model of layouts, and the rules by which a document is believed, as tables."""

from __future__ import annotations

import pandas as pd

from underturf import _core

__all__ = ["plausibility_table", "settings_table"]


def settings_table() -> pd.DataFrame:
    """Every setting with its default, range, unit, meaning and source.

    Returns
    -------
    DataFrame, one row a setting, index ``name``
        ``default``, ``least``, ``greatest``, ``unit``, ``meaning``. A document sets them in the units of this table,
        whatever its own.

    Examples
    --------
    >>> import underturf as ut
    >>> table = ut.settings_table()
    >>> bool(((table["least"] <= table["default"]) & (table["default"] <= table["greatest"])).all())
    True
    >>> float(table.loc["tolerance_half_zone_m", "default"])
    0.762
    """
    columns = ["name", "default", "least", "greatest", "unit", "meaning"]
    return pd.DataFrame(_core.settings_table(), columns=columns).set_index("name")


def plausibility_table() -> pd.DataFrame:
    """Every rule by which a document is called odd, or refused, with its limits and the reason for them.

    Returns
    -------
    DataFrame, one row a rule, index ``name``
        ``asks`` (what is looked at), ``least``, ``greatest`` (NaN: no limit), ``unit``, ``refuses`` (whether the document
        is refused; else a warning is given) and ``reason``. A document's notes name the rule that they come from.

    Examples
    --------
    >>> import underturf as ut
    >>> table = ut.plausibility_table()
    >>> float(table.loc["depth_limit", "greatest"]), bool(table.loc["depth_limit", "refuses"])
    (6.0, True)
    """
    columns = ["name", "asks", "least", "greatest", "unit", "refuses", "reason"]
    table = pd.DataFrame(_core.plausibility_table(), columns=columns).set_index("name")
    return table.astype({"least": float, "greatest": float})
