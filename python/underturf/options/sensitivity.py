"""How settings are moved to see whether they matter."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeAlias

from underturf import _core
from underturf._checks import at_least, draw_count, number, word
from underturf.errors import ArgumentError, must_be
from underturf.options.checks import settle

__all__ = ["MovedSettings", "SensitivityOptions"]

#: Settings to move: names, or names with the low and the high value of each; None for those that can matter.
MovedSettings: TypeAlias = "Iterable[str] | Mapping[str, tuple[float, float]] | None"


@dataclass(frozen=True, slots=True, kw_only=True)
class SensitivityOptions:
    """How settings are moved, and how well the effect is told; see `Layouts.sensitivity`.

    Parameters
    ----------
    settings : iterable of str, or mapping of str to (float, float), optional
        Settings to move, by the names of `underturf.settings_table`; with the low and the high value of each in a mapping. If not
        given, those that can matter for what the document holds.
    share : float
        How far a setting is moved where no values are given: by this share of the way to the nearer end of its range,
        down and up; one that lies at an end is moved by this share of its whole range, inward only. Values are rounded
        to three digits. Above 0 and at most 1. Design.
    draws : int
        Layouts of one sample.
    replicates : int
        Samples with seeds of their own, 2 at least: the spread of an effect over them is its Monte Carlo error.

    Raises
    ------
    ArgumentError
        If a name is not known or a value is out of range.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.SensitivityOptions(settings={"align_gain": (0, 4)}, replicates=3).settings
    {'align_gain': (0.0, 4.0)}
    >>> ut.SensitivityOptions(settings=["allign_gain"])
    Traceback (most recent call last):
    underturf.errors.ArgumentError: there is no setting 'allign_gain'; did you mean "align_gain"?
    """

    settings: MovedSettings = None
    share: float = 0.5
    draws: int = 200
    replicates: int = 4

    def __post_init__(self) -> None:
        share = number(self.share, "share")
        if not 0 < share <= 1:
            raise must_be("share", self.share, "above 0 and at most 1")
        settle(
            self,
            settings=None if self.settings is None else named(self.settings),
            share=share,
            draws=draw_count(self.draws),
            replicates=at_least(2, self.replicates, "replicates"),
        )


def named(given: MovedSettings) -> dict[str, tuple[float, float] | None]:
    """Return settings by name, each with its low and high value or None."""
    ranges = {name: (least, greatest) for name, _, least, greatest, _, _ in _core.settings_table()}
    pairs = given if isinstance(given, Mapping) else dict.fromkeys([given] if isinstance(given, str) else given or ())
    found: dict[str, tuple[float, float] | None] = {}
    for key, values in pairs.items():
        name = word(key, "settings")
        if name not in ranges:
            raise ArgumentError(f"there is no setting {name!r}{_core.spelling_hint(name, list(ranges))}")
        if values is None:
            found[name] = None
            continue
        try:
            low, high = (number(value, name) for value in values)
        except (TypeError, ValueError) as error:
            raise must_be(f"settings[{name!r}]", values, "a low and a high value") from error
        least, greatest = ranges[name]
        if not least <= low < high <= greatest:
            raise must_be(f"settings[{name!r}]", values, f"a low and a higher value in {least:g} to {greatest:g}")
        found[name] = (low, high)
    return found
