"""Holm's adjustment against statsmodels and a published example."""

from __future__ import annotations

import pytest
from statsmodels.stats.multitest import multipletests

from stillroom.analysis.holm import holm


def test_holm_is_statsmodels() -> None:
    # p-values of Benjamini & Hochberg (1995), JRSS B 57:289; Holm rejects 3 of them at 5 %.
    p = [
        0.0344,
        0.0001,
        0.0459,
        0.0004,
        0.3240,
        0.0019,
        0.4262,
        0.0095,
        0.5719,
        0.0201,
        0.6528,
        0.0278,
        0.7590,
        0.0298,
        1,
    ]
    assert holm(p) == pytest.approx(multipletests(p, method="holm")[1])
    assert int((holm(p) <= 0.05).sum()) == 3
    assert holm([]).tolist() == []
