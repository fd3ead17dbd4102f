"""Files damaged at random: `fuzzing` says how; `make fuzz` tries ten thousand of each table."""

from __future__ import annotations

import pytest

from fuzzing import take_in_damaged
from house_builder import GOOD


@pytest.mark.parametrize("table", GOOD)
def test_no_damaged_file_breaks_an_intake_or_its_sums(table, tmp_path):
    ended = take_in_damaged(table, 15, tmp_path / "house")
    assert ended["landed"] > 0
    assert ended["refused"] > 0
