"""What the sheet says of what feeds an outlet and of what lies beside a control wire."""

from __future__ import annotations

import pytest
from sheets import plan_of

import underturf as ut
from underturf.crew.blocks import Items, Text
from underturf.crew.content import content, fed_indoors
from underturf.crew.metal import beside_wire


def layouts(fed=None, flags="control_wire", **settings):
    """A lawn beside a house with a bib on its wall, and a row of flags."""
    document = {
        "format": "underturf-site/2",
        "units": "m",
        "settings": settings,
        "boundary": [[0, 0], [16, 0], [16, 12], [0, 12]],
        "heads": [{"id": f"h{k}", "x": 2 + 4 * k, "y": 6, "zone": "1"} for k in range(4)],
        "valve_boxes": [{"id": "box", "x": 15, "y": 2, "zones": ["1"]}],
        "obstacles": [{"kind": "building", "outline": [[0, 9], [10, 9], [10, 12], [0, 12]]}],
        "outlets": [{"id": "bib", "x": 5, "y": 8.95, "kind": "hose_bib", "fed": fed}],
        "flags": [{"x": 2.0 + 1.2 * k, "y": 2 + 0.03 * (k % 3), "class": flags} for k in range(6)],
        "digs": [{"id": "oak", "x": 12, "y": 8, "radius": 0.4, "depth": 0.5}],
    }
    return ut.sample_layouts(ut.Site.from_dict(document), draws=200, seed=3)


@pytest.fixture(scope="module")
def plan():
    return plan_of(layouts(house_fed_share=0.7))


def items_of(plan):
    return {name: words for block in content(plan) if isinstance(block, Items) for name, words in block.items}


def test_the_sheet_names_outlets_that_the_house_may_feed(plan):
    """By the setting, by the document, and not at all. Planted fault: an outlet fed through the ground is not named."""
    perhaps = "Perhaps fed from inside the house (70 % before any probe): hose bib bib. Look where the pipe comes from."
    assert items_of(plan)["Outlets"].replace("\u00a0", " ") == perhaps
    told = plan_of(layouts("house"))
    assert items_of(told)["Outlets"] == "Fed from inside the house, so that no pipe to it counts: hose bib bib."
    ground = plan_of(layouts("ground"))
    assert fed_indoors(ground) == ""
    assert "Outlets" not in items_of(ground)


def test_the_sheet_says_that_the_mainline_lies_with_a_control_wire(plan):
    """Planted fault: flags of a gas line say nothing of a mainline."""
    words = " ML1 is control wire: the mainline commonly lies in the same trench (80 % of layouts)."
    assert beside_wire(plan).replace("\u00a0", " ") == words
    said = " ".join(block.text for block in content(plan) if isinstance(block, Text))
    assert beside_wire(plan) in said
    assert beside_wire(plan_of(layouts(flags="gas"))) == ""


def test_an_accuracy_at_95_per_cent_counts_as_its_standard_deviation():
    """In Python as in a file: the same draws as of the standard deviation that it says. Planted fault: one as large as it."""
    flags = [{"x": 3.0 * k, "y": 1.0} for k in range(5)]

    def courses(**good):
        document = {"format": "underturf-site/2", "units": "ft", "flags": [{**flag, **good} for flag in flags]}
        site = ut.Site.from_dict(document)
        return site, ut.sample_layouts(site, draws=50, seed=3).segments()

    site, by_accuracy = courses(accuracy_95="0.5 m")
    _, by_sd = courses(sd=f"{0.5 / 2.447746830680816} m")
    _, as_large = courses(sd="0.5 m")
    assert abs(by_accuracy["x0_m"].sum() - by_sd["x0_m"].sum()) < 1e-6
    assert abs(by_accuracy["x0_m"].sum() - as_large["x0_m"].sum()) > 1e-3
    assert site.to_dict()["flags"][0]["accuracy_95"] == "0.5 m"
    assert site.flags["accuracy_95_m"].tolist() == pytest.approx([0.5] * 5)
    with pytest.raises(ut.SiteError, match=r"flags\[0\]: give at most one of: sd; accuracy_95"):
        courses(sd=0.1, accuracy_95=0.2)
