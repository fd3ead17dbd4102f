"""`group.toml`: which houses a group has, where its facts are kept, and a spec book that they share."""

from __future__ import annotations

import json
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Annotated, Final

from pydantic import Field, ValidationError

from stillroom.errors import SettingsError
from stillroom.house.base import Settings, Text
from stillroom.house.complaints import Written
from stillroom.house.model import OneOrSeveral, SourceSettings
from stillroom.house.toml import parsed

GROUP_NAME: Final = "group.toml"


class GroupTable(Settings):
    """The group."""

    name: Text = Field(description="the group's name")
    currency: str = Field(
        default="", description="shown beside money; every house keeps its books in it, as nothing is converted"
    )
    facts: Text = Field(
        default="facts", description="the folder or address of the tables of facts, such as `s3://bucket/facts`"
    )
    kept: Text = Field(
        default="kept",
        description="the folder of what is kept of each house: a copy of its files, and its store; on a cluster a "
        "folder that every machine has",
    )
    spark: Text = Field(
        default="local[*]", description='where Spark runs: this machine, or a cluster such as `"spark://host:7077"`'
    )


class HousesTable(Settings):
    """The houses."""

    at: Annotated[tuple[Text, ...], OneOrSeveral] = Field(
        description='folders or addresses of houses, or patterns: `["houses/*", "s3://bucket/houses/*"]`; the last '
        "part is the house's name in the group"
    )


class BookTable(Settings):
    """The spec book that the houses share."""

    folder: Text = Field(description="the folder or address that its files are in")
    own_versions: tuple[Text, ...] = Field(
        default=(),
        description='houses whose own spec books count, too, and before the shared one: `["pier-*"]`; of all others '
        "the shared book is the only one",
    )
    source: tuple[SourceSettings, ...] = Field(
        min_length=1, description="its sources, as in `stillroom.toml`; patterns are inside its folder"
    )


class GroupFile(Settings):
    """`group.toml`."""

    group: GroupTable
    houses: HousesTable
    book: BookTable | None = None


@dataclass(frozen=True, kw_only=True)
class Group:
    """A group's folder and what its settings say, with every place as a whole path or an address."""

    folder: Path
    name: str
    currency: str
    facts: str
    kept: Path
    spark: str
    at: tuple[str, ...]
    book: BookTable | None

    def make_kept(self) -> Path:
        """The folder of what is kept of houses, made where it is not there: nobody else may read names in it."""
        self.kept.mkdir(mode=0o700, parents=True, exist_ok=True)
        return self.kept

    def has_own_versions(self, house: str) -> bool:
        """Whether a house's own spec book counts."""
        return self.book is None or any(fnmatchcase(house, pattern) for pattern in self.book.own_versions)


def load_group(start: Path) -> Group:
    """The group at or above a folder.

    Raises:
        SettingsError: there is no group, its file is not TOML, or a setting is wrong; the sentence names the setting.
    """
    folder = _found(start.resolve())
    path = folder / GROUP_NAME
    try:
        text = path.read_text(encoding="utf-8-sig")
        raw = parsed(text)
    except (OSError, ValueError) as error:
        raise SettingsError(f"{path} cannot be read: {error}.") from None
    try:
        file = GroupFile.model_validate_json(json.dumps(raw, default=str))
    except ValidationError as error:
        raise Written(path, text, raw).complaint(error, GroupFile) from None
    if _is_address(file.group.kept):
        raise Written(path, text, raw).wrong(("group", "kept"), "must be a folder: a store cannot be at an address")
    book = file.book and file.book.model_copy(update={"folder": _whole(folder, file.book.folder)})
    return Group(
        folder=folder,
        name=file.group.name,
        currency=file.group.currency,
        facts=_whole(folder, file.group.facts),
        kept=Path(_whole(folder, file.group.kept)),
        spark=file.group.spark,
        at=tuple(_whole(folder, one) for one in file.houses.at),
        book=book,
    )


def _found(start: Path) -> Path:
    for folder in (start, *start.parents):
        if (folder / GROUP_NAME).is_file():
            return folder
    raise SettingsError(
        f"{start} is not inside a group: no {GROUP_NAME} here or above. Write one, or see what one is like with "
        "'stillroom group demo FOLDER'."
    )


def _is_address(place: str) -> bool:
    return "://" in place


def _whole(folder: Path, place: str) -> str:
    return place if _is_address(place) else str(folder / place)
