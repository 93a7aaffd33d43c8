"""How probes are dug and what they are chosen for, and what was met by one that was dug."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from underturf import _core
from underturf._checks import Length, flag, length, number, word
from underturf.errors import ArgumentError, must_be
from underturf.options.checks import length_or_none, number_or_none, settle

__all__ = ["FoundLine", "Objective", "ProbeOptions", "ProbeTool", "Tool"]

Objective: TypeAlias = Literal["loss", "variance"]
Tool: TypeAlias = Literal["pothole", "slit", "rod"]

#: What a line that a probe meets costs, as a share of a strike by ordinary hand digging.
CAREFUL = _core.DEFAULTS["careful"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProbeOptions:
    """How probes are dug and what they are chosen for; see `Layouts.plan_probes`.

    Parameters
    ----------
    objective : {"loss", "variance"}
        What to make small: the expected loss of the decisions that follow (dig as planned where the expected loss is below that
        of the verdict's limit, else act at the cost of that limit), or the expected Brier score, the sum of p (1 - p).
    tool : {"pothole", "slit", "rod"}, optional
        What the probes are dug with: slits if ``slit_m`` is given, else potholes. A rod is pushed down and makes no hole.
    slit_m : (float, float), optional
        Length and width of slits, metres, dug along the likeliest grid bearing or across it.
    depth_m : float or str, optional
        Depth of the probes, metres; that of the deepest dig, at most 0.9 m, if not given.
    p_detect, p_false : float, optional
        Probability that a line within the probe is met, and of a find where there is none; those of the tool if not given.
    reach_m : float or str
        How far from the edge of a dig the middle of a probe may lie, metres.
    cell_m : float or str, optional
        Side of a cell of the grid of places, metres; about 0.25 if not given, wider on large ground.
    shift_m : float or str
        How far each dig may be shifted once probes have reported, metres. With 0 digs are dug where they are given or not at all.
        Else decisions are made among up to eight places for each dig, the first where it would go as things stand
        (`Layouts.shifted`): those that someone who saw through the ground would want most. A probe is then worth what it saves in
        the choice of places too. A tree is sent to no place that breaks the limit of its setback.
    careful : float
        What a line met by the probe costs, as a share of a strike by ordinary hand digging: hands that look for a line break few
        of those they meet (common practice, no source).
    probe_cost : float
        What each probe costs besides, in units of the weights.
    always : bool
        Whether to plan on where no probe is worth what it costs.

    Raises
    ------
    ArgumentError
        If a value is none of these or no length; when used: one that is out of range.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.ProbeOptions(slit_m=("2 ft", "4 in")).tool
    'slit'
    """

    objective: Objective = "loss"
    tool: Tool | None = None
    slit_m: tuple[float, float] | None = None
    depth_m: float | None = None
    p_detect: float | None = None
    p_false: float | None = None
    reach_m: float = _core.DEFAULTS["probe_reach_m"]
    cell_m: float | None = None
    shift_m: float = _core.DEFAULTS["shift_m"]
    careful: float = CAREFUL
    probe_cost: float = _core.DEFAULTS["probe_cost"]
    always: bool = False

    def __post_init__(self) -> None:
        tool = self.tool
        if tool is None:
            tool = "pothole" if self.slit_m is None else "slit"
        word(tool, "tool", _core.WORDS["tool"])
        if (self.slit_m is None) == (tool == "slit"):
            said = "it must be given with the tool 'slit', and with no other"
            raise ArgumentError(f"slit_m is {self.slit_m!r} and tool is {tool!r}; {said}")
        settle(
            self,
            objective=word(self.objective, "objective", _core.WORDS["objective"]),
            tool=tool,
            slit_m=None if self.slit_m is None else slit_of(self.slit_m),
            depth_m=length_or_none(self.depth_m, "depth_m"),
            p_detect=number_or_none(self.p_detect, "p_detect"),
            p_false=number_or_none(self.p_false, "p_false"),
            reach_m=length(self.reach_m, "reach_m"),
            cell_m=length_or_none(self.cell_m, "cell_m"),
            shift_m=length(self.shift_m, "shift_m"),
            careful=number(self.careful, "careful"),
            probe_cost=number(self.probe_cost, "probe_cost"),
            always=flag(self.always, "always"),
        )


@dataclass(frozen=True, slots=True)
class FoundLine:
    """What was noted of a line that a probe met.

    Parameters
    ----------
    line_class : str, optional
        What it carries, one of `CLASSES`; ``class`` in documents.
    azimuth_deg : float, optional
        Its direction, degrees clockwise from north (the frame of the site says where that is).
    cover_m : float or str, optional
        Ground above its top, metres.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> met = ut.FoundLine("lateral", cover_m="11 in")
    >>> later = site.with_probe(6.7, 3.2, 0.25, 0.45, found=True, line=met)
    >>> later.to_dict()["probes"][0]["class"]
    'lateral'
    """

    line_class: str | None = None
    azimuth_deg: float | None = None
    cover_m: Length | None = None


@dataclass(frozen=True, slots=True)
class ProbeTool:
    """What a probe was dug with, and how far it is to be trusted.

    Parameters
    ----------
    kind : {"pothole", "slit", "rod"}, optional
        The tool; that of the method if not given.
    p_detect : float, optional
        Probability that a line within the probe would be met; that of the tool if not given.
    p_false : float, optional
        Probability of a find where there is no line.

    Examples
    --------
    >>> import underturf as ut
    >>> site = ut.read_site(ut.example("green"))
    >>> later = site.with_probe(6.7, 3.2, 0.25, 0.45, found=False, tool=ut.ProbeTool("pothole", p_detect=0.9))
    >>> later.to_dict()["probes"][0]["p_detect"]
    0.9
    """

    kind: Tool | None = None
    p_detect: float | None = None
    p_false: float | None = None


def slit_of(slit_m: object) -> tuple[float, float]:
    """Return length and width of a slit."""
    if not isinstance(slit_m, Sequence | np.ndarray) or isinstance(slit_m, str) or len(slit_m) != 2:
        raise must_be("slit_m", slit_m, "a length and a width, such as (0.8, 0.1)")
    long, wide = slit_m
    return length(long, "slit_m[0]"), length(wide, "slit_m[1]")
