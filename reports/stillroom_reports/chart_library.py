"""The one copy of the chart library that a page carries."""

from __future__ import annotations

import contextlib
import hashlib
from importlib.metadata import version
from pathlib import Path
from typing import Final

from stillroom.errors import UsageError
from stillroom.files import existing_folder, write_whole

VEGA_LITE: Final = "6.4"
"""Version of Vega-Lite on the page; Altair writes for it."""


def chart_library() -> str:
    """JavaScript that sets `window.vegaEmbed`: Vega, Vega-Lite and Vega-Embed in one, safe inside a script element.

    Bundling takes about a second, so the text is kept in the user's cache folder; a cache that cannot be read, is
    damaged or cannot be written only costs that second again.
    """
    kept = _cache_file()
    with contextlib.suppress(OSError, ValueError):
        digest, _, text = kept.read_text(encoding="utf-8").partition("\n")
        if digest == _digest(text):
            return text
    text = _bundled()
    with contextlib.suppress(UsageError):
        existing_folder(kept.parent)
        write_whole(kept, f"{_digest(text)}\n{text}")
    return text


def _cache_file() -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("stillroom") / f"charts-{version('vl-convert-python')}-{VEGA_LITE}.js"


def _bundled() -> str:
    import vl_convert

    text = vl_convert.javascript_bundle("window.vegaEmbed = vegaEmbed;", vl_version=VEGA_LITE)
    # A browser reads these marks inside a script as the script's end or as a comment, wherever they stand.
    return text.replace("\r\n", "\n").replace("</script", "<\\/script").replace("<!--", "<\\!--")


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8")).hexdigest()
