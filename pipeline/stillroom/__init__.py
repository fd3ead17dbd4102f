"""Stillroom: which house preparations sell, go to waste, or need reworking.

`hookimpl` marks a plugin's hooks; the objects that hooks return are in `stillroom.objects`.
"""

from __future__ import annotations

from typing import Final

import pluggy

__version__: Final = "0.1.0"
PROJECT: Final = "stillroom"

hookimpl = pluggy.HookimplMarker(PROJECT)

__all__ = ["PROJECT", "__version__", "hookimpl"]
