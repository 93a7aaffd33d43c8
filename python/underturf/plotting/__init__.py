"""Plans and maps with matplotlib (extra ``plot``): for paper and screens, for colour-blind readers, in the document's units."""

from underturf.plotting.chance_map import plot_map
from underturf.plotting.site_plan import plot_site
from underturf.plotting.zones import plot_zones

__all__ = ["plot_map", "plot_site", "plot_zones"]
