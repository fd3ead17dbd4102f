"""A draft of the next version of a spec."""
