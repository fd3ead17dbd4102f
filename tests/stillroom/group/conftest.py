from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from small_houses import make_group
from stillroom.group import session


@pytest.fixture(scope="session")
def spark(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """One local Spark for the whole run; tests that ask for it are skipped where there is none."""
    reason = session.missing()
    if reason:
        pytest.skip(f"no Spark to take groups in with ({reason})")
    with session.opened(make_group(tmp_path_factory.mktemp("spark"), pier=(1,))) as running:
        yield running
