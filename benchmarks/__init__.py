"""Benchmarks: whole runs, compared as ratios within one run; libraries work as they do under the command line."""

from stillroom.cli import choose_threads_and_memory

choose_threads_and_memory()
