"""Batches of preparations: what to make, how long they keep, whether they are used, what is lost."""
