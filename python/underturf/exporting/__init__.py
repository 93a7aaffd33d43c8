"""Results for other programs: maps of a GIS, drawings, phones, tables and rasters, a file a format.

`layers` turns a site, layouts or a result into layers: names, shapes on the site plane and attributes. A format writes layers and
knows no result. `dispatch` tells by the ending of a name which format is meant. What everything leaves with is in `about`.
"""

from underturf.exporting.dispatch import ENDINGS, export_to

__all__ = ["ENDINGS", "export_to"]
