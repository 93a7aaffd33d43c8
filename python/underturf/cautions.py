"""The cautions that every output for a digger carries.

A chance of striking a line is no clearance, and the people who read a table or a map may see nothing else of it. So
the same five sentences stand under every table, map, plan and sheet. They are usual practice where one-call centres
exist (common practice, no source); local rules may ask for more and always win.
"""

from __future__ import annotations

import textwrap

from underturf import _core

__all__ = ["CAUTIONS", "CHOSEN", "NOT_CONVERGED", "TOTAL", "caution_text"]

#: One sentence each, in the order in which a digger needs them.
CAUTIONS: tuple[str, ...] = (
    "Call the local one-call centre before you dig, and wait for the marks.",
    "Private lines, irrigation among them, are not marked by the utilities' locators.",
    "Hand-dig or vacuum only within the tolerance zone of a mark.",
    "A probability is not a clearance: every spot may hold a line.",
    "Local codes and licensed practice decide.",
)

#: What the total of every table is, since classes without evidence are not in it.
TOTAL = "assessed classes and unmapped lines only"

#: What stands beside chances of places that the engine chose itself. Measured: on simulated sites such places are struck
#: more often than stated (python/docs/validation.md, 6).
CHOSEN = (
    "The chance at a best shift is the least of many and too low (on simulated sites half as many again were struck): dig there "
    "by hand first as well."
)

#: What stands over every output whose chains did not converge and which was accepted anyway.
NOT_CONVERGED: str = _core.NOT_CONVERGED


def caution_text(width: int = 100) -> str:
    """All cautions as one wrapped paragraph.

    Parameters
    ----------
    width : int
        Greatest number of characters in a line.

    Returns
    -------
    str

    Examples
    --------
    >>> print(caution_text(72))
    Call the local one-call centre before you dig, and wait for the marks.
    Private lines, irrigation among them, are not marked by the utilities'
    locators. Hand-dig or vacuum only within the tolerance zone of a mark. A
    probability is not a clearance: every spot may hold a line. Local codes
    and licensed practice decide.
    """
    return textwrap.fill(" ".join(CAUTIONS), width)
