"""Analysis: pure functions, frames in, frames out; no file, no store, no chart."""
