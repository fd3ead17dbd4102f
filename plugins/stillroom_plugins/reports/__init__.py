"""Report plugins: one module for each question."""
