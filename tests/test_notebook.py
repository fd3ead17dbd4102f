"""The notebook in the documentation runs from top to bottom."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

NOTEBOOK = Path(__file__).parents[1] / "docs" / "a-season-in-a-notebook.ipynb"


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_the_notebook_runs_and_shows_what_it_says(tmp_path, monkeypatch):
    monkeypatch.setenv("JUPYTER_PLATFORM_DIRS", "1")
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path / "ipython"))
    notebook = nbformat.read(NOTEBOOK, as_version=4)
    NotebookClient(notebook, timeout=300, resources={"metadata": {"path": str(tmp_path)}}).execute()
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert all(output.output_type != "error" for cell in code for output in cell.outputs)
    shown = [output.data for cell in code for output in cell.outputs if "data" in output]
    assert any("<svg" in data.get("text/html", "") for data in shown), "a report shows its charts"
    assert "12 serves" in code[-1].outputs[0].text
