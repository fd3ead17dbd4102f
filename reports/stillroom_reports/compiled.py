"""Templates that were compiled before, kept in the user's cache folder: compiling takes as long as filling them in."""

from __future__ import annotations

import contextlib
import hashlib
from pathlib import Path
from typing import TYPE_CHECKING

from jinja2 import BytecodeCache

from stillroom.errors import UsageError
from stillroom.files import existing_folder, write_whole

if TYPE_CHECKING:
    from jinja2.bccache import Bucket


class Compiled(BytecodeCache):
    """Templates by name; a file that cannot be read or written only costs compiling again.

    That what is kept was compiled of this very source, by this Python and this Jinja, is looked at by Jinja.
    """

    def load_bytecode(self, bucket: Bucket) -> None:
        """What is kept of the template, where it is whole."""
        with contextlib.suppress(OSError):
            digest, _, code = _file(bucket).read_bytes().partition(b"\n")
            if digest == _digest(code):
                bucket.bytecode_from_string(code)

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep it for the next time."""
        code = bucket.bytecode_to_string()
        with contextlib.suppress(UsageError):
            existing_folder(_file(bucket).parent)
            write_whole(_file(bucket), _digest(code) + b"\n" + code)


def _file(bucket: Bucket) -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("stillroom") / "templates" / bucket.key


def _digest(code: bytes) -> bytes:
    return hashlib.sha256(code).hexdigest().encode("ascii")
