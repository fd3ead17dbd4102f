"""The next menu: what happens if this goes and that comes, which drinks to choose, what to stop making when."""
