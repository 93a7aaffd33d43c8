"""What several files of tests look at: layouts, drawn once, and the hooks of the binding."""

from __future__ import annotations

import pytest
from sheets import EXAMPLES

import underturf as ut
from underturf import _core


@pytest.fixture(scope="session")
def sampled():
    """Layouts of each example that the sheet for the crew is tested on."""
    return {name: ut.sample_layouts(ut.read_site(ut.example(name)), draws=200, seed=3) for name in EXAMPLES}


@pytest.fixture(scope="session")
def hooks():
    """The engine with the functions that only tests call; a build without them fails, since a skip would prove nothing."""
    if not hasattr(_core, "_spin_for_test"):
        pytest.fail(
            f"{_core.__file__} was built without the hooks of the tests; build it with the feature: "
            "MATURIN_PEP517_ARGS='--features test-hooks' pip install --editable ."
        )
    return _core


@pytest.fixture
def no_work(monkeypatch):
    """Nothing may be sampled: what is refused is refused before."""

    def never(*_: object, **__: object) -> None:
        raise AssertionError("layouts were sampled before the mistake was found")

    monkeypatch.setattr(_core, "sample_layouts", never)
