import pytest

from stillroom_reports import chart_library as module
from stillroom_reports.chart_library import chart_library


@pytest.fixture
def bundled(monkeypatch, tmp_path):
    """A library that is quick to bundle, an empty cache, and how often it was bundled."""
    calls = []
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(module, "_bundled", lambda: calls.append(1) or "library();\n")
    return calls


def test_the_library_is_one_script_for_the_page():
    text = chart_library()
    assert "vegaEmbed" in text
    assert "</script" not in text
    assert "<!--" not in text
    assert "\r" not in text
    assert text == chart_library()


def test_it_is_bundled_once(bundled):
    assert [chart_library() for _ in range(3)] == ["library();\n"] * 3
    assert len(bundled) == 1


@pytest.mark.parametrize("damage", [b"", b"half a li", b"\xff\xfe", b"0" * 64 + b"\nalert(1)"])
def test_a_damaged_cache_is_made_anew(bundled, damage):
    chart_library()
    module._cache_file().write_bytes(damage)
    assert chart_library() == "library();\n"
    assert len(bundled) == 2
    assert chart_library() == "library();\n"
    assert len(bundled) == 2


def test_a_cache_that_cannot_be_written_does_not_matter(bundled, tmp_path):
    (tmp_path / "cache").write_text("a file where the folder should be")
    assert [chart_library(), chart_library()] == ["library();\n"] * 2
    assert len(bundled) == 2
