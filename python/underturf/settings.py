"""The constants of the law of layouts, as a table: what can be set under ``[settings]`` of a document."""

from __future__ import annotations

import pandas as pd

from underturf import _core

__all__ = ["settings_table"]


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
