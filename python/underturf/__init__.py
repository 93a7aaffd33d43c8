"""underturf: the chance that a hole dug on irrigated ground strikes a line nobody can detect.

Read a site document, sample the pipe layouts that agree with it, and ask about digs:

>>> import underturf as ut
>>> site = ut.read_site(ut.example("green"))
>>> layouts = ut.sample_layouts(site, draws=50, seed=7)
>>> assessment = layouts.assess()
>>> all(0 < dig.p_strike < 1 for dig in assessment)
True

Lengths are metres, x east and y north, on a flat site plane; documents may be in feet. A probability is not a
clearance: see `CAUTIONS`, which every sheet, plan and map carries.
"""

from importlib.metadata import version

from underturf.cautions import CAUTIONS, caution_text
from underturf.digs import Dig, Hole, Pit, PostHole, Trench
from underturf.errors import (
    ArgumentError,
    ConvergenceError,
    DigError,
    DocumentSyntaxError,
    EffortError,
    InternalError,
    LayoutError,
    MemoryLimitError,
    SiteError,
    UnderturfError,
)
from underturf.exploring import Exploration
from underturf.keeping.reading import load
from underturf.layouts import CLASSES, Layouts
from underturf.maps import Shift, StrikeMap
from underturf.options import (
    ExploreOptions,
    FoundLine,
    ProbeOptions,
    ProbeTool,
    Running,
    SensitivityOptions,
    SheetOptions,
    SpotOptions,
    SweepOptions,
    TreeRules,
    default_weights,
)
from underturf.probe_files import read_probes, write_probes
from underturf.reading import example, examples, read_site
from underturf.report import chance_text, text_table
from underturf.results import (
    AssessedDig,
    Assessment,
    Effect,
    MetalLine,
    MetalLines,
    PlannedProbe,
    PlannedSweep,
    ProbePlan,
    RankedDig,
    RankedValve,
    Ranking,
    Result,
    Sensitivity,
    Spot,
    Spots,
    SweepPlan,
    ValvePlan,
)
from underturf.sample import sample_layouts
from underturf.settings import plausibility_table, settings_table
from underturf.site import Note, Site
from underturf.survey import ReportRow, Survey, SurveyReport, read_survey
from underturf.tapes import TapeBlunder, TapeNotes, TapePoint, TapeSolution, read_tapes
from underturf.trees import (
    RootBall,
    Tree,
    combined_stem_m,
    critical_root_zone_m,
    root_ball,
    root_protection_m,
    setbacks,
)

#: Version of the package.
__version__ = version("underturf")

__all__ = [
    "CAUTIONS",
    "CLASSES",
    "ArgumentError",
    "AssessedDig",
    "Assessment",
    "ConvergenceError",
    "Dig",
    "DigError",
    "DocumentSyntaxError",
    "Effect",
    "EffortError",
    "Exploration",
    "ExploreOptions",
    "FoundLine",
    "Hole",
    "InternalError",
    "LayoutError",
    "Layouts",
    "MemoryLimitError",
    "MetalLine",
    "MetalLines",
    "Note",
    "Pit",
    "PlannedProbe",
    "PlannedSweep",
    "PostHole",
    "ProbeOptions",
    "ProbePlan",
    "ProbeTool",
    "RankedDig",
    "RankedValve",
    "Ranking",
    "ReportRow",
    "Result",
    "RootBall",
    "Running",
    "Sensitivity",
    "SensitivityOptions",
    "SheetOptions",
    "Shift",
    "Site",
    "SiteError",
    "Spot",
    "SpotOptions",
    "Spots",
    "StrikeMap",
    "Survey",
    "SurveyReport",
    "SweepOptions",
    "SweepPlan",
    "TapeBlunder",
    "TapeNotes",
    "TapePoint",
    "TapeSolution",
    "Tree",
    "TreeRules",
    "Trench",
    "UnderturfError",
    "ValvePlan",
    "caution_text",
    "chance_text",
    "combined_stem_m",
    "critical_root_zone_m",
    "default_weights",
    "example",
    "examples",
    "load",
    "plausibility_table",
    "read_probes",
    "read_site",
    "read_survey",
    "read_tapes",
    "root_ball",
    "root_protection_m",
    "sample_layouts",
    "setbacks",
    "settings_table",
    "text_table",
    "write_probes",
]
