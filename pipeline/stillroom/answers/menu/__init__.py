"""The next menu: what-ifs beside today's menu."""
