"""The sheet for the crew: what a digger takes to the ground, on one or two pages, as HTML, PDF or PNG."""

from underturf.crew.lengths import tape_text
from underturf.crew.sheet import crew_sheet

__all__ = ["crew_sheet", "tape_text"]
