"""Rows added to files that are kept by hand: what `reading` reads, written as it stands there."""
