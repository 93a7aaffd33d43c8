"""What can be asked of a method besides its digs, in classes by what it is about; everything has a default.

Values are checked when an option is made. Lengths may be texts with a unit (``"2 ft"``, ``"30 cm"``) and are kept in metres.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, SupportsIndex, TypeAlias, TypeVar

import numpy as np
import numpy.typing as npt

from underturf import _core
from underturf._checks import Length, absent, day, flag, length, number, word, worker_threads
from underturf._limits import gigabytes
from underturf._progress import Progress
from underturf.digs import Method
from underturf.errors import ArgumentError, must_be

__all__ = [
    "FoundLine",
    "Objective",
    "ProbeOptions",
    "ProbeTool",
    "Running",
    "SheetOptions",
    "SpotOptions",
    "Tool",
    "TreeRules",
    "Weights",
    "chosen",
    "default_weights",
    "tree_rules",
    "weight_list",
]

Objective: TypeAlias = Literal["loss", "variance"]
Tool: TypeAlias = Literal["pothole", "slit", "rod"]
Day: TypeAlias = datetime.date | str | None

Weights: TypeAlias = Mapping[str, float] | None

#: The setback of trees when none is named: the first of the engine's list.
SETBACK: str = _core.setbacks()[0][0]

#: Greatest chance of a line within the setback of a tree at which a place is taken for it, when nothing is said (common
#: practice, no source).
SETBACK_LIMIT = 0.25

#: What a line within the setback of a tree costs, as a share of striking it, when nothing is said.
SETBACK_SHARE = 0.1

#: What a building at the stem of a planted tree costs, as a share of striking a sewer, when nothing is said.
ROOTS_SHARE = 0.1

#: What a line that a probe meets costs, as a share of a strike by ordinary hand digging.
CAREFUL = 0.02


Options = TypeVar("Options")


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """How a call runs. It never changes an answer.

    Parameters
    ----------
    threads : int, optional
        Worker threads; one per core if not given. Use 1 in workers of a task queue.
    progress : bool, callable or None
        True or False for a bar; a callable gets ``(done, total)`` and may raise to stop the run; None draws a bar if somebody
        can see it.
    memory_limit_gb : float, optional
        Memory that the call may take, in gigabytes (1e9 bytes); half of what is free if not given. It decides whether the call
        is refused and nothing else.

    Raises
    ------
    ArgumentError
        If a value is out of range.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7, run=ut.Running(threads=1))
    >>> layouts.draws
    50
    """

    threads: SupportsIndex | None = None
    progress: Progress = None
    memory_limit_gb: float | None = None

    def __post_init__(self) -> None:
        settle(self, threads=worker_threads(self.threads), memory_limit_gb=gigabytes(self.memory_limit_gb))
        if self.progress is not None and not callable(self.progress):
            flag(self.progress, "progress")


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
    reach_m: float = 3.0
    cell_m: float | None = None
    shift_m: float = 0.0
    careful: float = CAREFUL
    probe_cost: float = 0.0
    always: bool = False

    def __post_init__(self) -> None:
        tool = self.tool
        if tool is None:
            tool = "pothole" if self.slit_m is None else "slit"
        word(tool, "tool", ("pothole", "slit", "rod"))
        if (self.slit_m is None) == (tool == "slit"):
            said = "it must be given with the tool 'slit', and with no other"
            raise ArgumentError(f"slit_m is {self.slit_m!r} and tool is {tool!r}; {said}")
        settle(
            self,
            objective=word(self.objective, "objective", ("loss", "variance")),
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpotOptions:
    """Where spots may lie and what counts beside a strike; see `Layouts.best_spots`.

    Parameters
    ----------
    names : str or sequence of str, optional
        Names of the holes; ``spot 1``, ``spot 2``, ... by loss if not given.
    spacing_m : float or str
        Least distance between two centres, metres.
    gap_m : float or str, optional
        Least distance between the edges of two holes, metres; 0.3 if not given: walls between holes have to stand (common
        practice, no source).
    setback : str, optional
        A name of `underturf.setbacks`, for trees without one of their own; the default one where a tree is given, none otherwise.
        What is known to lie within it (a mark, flagged metal, a meter) bars a place; what is likely to (a sampled line) adds to
        its loss.
    setback_limit : float
        Greatest probability of a line within the setback of a tree at which a place is taken for it.
    setback_share : float
        What a line within the setback costs, as a share of striking it (common practice, no source).
    roots_share : float
        What a building or pool at the stem costs, as a share of striking a sewer; less the further off it is, in proportion, and
        nothing at the end of the roots at maturity (common practice, no source). Lines within these roots are left to the
        setback.
    spare_roots : bool
        Whether to keep holes out of the protected roots of standing trees (BS 5837:2012, `underturf.root_protection_m`).
    from_building_m, from_boundary_m : float or str
        Least distance from the edge of a hole to a building or pool, and to the boundary, metres.
    cell_m : float or str
        Side of a cell, metres.
    within : array_like, shape (k, 2), optional
        Corners of the ground to stay in, metres.
    method : {"hand", "machine"}
        Who digs.

    Raises
    ------
    ArgumentError
        If a value is none of these or no length; when used: one that is out of range.
    """

    names: str | Sequence[str] | None = None
    spacing_m: float = 0.0
    gap_m: float | None = None
    setback: str | None = None
    setback_limit: float = SETBACK_LIMIT
    setback_share: float = SETBACK_SHARE
    roots_share: float = ROOTS_SHARE
    spare_roots: bool = True
    from_building_m: float = 0.0
    from_boundary_m: float = 0.0
    cell_m: float = 0.25
    within: npt.ArrayLike | None = None
    method: Method = "hand"

    def __post_init__(self) -> None:
        settle(
            self,
            spacing_m=length(self.spacing_m, "spacing_m"),
            gap_m=length_or_none(self.gap_m, "gap_m"),
            setback=None if self.setback is None else word(self.setback, "setback"),
            setback_limit=number(self.setback_limit, "setback_limit"),
            setback_share=number(self.setback_share, "setback_share"),
            roots_share=number(self.roots_share, "roots_share"),
            spare_roots=flag(self.spare_roots, "spare_roots"),
            from_building_m=length(self.from_building_m, "from_building_m"),
            from_boundary_m=length(self.from_boundary_m, "from_boundary_m"),
            cell_m=length(self.cell_m, "cell_m"),
            method=word(self.method, "method", ("hand", "machine")),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetOptions:
    """What the sheet for the crew shows besides its spots and probes; see `Layouts.crew_sheet`.

    Parameters
    ----------
    ticket : str, optional
        Number of the one-call ticket; a blank line if not given.
    marks_date : date or str, optional
        Day of the marks, a date or ``YYYY-MM-DD``; dates of the document's marks, or a blank line, if not given.
    date : date or str, optional
        Day of the sheet, likewise; today if not given.
    least_chance : float
        Least share of layouts that have a likely line at a station, as in `Layouts.likely_lines`.
    step_m : float or str
        Greatest distance between stakes, metres.
    near_m : float or str
        Stakes within this of a spot or probe are listed, metres, as far as two pages hold them: where they do not, the nearest
        are, and the sheet says how many are left out. All are near where there is neither.
    annex : bool
        Whether to list the other stakes too, on further pages.
    weights : mapping of str to float, optional
        As in `Layouts.assess`.
    rules : TreeRules, optional
        As in `Layouts.assess`.

    Raises
    ------
    ArgumentError
        If a value is not a length, number or day; when used: one that is out of range.

    Examples
    --------
    >>> import underturf as ut
    >>> ut.SheetOptions(ticket=4711, step_m="6 ft").ticket
    '4711'
    """

    ticket: str | None = None
    marks_date: Day = None
    date: Day = None
    least_chance: float = 0.25
    step_m: float = 2.0
    near_m: float = 3.0
    annex: bool = False
    weights: Weights = None
    rules: TreeRules | None = None

    def __post_init__(self) -> None:
        settle(
            self,
            ticket=None if absent(self.ticket) else str(self.ticket),
            marks_date=day(self.marks_date, "marks_date"),
            date=day(self.date, "date"),
            least_chance=number(self.least_chance, "least_chance"),
            step_m=length(self.step_m, "step_m"),
            near_m=length(self.near_m, "near_m"),
            annex=flag(self.annex, "annex"),
            rules=chosen(self.rules, TreeRules, "rules"),
        )


@dataclass(frozen=True, slots=True)
class FoundLine:
    """What was noted of a line that a probe met.

    Parameters
    ----------
    line_class : str, optional
        What it carries, one of `CLASSES`; ``class`` in documents.
    bearing_deg : float, optional
        Its direction, degrees counter-clockwise from x.
    cover_m : float or str, optional
        Ground above its top, metres.
    """

    line_class: str | None = None
    bearing_deg: float | None = None
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
    """

    kind: Tool | None = None
    p_detect: float | None = None
    p_false: float | None = None


def chosen(given: Options | None, kind: type[Options], name: str) -> Options:
    """Return options as given, or the default ones.

    Examples
    --------
    >>> chosen(None, TreeRules, "rules").setback_limit
    0.25
    >>> chosen("lateral_5ft", TreeRules, "rules")
    Traceback (most recent call last):
    underturf.errors.ArgumentError: rules is 'lateral_5ft'; it must be a TreeRules, such as TreeRules()
    """
    if given is None:
        return kind()
    if not isinstance(given, kind):
        raise must_be(name, given, f"a {kind.__name__}, such as {kind.__name__}()")
    return given


def tree_rules(rules: TreeRules | None) -> tuple[str, float]:
    """Return rules as the engine takes them."""
    given = chosen(rules, TreeRules, "rules")
    return given.setback, given.setback_limit


def settle(options: object, **values: object) -> None:
    """Keep values of options as they were read."""
    for name, value in values.items():
        object.__setattr__(options, name, value)


def length_or_none(value: object, name: str) -> float | None:
    """Return a length in metres, or None where none is given."""
    return None if value is None else length(value, name)


def number_or_none(value: object, name: str) -> float | None:
    """Return a number, or None where none is given."""
    return None if value is None else number(value, name)


def slit_of(slit_m: object) -> tuple[float, float]:
    """Return length and width of a slit."""
    if not isinstance(slit_m, Sequence | np.ndarray) or isinstance(slit_m, str) or len(slit_m) != 2:
        raise must_be("slit_m", slit_m, "a length and a width, such as (0.8, 0.1)")
    long, wide = slit_m
    return length(long, "slit_m[0]"), length(wide, "slit_m[1]")


def default_weights() -> dict[str, float]:
    """Return the consequence weights that are shipped, by class, and the factor for digs by ``machine``.

    Only their order means something (common practice, no source): gas and electric before sewer and communication, before
    potable, reclaimed and mainline, before lateral and control wire, before unknown lines. The chance of a strike is the
    same by hand and by machine; what it costs is not, since hands meet a line and a machine takes it along.

    Examples
    --------
    >>> import underturf as ut
    >>> weights = ut.default_weights()
    >>> weights["gas"] > weights["potable"] > weights["lateral"] > weights["unknown"]
    True
    """
    return dict(_core.default_weights())


def weight_list(weights: Weights) -> list[tuple[str, float]]:
    """Return given weights as the engine takes them; it checks names and numbers and names every fault."""
    if weights is None:
        return []
    if not isinstance(weights, Mapping):
        raise ArgumentError(f"weights must map classes to numbers, not {weights!r}")
    wrong = [f"{name} = {value!r}" for name, value in weights.items() if not is_number(value)]
    if wrong:
        raise ArgumentError(f"consequence weights: no numbers: {', '.join(wrong)}")
    return [(str(name), float(value)) for name, value in weights.items()]


def is_number(value: object) -> bool:
    """Whether a value can stand for a weight."""
    return isinstance(value, int | float | np.integer | np.floating) and not isinstance(value, bool)
