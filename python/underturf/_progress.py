"""Progress of long calls: a bar where somebody watches, a callback where a program does.

The engine calls ``progress(done, total)`` about 40 times a second on the thread that made the call; an exception
raised there stops the run. That is also how to cancel a run from a thread that is not Python's main one, where
Ctrl-C does not arrive.
"""

from __future__ import annotations

import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TypeAlias

__all__ = ["Progress", "progress_callback"]

Progress: TypeAlias = bool | Callable[[int, int], object] | None

#: A bar appears only for calls longer than this, in seconds.
DELAY_S = 0.5


@contextmanager
def progress_callback(progress: Progress, what: str) -> Iterator[Callable[[int, int], object] | None]:
    """Yield the callback to hand to the engine, and close the bar it may draw.

    Parameters
    ----------
    progress : bool, callable or None
        A callable is used as it is. ``True`` draws a bar, ``False`` none; ``None`` draws one if tqdm is installed
        and somebody can see it (a terminal or a notebook).
    what : str
        Words in front of the bar.
    """
    if progress is None:
        progress = watched()
    if callable(progress):
        yield progress
        return
    bar = make_bar(what) if progress else None
    if bar is None:
        yield None
        return

    def advance(done: int, total: int) -> None:
        if total and bar.total != total:
            bar.total = total
        bar.update(done - bar.n)

    with bar:
        yield advance


def watched() -> bool:
    """Whether somebody can see a bar: a terminal or a notebook."""
    return "ipykernel" in sys.modules or (sys.stderr is not None and sys.stderr.isatty())


def make_bar(what: str) -> Any:
    """Make a tqdm bar, or None where tqdm is not installed."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # without the widgets package the notebook bar falls back to text, and says so
        try:
            from tqdm.auto import tqdm
        except ImportError:
            return None
    return tqdm(
        desc=what,
        total=1,
        delay=DELAY_S,
        leave=False,
        unit="",
        bar_format="{l_bar}{bar}| {elapsed}<{remaining}",
    )
