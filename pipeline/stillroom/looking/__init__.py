"""Looks at a file before it is taken in: what it is, how it is written, what would land, and the settings for it."""
