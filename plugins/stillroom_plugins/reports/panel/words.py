"""Words that several parts of the panel report use."""

from __future__ import annotations

from stillroom_reports.figures import p_text


def p_value(p: float) -> str:
    """A p-value as people read it.

    >>> p_value(0.00004), p_value(0.0312)
    ('p < 0.001', 'p = 0.031')
    """
    text = p_text(p, 3).replace("\u00a0", " ")
    return f"p {text}" if text.startswith("<") else f"p = {text}"
