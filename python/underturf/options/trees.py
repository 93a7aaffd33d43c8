"""What trees to be planted ask of their places."""

from __future__ import annotations

from dataclasses import dataclass

from underturf import _core
from underturf._checks import number, word
from underturf.options.checks import chosen, settle

__all__ = ["SETBACK", "SETBACK_LIMIT", "TreeRules", "tree_rules"]

#: The setback of trees when none is named: the first of the engine's list.
SETBACK: str = _core.setbacks()[0][0]

#: Greatest chance of a line within the setback of a tree at which a place is taken for it, when nothing is said (common
#: practice, no source).
SETBACK_LIMIT = _core.DEFAULTS["setback_limit"]


@dataclass(frozen=True, slots=True)
class TreeRules:
    """What trees to be planted ask of their places.

    Parameters
    ----------
    setback : str
        Setback of trees without one of their own, a name of `underturf.setbacks`.
    setback_limit : float
        Greatest probability of a line within its setback at which a tree is left where it is, or moved to a place.

    Raises
    ------
    ArgumentError
        If the setback is no text or the limit no number; when used: an unknown setback, a limit outside 0 to 1.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.TreeRules()
    TreeRules(setback='lateral_5ft', setback_limit=0.25)
    """

    setback: str = SETBACK
    setback_limit: float = SETBACK_LIMIT

    def __post_init__(self) -> None:
        settle(self, setback=word(self.setback, "setback"), setback_limit=number(self.setback_limit, "setback_limit"))


def tree_rules(rules: TreeRules | None) -> tuple[str, float]:
    """Return rules as the engine takes them."""
    given = chosen(rules, TreeRules, "rules")
    return given.setback, given.setback_limit
