"""Specs and what is in them: versions, composition, figures, cost, amounts."""
