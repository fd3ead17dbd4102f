from __future__ import annotations

from pathlib import Path

import pytest

from sample_document import sample_document
from stillroom.files import write_whole
from stillroom_reports.page import render_page


@pytest.fixture(scope="session")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of the invented document, to look at."""
    path = tmp_path_factory.mktemp("page") / "page.html"
    write_whole(path, render_page(sample_document()))
    return path
