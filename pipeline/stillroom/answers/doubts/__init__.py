"""Everything in the data that is in doubt, in one place."""
