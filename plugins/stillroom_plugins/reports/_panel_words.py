"""Words that several parts of the panel report use."""

from __future__ import annotations

from stillroom_plugins.reports._words import number


def p_value(p: float) -> str:
    """A p-value as people read it.

    >>> p_value(0.00004), p_value(0.0312)
    ('p < 0.001', 'p = 0.031')
    """
    return "p < 0.001" if p < 0.001 else f"p = {number(p, 3)}"
