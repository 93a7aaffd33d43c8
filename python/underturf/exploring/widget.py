"""The page as a widget of notebooks: a tap asks the layouts for the exact chance, which the stored maps only come near.

Messages are two dicts: ``hole`` (``x_m``, ``y_m``, ``radius_m``, ``depth_m``) comes in, ``answer`` goes out.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from underturf._extras import needs
from underturf.digs import Hole
from underturf.errors import UnderturfError
from underturf.exploring.page import script, style_sheet
from underturf.options import Running

if TYPE_CHECKING:
    from underturf.layouts import Layouts

__all__ = ["answer_to", "make_widget"]

#: Keys of a question.
HOLE = ("x_m", "y_m", "radius_m", "depth_m")


def answer_to(layouts: Layouts, hole: dict[str, Any]) -> dict[str, Any]:
    """Return the exact answer for a hole, or why there is none; the question comes back with it.

    Returns
    -------
    dict
        ``hole``; ``known`` (``"tolerance_zone"`` or ``"flagged_metal"`` where no chance counts, else None), ``p``, ``mcse``,
        ``upper95`` and ``converged``; or ``error``, a sentence.

    Examples
    --------
    >>> import underturf as ut
    >>> layouts = ut.sample_layouts(ut.read_site(ut.example("green")), draws=50, seed=7)
    >>> answer = answer_to(layouts, {"x_m": 4.0, "y_m": 3.0, "radius_m": 0.3, "depth_m": 0.4})
    >>> answer["p"] == float(layouts.strike_probability(ut.Hole(4.0, 3.0, 0.3, 0.4))[0])
    True
    >>> answer_to(layouts, {"x_m": 4.0, "y_m": 3.0, "radius_m": -1, "depth_m": 0.4})["error"]
    'no such dig can be dug: radius: -1 is not above 0 (dig dig1)'
    """
    asked = {key: hole.get(key) for key in HOLE}
    try:
        dig = Hole(*asked.values())  # type: ignore[arg-type]  # what is none is refused below
        bound = [dig._bind("dig1")]
        row = layouts.strikes([dig], run=Running(progress=False)).iloc[0]
        (known,) = layouts._handle.known_there(bound)
    except (UnderturfError, TypeError) as error:
        return {"hole": asked, "error": str(error)}
    chances = {"p": float(row["p_strike"]), "mcse": float(row["mcse"]), "upper95": float(row["p_upper95"])}
    kind = known if known in (None, "tolerance_zone") else "flagged_metal"  # the engine names the metal
    return {"hole": asked, "known": kind, **chances, "converged": bool(row["converged"])}


def make_widget(layouts: Layouts, content: dict[str, Any]) -> Any:
    """Return the widget of some layouts."""
    widget = widget_class()(content=content)

    def ask(change: Any) -> None:
        if change["new"]:
            widget.answer = answer_to(layouts, change["new"])

    widget.observe(ask, names="hole")
    return widget


@cache
def widget_class() -> Any:
    """Return the class of widgets; what it derives from comes with an extra."""
    needs("a widget", "anywidget")
    import anywidget
    import traitlets

    class ExploreWidget(anywidget.AnyWidget):  # type: ignore[misc]  # its base comes without types
        """The page in a notebook."""

        _esm = f"{script()}\nexport default {{ render: underturf.render }};\n"
        _css = style_sheet()
        content = traitlets.Dict().tag(sync=True)
        hole = traitlets.Dict().tag(sync=True)
        answer = traitlets.Dict().tag(sync=True)

    return ExploreWidget
