"""Source plugins: one module for each kind of file."""
