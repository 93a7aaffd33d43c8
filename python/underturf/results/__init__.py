"""What `Layouts` answer to the questions before a dig: frozen results, one file each.

Every result is compared by its content, holds rows that can be iterated over, and has ``table()`` (a DataFrame), ``plot()``,
``save()`` and ``load()``. What the reader of a result has to know stands in its attributes and is never lost: a result goes whole
into every method that takes digs.
"""

from underturf.results.assessment import AssessedDig, Assessment
from underturf.results.base import Result
from underturf.results.metal_lines import MetalLine, MetalLines
from underturf.results.probe_plan import PlannedProbe, ProbePlan
from underturf.results.ranking import RankedDig, Ranking
from underturf.results.sensitivity import Effect, Sensitivity
from underturf.results.spots import Spot, Spots
from underturf.results.sweep_plan import PlannedSweep, SweepPlan
from underturf.results.valve_plan import RankedValve, ValvePlan

__all__ = [
    "AssessedDig",
    "Assessment",
    "Effect",
    "MetalLine",
    "MetalLines",
    "PlannedProbe",
    "PlannedSweep",
    "ProbePlan",
    "RankedDig",
    "RankedValve",
    "Ranking",
    "Result",
    "Sensitivity",
    "Spot",
    "Spots",
    "SweepPlan",
    "ValvePlan",
]
