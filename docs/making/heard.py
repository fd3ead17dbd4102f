"""While tests run: hears every finding that a report makes, and where it was made.

python -m pytest -p docs.making.heard --heard=FILE tests/stillroom_plugins
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from stillroom.objects import Finding


def pytest_addoption(parser: pytest.Parser) -> None:
    """The file that takes what was heard."""
    parser.addoption("--heard", required=True)


def pytest_configure(config: pytest.Config) -> None:
    """From now on each finding is written down as it is made."""
    checks = Finding.__post_init__
    path = Path(config.getoption("--heard"))

    def hear(finding: Finding) -> None:
        checks(finding)
        maker = sys._getframe(2).f_code  # past the dataclass's own __init__
        said = (
            maker.co_filename,
            maker.co_qualname.split(".")[0],
            finding.subject,
            finding.sentence,
            finding.do,
            finding.sureness,
        )
        with path.open("a", encoding="utf-8") as heard:
            heard.write(json.dumps(said) + "\n")

    Finding.__post_init__ = hear  # type: ignore[method-assign]
