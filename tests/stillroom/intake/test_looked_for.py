"""A file with rows that wait is read again when what they lack may have come, and only then."""

from __future__ import annotations

from pathlib import Path

import pytest

from house_builder import books, csv_text, good, make_house, put, reasons, take_in
from stillroom.intake import file_intake

pytestmark = pytest.mark.usefixtures("rows_alone")


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Tables whose rows are checked, batch by batch."""
    checked: list[str] = []
    check = file_intake.check

    def noted(batch, wording, *rest):  # type: ignore[no-untyped-def]
        checked.append(wording.table.name)
        return check(batch, wording, *rest)

    monkeypatch.setattr(file_intake, "check", noted)
    return checked


def test_rows_without_a_partner_are_read_again_when_files_of_partners_change(tmp_path: Path, read: list[str]) -> None:
    lines = csv_text([good("spec_line", version=v) for v in (1, 2)])
    house = make_house(tmp_path, spec=csv_text([good("spec")]), spec_line=lines)
    take_in(house)
    assert [row[0] for row in reasons(house)] == [3]
    assert read == ["spec", "spec_line"]
    for _ in range(2):
        assert [one.status for one in take_in(house)] == ["unchanged", "unchanged"]
    assert len(read) == 2
    put(tmp_path, "spec/more.csv", csv_text([good("spec", spec="Other")]))
    take_in(house)
    assert read[2:] == ["spec", "spec_line"]  # it might have been the one, and is not
    take_in(house)
    assert len(read) == 4
    put(tmp_path, "ingredient/ingredient.csv", csv_text([good("ingredient")]))
    take_in(house)
    assert read[4:] == ["ingredient"]  # which no line refers to
    put(tmp_path, "spec/two.csv", csv_text([good("spec", version=2)]))
    take_in(house)
    assert read[5:] == ["spec", "spec_line"]
    assert reasons(house) == []
    assert [line.rows_landed for line in books(house) if line.table_name == "spec_line"] == [1, 2]


def test_an_event_without_its_label_waits_for_batches_and_for_other_events(tmp_path: Path, read: list[str]) -> None:
    batches = [good("batch", batch=label, made_on=f"2026-03-0{day}") for label, day in (("A", 1), ("B", 2))]
    spoiled = {"preparation": "Fig Cordial", "happened_on": "2026-03-05", "event": "spoiled"}
    house = make_house(tmp_path, batch=csv_text(batches), batch_event=csv_text([spoiled]))
    take_in(house)
    assert [row[0] for row in reasons(house)] == [2]  # of A or of B
    take_in(house)
    assert read == ["batch", "batch_event"]
    put(tmp_path, "batch_event/first.csv", csv_text([{"batch": "A", "happened_on": "2026-03-03", "event": "used up"}]))
    take_in(house)
    take_in(house)
    assert reasons(house) == []
    before = len(read)
    take_in(house)
    assert len(read) == before
