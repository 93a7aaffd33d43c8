"""The map of the sheet, drawn with matplotlib (extra ``plot``) as vector pictures that paper and browser hold alike."""

from underturf.crew.drawing.map import draw_map
from underturf.crew.drawing.picture import Picture, detail_maps, page_map, scale_map

__all__ = ["Picture", "detail_maps", "draw_map", "page_map", "scale_map"]
