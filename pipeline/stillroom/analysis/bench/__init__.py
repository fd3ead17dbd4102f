"""The next version of a spec on the bench: its lines changed, or amounts found that meet aims."""
