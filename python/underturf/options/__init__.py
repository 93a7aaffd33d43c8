"""What can be asked of a method besides its digs, in classes by what it is about; everything has a default.

Values are checked when an option is made. Lengths may be texts with a unit (``"2 ft"``, ``"30 cm"``) and are kept in metres.
"""

from underturf.options.checks import chosen
from underturf.options.exploring import ExploreOptions
from underturf.options.probes import FoundLine, Objective, ProbeOptions, ProbeTool, Tool
from underturf.options.running import Running
from underturf.options.sensitivity import MovedSettings, SensitivityOptions
from underturf.options.sheets import SheetOptions
from underturf.options.spots import SpotOptions
from underturf.options.sweeps import SweepFor, SweepOptions
from underturf.options.trees import SETBACK, SETBACK_LIMIT, TreeRules, tree_rules
from underturf.options.weights import Weights, default_weights, weight_list

__all__ = [
    "SETBACK",
    "SETBACK_LIMIT",
    "ExploreOptions",
    "FoundLine",
    "MovedSettings",
    "Objective",
    "ProbeOptions",
    "ProbeTool",
    "Running",
    "SensitivityOptions",
    "SheetOptions",
    "SpotOptions",
    "SweepFor",
    "SweepOptions",
    "Tool",
    "TreeRules",
    "Weights",
    "chosen",
    "default_weights",
    "tree_rules",
    "weight_list",
]
