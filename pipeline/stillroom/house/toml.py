"""Values as TOML text, by tomlkit; what does not show on a terminal is spelt out."""

from __future__ import annotations


def toml(value: object) -> str:
    """A value as it stands in a TOML file, on one line.

    >>> print(toml('The "big" one'), toml(("a", "b")), toml(True))
    "The \\"big\\" one" ["a", "b"] true
    """
    import tomlkit

    return spelt_out(tomlkit.item(value).as_string())


def spelt_out(text: str) -> str:
    """TOML text without characters that do not show; line ends stay."""
    return "".join(c if c.isprintable() or c == "\n" else f"\\U{ord(c):08X}" for c in text)
