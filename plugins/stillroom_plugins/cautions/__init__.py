"""Caution plugins: what to be careful of in a spec."""
