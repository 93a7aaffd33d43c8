"""The map of the sheet, drawn with matplotlib (extra ``plot``) as vector pictures that paper and browser hold alike."""

from underturf.crew.drawing.map import draw_map, limits
from underturf.crew.drawing.picture import Picture, page_map, scale_map

__all__ = ["Picture", "draw_map", "limits", "page_map", "scale_map"]
