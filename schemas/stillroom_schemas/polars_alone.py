"""pandera for polars, without what it loads for pandas: a tenth of the time.

Where pandas is installed for other work, pandera makes itself ready for it, with numpy, Arrow and Spark; nothing of
ours is checked by them. So it is told that they are not there, and goes the way that it has where polars alone is
installed. What it then lacks it has as soon as somebody asks it for that.
"""

from __future__ import annotations

import importlib
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from importlib.machinery import ModuleSpec
from types import ModuleType
from typing import Any, Final

import polars  # noqa: F401  # it looks for numpy when it is imported, and has to find it

HIDDEN: Final = ("numpy", "pandas")


class _Hiding:
    """A finder of modules that says of some, to the thread that made it, that they are not installed."""

    def __init__(self) -> None:
        self.thread = threading.get_ident()

    def find_spec(
        self, name: str, path: Sequence[str] | None = None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """Refuses what is hidden, in the words that pandera goes by; leaves all else to the finders behind it."""
        if name in HIDDEN and threading.get_ident() == self.thread:
            raise ModuleNotFoundError(f"No module named '{name}'", name=name)
        return None


@contextmanager
def _hidden() -> Iterator[None]:
    hiding = _Hiding()
    sys.meta_path.insert(0, hiding)
    try:
        yield
    finally:
        sys.meta_path.remove(hiding)


def _whole_once_asked(module: ModuleType) -> None:
    """Let a module load all of itself when it is asked for what it lacks."""

    def found(name: str) -> Any:
        if name.startswith("__"):  # asked of any module by those who look what it is
            raise AttributeError(name)
        del module.__dict__["__getattr__"]
        return getattr(importlib.reload(module), name)

    module.__dict__["__getattr__"] = found


if "pandera" in sys.modules:  # somebody has it already, with all that it found
    import pandera.polars as pa
    from pandera.polars import PolarsData
else:
    with _hidden():
        import pandera.polars as pa
        from pandera.polars import PolarsData
    for name in ("pandera.typing", "pandera"):  # the two modules that offer what is there of each library
        _whole_once_asked(sys.modules[name])
if sys.modules.get("pyspark.pandas") is None:  # the way to it is open again
    sys.modules.pop("pyspark.pandas", None)

__all__ = ["PolarsData", "pa"]
