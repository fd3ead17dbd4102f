"""Drinks on the menu: how they sell, what they earn, and what changed."""
