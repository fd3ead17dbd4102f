"""Stillroom: which house preparations sell, go to waste, or need reworking.

`open` opens a house to ask and to take files in; `hookimpl` marks a plugin's hooks, and the objects that hooks return
are in `stillroom.objects`.
"""

from __future__ import annotations

import importlib
from datetime import date
from typing import TYPE_CHECKING, Any, Final

import pluggy

if TYPE_CHECKING:
    from stillroom.api import OpenHouse
    from stillroom.api import open_house as open

__version__: Final = "0.1.0"
WRITTEN_ON: Final = date(2026, 11, 28)
"""The day of this version: a clock that shows an earlier one is wrong."""
PROJECT: Final = "stillroom"

hookimpl = pluggy.HookimplMarker(PROJECT)

__all__ = ["PROJECT", "OpenHouse", "__version__", "hookimpl", "open"]


def __getattr__(name: str) -> Any:
    """The API, when it is asked for: every module of ours imports this one, and none of them shall import the API."""
    if name in ("OpenHouse", "open"):
        api = importlib.import_module("stillroom.api")
        return api.OpenHouse if name == "OpenHouse" else api.open_house
    raise AttributeError(f"module 'stillroom' has no attribute '{name}'")
