"""Charts that were drawn before, kept in the user's cache folder: one is drawn again only where its data changed."""

from __future__ import annotations

import contextlib
import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Final

from stillroom.errors import UsageError
from stillroom.files import existing_folder, write_whole

MOST: Final = 600
"""Drawings that are kept; those not asked for longest go first."""


class Drawings:
    """Drawings by what they were drawn from; a file that cannot be read or written only costs drawing again."""

    def __init__(self) -> None:
        self._kept = _read()
        self._new = False

    def get(self, key: str, draw: Callable[[], str]) -> str:
        """The drawing of that key, drawn if it is not there."""
        svg = self._kept.pop(key, None)
        if svg is None:
            svg, self._new = draw(), True
        self._kept[key] = svg  # now the last that was asked for
        return svg

    def keep(self) -> None:
        """Write them for the next time, if any is new."""
        if not self._new:
            return
        text = json.dumps(dict(list(self._kept.items())[-MOST:]), ensure_ascii=False)
        with contextlib.suppress(UsageError):
            existing_folder(_file().parent)
            write_whole(_file(), f"{_digest(text)}\n{text}")


def _read() -> dict[str, str]:
    with contextlib.suppress(OSError, ValueError):
        digest, _, text = _file().read_text(encoding="utf-8").partition("\n")
        if digest == _digest(text):
            kept: dict[str, str] = json.loads(text)
            return kept
    return {}


def _file() -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("stillroom") / "drawings.json"


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8")).hexdigest()
