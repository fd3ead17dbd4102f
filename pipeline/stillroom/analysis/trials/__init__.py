"""Difference and preference tests: counted, tested, and put on the scale of d'."""
