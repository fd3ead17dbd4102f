"""Writes what the code knows into the documentation: `python -m docs.making`."""

from __future__ import annotations

from docs.making import pages

for path, text, made in pages():
    if made != text:
        path.write_text(made, encoding="utf-8")
        print(f"{path} has changed.")
