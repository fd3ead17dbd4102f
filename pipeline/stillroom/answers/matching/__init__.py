"""Till names that no drink explains: what each may be, what a person says of it, and the match file that keeps it.

A guess counts for nothing. Only what a person has said stands in the match file, and only that is taken in.
"""
