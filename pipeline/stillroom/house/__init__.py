"""A house: its settings, its files, and a house to begin with."""
