"""A small site whose zones are not known, for the tests of zones."""

from __future__ import annotations

import underturf as ut


def few_heads(site: ut.Site) -> ut.Site:
    """Four heads of the same site and one at its far end, on two valves: quick where many runs are needed."""
    document = site.to_dict()
    heads = [*document["heads"][:4], {"id": "far", "x": 20.0, "y": 15.0, "kind": "spray"}]
    boxes = [{"id": "box", "x": 4.0, "y": 5.0, "valves": 2}]
    digs = [{"id": "rowan", "x": 6.2, "y": 0.6, "radius": 0.4, "depth": 0.4}]
    return ut.Site.from_dict({**document, "heads": heads, "valve_boxes": boxes, "digs": digs})
