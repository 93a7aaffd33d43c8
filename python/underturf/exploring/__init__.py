"""A page to look at a site with, that answers without a network and without us: content, stored maps, page, widget."""

from underturf.exploring.content import content_of
from underturf.exploring.exploration import Exploration

__all__ = ["Exploration", "content_of"]
