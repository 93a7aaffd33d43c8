"""Faults of survey files: all of them, each with its file and place, in one error."""

from __future__ import annotations

from underturf.errors import ArgumentError

__all__ = ["Faults"]

#: Faults that one error lists; of more it says how many.
MOST = 100


class Faults:
    """What is wrong with the files, gathered until it is said all at once.

    Examples
    --------
    >>> faults = Faults()
    >>> faults.add("heads.csv", "row 3", "x is missing")
    >>> faults.stop()
    Traceback (most recent call last):
    underturf.errors.ArgumentError: 1 fault in the survey
      heads.csv, row 3: x is missing
    """

    def __init__(self) -> None:
        self.lines: list[str] = []

    def add(self, file: str, place: str, said: object) -> None:
        """Note a fault; a place may be empty."""
        line = f"{file}{', ' if file and place else ''}{place}: {said}"
        if line not in self.lines:
            self.lines.append(line)

    def stop(self) -> None:
        """Raise the error if there is a fault.

        Raises
        ------
        ArgumentError
            With every fault.
        """
        if not self.lines:
            return
        count = "1 fault" if len(self.lines) == 1 else f"{len(self.lines)} faults"
        more = [f"  and {len(self.lines) - MOST} more"] if len(self.lines) > MOST else []
        raise ArgumentError("\n".join([f"{count} in the survey", *(f"  {line}" for line in self.lines[:MOST]), *more]))
