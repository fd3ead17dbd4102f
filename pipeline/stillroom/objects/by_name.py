"""A plugin's function, or where it is: so that a plugin need not import what is not asked for."""

from __future__ import annotations

import pkgutil
from collections.abc import Callable

from typing_extensions import TypeVar

Result = TypeVar("Result")


def function(of: Callable[..., Result] | str) -> Callable[..., Result]:
    """A function, itself or by where it is: 'package.module:function'."""
    return pkgutil.resolve_name(of) if isinstance(of, str) else of
