"""Benchmarks: whole runs, compared as ratios within one run."""
