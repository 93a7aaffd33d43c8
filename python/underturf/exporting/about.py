"""What every exported file says of itself: the cautions, the site, draws, seed, version, whether it can be relied on."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.metadata import version
from typing import Any

from underturf.cautions import CAUTIONS, CHOSEN, NOT_CONVERGED, TOTAL
from underturf.layouts import Layouts
from underturf.maps import StrikeMap
from underturf.results.base import Result
from underturf.site import Site

__all__ = ["SHORT", "About", "about"]

#: What stands beside every single point that goes to a phone.
SHORT = f"{CAUTIONS[3]} {CAUTIONS[0]}"

#: Fields of results that are told elsewhere: as attributes of all, or as layers.
TOLD = frozenset(("site", "draws", "seed", "converged", "not_assessed", "notes", "digs", "planned_for"))

#: What an unassessed class says of itself.
UNSAID = "Not assessed, and may lie here all the same: {}. Their probabilities are empty, which is not zero."


@dataclass(frozen=True)
class About:
    """What a file says of itself.

    Attributes
    ----------
    kind : str
        What was exported.
    site, units : str
        Name of the site (empty: none), and the unit of its document.
    draws, seed : int or None
        None where nothing was sampled.
    converged : bool
        Whether its figures can be relied on.
    not_assessed : tuple of str
        Classes without evidence.
    notes : tuple of str
        What else its reader has to know.
    facts : mapping
        What holds for the whole, by name.
    """

    kind: str
    site: str
    units: str
    draws: int | None
    seed: int | None
    converged: bool
    not_assessed: tuple[str, ...]
    notes: tuple[str, ...]
    facts: Mapping[str, Any]

    @property
    def title(self) -> str:
        """One line that says what it is."""
        mark = "" if self.converged else f"{NOT_CONVERGED}: "
        return f"{mark}{self.kind} of {self.site or 'a site without a name'}"

    def whole(self) -> dict[str, Any]:
        """Return all of it as JSON can hold it.

        Examples
        --------
        >>> import underturf as ut
        >>> whole = about(ut.read_site(ut.example("green"))).whole()
        >>> whole["kind"], whole["cautions"] == list(ut.CAUTIONS), whole["seed"] is None
        ('Site', True, True)
        """
        return {
            "title": self.title,
            "warnings": [] if self.converged else [NOT_CONVERGED],
            "cautions": list(CAUTIONS),
            "kind": self.kind,
            "site": self.site,
            "document_units": self.units,
            "draws": self.draws,
            "seed": self.seed,
            "converged": self.converged,
            "not_assessed": list(self.not_assessed),
            "made_by": f"underturf {version('underturf')}",
            "notes": list(self.notes),
            **self.facts,
        }

    def texts(self) -> dict[str, str]:
        """Return all of it as texts by name, lists and the like as JSON."""
        return {key: value if isinstance(value, str) else _json(value) for key, value in self.whole().items()}

    def lines(self) -> list[str]:
        """Return all of it as lines for people, the warning and the cautions first."""
        sampled = "" if self.seed is None else f", {self.draws} draws, seed {self.seed}"
        said = [self.title, *([] if self.converged else [NOT_CONVERGED]), *CAUTIONS]
        said += [f"underturf {version('underturf')}{sampled}; the document is in {self.units}"]
        said += [f"{key}: {value if isinstance(value, str) else _json(value)}" for key, value in self.facts.items()]
        return [" ".join(line.split()) for line in (*said, *self.notes)]


def about(thing: Site | Layouts | StrikeMap | Result[Any], *more: Result[Any]) -> About:
    """Return what a file of a thing, and of results beside it, says of itself."""
    first = about_one(thing)
    for other in map(about_one, more):
        first = dataclasses.replace(
            first,
            kind=f"{first.kind} and {other.kind}",
            converged=first.converged and other.converged,
            notes=tuple(dict.fromkeys((*first.notes, *other.notes))),
            facts={**first.facts, other.kind: {"draws": other.draws, "seed": other.seed, **other.facts}},
        )
    return first


def about_one(thing: Site | Layouts | StrikeMap | Result[Any]) -> About:
    """Return what a file of one thing says of itself."""
    if isinstance(thing, StrikeMap):
        layouts, facts = thing.layouts, facts_of_map(thing)
        return _sampled("StrikeMap", layouts, layouts.converged, placed(layouts.warnings, layouts.site), facts)
    if isinstance(thing, Layouts):
        facts = {"assessed": list(thing.assessed), "effective_draws": thing.effective_draws, **frame_of(thing.site)}
        return _sampled("Layouts", thing, thing.converged, placed(thing.warnings, thing.site), facts)
    if isinstance(thing, Result):
        return _sampled(type(thing).__name__, thing, thing.converged, thing._notes(), facts_of_result(thing))
    document = thing._document()
    given: dict[str, Any] = {key: document[key] for key in ("date", "settings") if key in document}
    return About(
        "Site",
        thing.name or "",
        thing.units,
        None,
        None,
        True,
        (),
        placed(thing.warnings, thing),
        {**given, **frame_of(thing)},
    )


def _sampled(
    kind: str, of: Layouts | Result[Any], converged: bool, notes: tuple[str, ...], facts: dict[str, Any]
) -> About:
    """Return what is said of something that rests on draws."""
    missing = tuple(of.not_assessed)
    unsaid = (UNSAID.format(", ".join(name.replace("_", " ") for name in missing)),) if missing else ()
    site = of.site
    counted = {"p_strike": f"Strike probability of {TOTAL}."}
    return About(
        kind,
        site.name or "",
        site.units,
        of.draws,
        of.seed,
        converged,
        missing,
        (*notes, *unsaid),
        {**counted, **facts},
    )


def placed(sentences: tuple[str, ...], site: Site) -> tuple[str, ...]:
    """Leave out what is said of the frame: here it is used, and the file says how."""
    frame = {note.sentence for note in site.notes if note.kind == "frame"}
    return tuple(sentence for sentence in sentences if sentence not in frame)


def frame_of(site: Site) -> dict[str, Any]:
    """Return the frame of a site, if it has one."""
    frame = site._plain().get("frame")
    return {} if frame is None else {"frame": frame}


def facts_of_result(result: Result[Any]) -> dict[str, Any]:
    """Return what holds for a result as a whole: its fields that are no table and no layer."""
    fields = (field.name for field in dataclasses.fields(result))
    found = {name: getattr(result, name) for name in fields if name not in TOLD and not name.startswith("_")}
    chosen = {"chosen": CHOSEN} if {"total_loss", "reach_m", "shift_m"} & set(found) else {}
    return {**found, **chosen, **frame_of(result.site)}


def facts_of_map(of: StrikeMap) -> dict[str, Any]:
    """Return what holds for a map as a whole."""
    found: dict[str, Any] = {"what": of.what, "classes": list(of.classes), "cell_m": of.cell_m}
    if of.shift is not None:
        found |= {"shift": dataclasses.asdict(of.shift), "chosen": CHOSEN}
    if of.setback_limit is not None:
        found |= {"no_better": of.no_better, "setback_limit": of.setback_limit}
    return {**found, **frame_of(of.layouts.site)}


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, default=str)
