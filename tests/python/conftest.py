"""Layouts that several files of tests look at, drawn once."""

from __future__ import annotations

import pytest
from sheets import EXAMPLES

import underturf as ut


@pytest.fixture(scope="session")
def sampled():
    """Layouts of each example that the sheet for the crew is tested on."""
    return {name: ut.sample_layouts(ut.read_site(ut.example(name)), draws=200, seed=3) for name in EXAMPLES}
