"""What a program can ask of a house: all that the command line can, as frames and plain objects.

    >>> import stillroom
    >>> house = stillroom.open("my-house")        # doctest: +SKIP
    >>> house.view("daily_serves")                # doctest: +SKIP

Heavy imports live inside the methods, so that importing this costs a command nothing.
"""

from __future__ import annotations

from pathlib import Path

from stillroom.api.doubts import Doubts
from stillroom.api.looking import Looking
from stillroom.api.reports import Reports
from stillroom.api.specs import Specs


class OpenHouse(Reports, Specs, Looking, Doubts):
    """A house to ask. Every method opens the store for as long as it works, and raises a `StillroomError` in words."""


def open_house(folder: str | Path = ".") -> OpenHouse:
    """The house at or above a folder, with all plugins.

    Raises:
        SettingsError: there is no house, or its settings say what they may not.
    """
    from stillroom.house.house import find_house
    from stillroom.house.settings import load_house
    from stillroom.plugins.registry import load_registry

    found, registry = find_house(Path(folder)), load_registry()
    return OpenHouse(settings=load_house(found, registry), registry=registry)


def new_house(folder: str | Path) -> tuple[str, ...]:
    """Write a house to begin with: settings, blank templates, a guide; gives the faults of plugins left out."""
    from stillroom.house.new_house import write_house
    from stillroom.plugins.registry import load_registry

    registry = load_registry()
    write_house(Path(folder), registry)
    return registry.faults


def demo_house(folder: str | Path) -> None:
    """Write an invented house with a season of data."""
    from stillroom.demo import write_demo

    write_demo(Path(folder))
