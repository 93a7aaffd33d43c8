"""Every notebook runs from top to bottom, and is stored without outputs.

With `UNDERTURF_NOTEBOOKS` set to a folder they are kept there with their outputs, for the documentation.
"""

import os
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))


def test_there_are_notebooks():
    assert NOTEBOOKS


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook_runs(path):
    notebook = nbformat.read(path, as_version=4)
    assert all(not cell.outputs for cell in notebook.cells if cell.cell_type == "code"), "stored with outputs"
    NotebookClient(notebook, timeout=120, kernel_name="python3").execute()
    assert any(cell.outputs for cell in notebook.cells if cell.cell_type == "code")
    if folder := os.environ.get("UNDERTURF_NOTEBOOKS"):
        Path(folder).mkdir(parents=True, exist_ok=True)
        nbformat.write(notebook, Path(folder) / path.name)
