"""What a plugin hands over is refused where it could not be shown."""

import pytest

from stillroom.objects import Finding


def finding(**changed):
    return Finding(**{"sentence": "It falls.", "evidence": "13 weeks.", **changed})


@pytest.mark.parametrize("field", ["sentence", "evidence", "subject", "do", "why", "mend", "statistics"])
def test_a_findings_texts_must_be_text(field):
    with pytest.raises(TypeError, match=f"a finding's {field} must be text, not None"):
        finding(**{field: None})


@pytest.mark.parametrize("field", ["money", "weight"])
def test_a_findings_money_and_weight_must_be_numbers(field):
    with pytest.raises(ValueError, match=f"a finding's {field} must be a number, not nan"):
        finding(**{field: float("nan")})


def test_money_that_is_not_known_is_none():
    assert finding().money is None
    assert finding(money=0).money == 0
