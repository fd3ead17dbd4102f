"""What TOML text says; values as TOML text, by tomlkit, where what does not show on a terminal is spelt out."""

from __future__ import annotations

import json
import tomllib
from typing import Any


def parsed(text: str) -> dict[str, Any]:
    """What a text of TOML says; all of it can be told as JSON.

    Raises:
        ValueError: it is no TOML, or beyond what anyone would write.
    """
    try:
        raw = tomllib.loads(text)
        json.dumps(raw, default=str)
    except tomllib.TOMLDecodeError:
        raise
    except RecursionError:
        raise ValueError("it is nested too deep") from None
    except ValueError:
        raise ValueError("a number in it has too many digits") from None
    return raw


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
