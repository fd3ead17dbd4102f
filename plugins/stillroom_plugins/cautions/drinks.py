"""The built-in cautions: what in a drink or a preparation can hurt someone, each with what it rests on.

They find what they look for by the words of a spec (name, method, note) and the names of what is in it, so a spec that
does not say 'smoked' is not known to be. None of them is a clearance: a spec without a caution is not a safe one.
"""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Caution
from stillroom_plugins.cautions import _contents, _handling, _keeping


@hookimpl
def register_cautions() -> list[Caution]:
    """The built-in set."""
    return [*_keeping.CAUTIONS, *_contents.CAUTIONS, *_handling.CAUTIONS]
