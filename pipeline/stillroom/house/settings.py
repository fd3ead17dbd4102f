"""Reads `stillroom.toml`; every complaint names the file, the line and the setting, and says what would be right."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from stillroom.errors import PluginError, SettingsError, in_one_line
from stillroom.house.complaints import Written, nearest
from stillroom.house.house import SETTINGS_NAME, House
from stillroom.house.model import file_model, report_tables
from stillroom.house.toml import parsed
from stillroom.objects import Period

if TYPE_CHECKING:
    from stillroom.plugins.registry import Registry


def load_house(folder: Path, registry: Registry) -> House:
    """Read and check a house's settings, those of reports and plugins among them.

    Raises:
        SettingsError: the file is missing, is not TOML, or a setting is wrong; the sentence names the setting.
    """
    path = folder / SETTINGS_NAME
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise SettingsError(f"{path} is missing. Start a house with 'stillroom new FOLDER'.") from None
    except UnicodeDecodeError:
        raise SettingsError(f"{path} is not UTF-8: save it as UTF-8.") from None
    except OSError as error:
        raise SettingsError(f"{path} cannot be read: {error}.") from None
    return house_of(text, folder, registry)


def house_of(text: str, folder: Path, registry: Registry) -> House:
    """The house of which `text` are the settings.

    Raises:
        SettingsError: the text is not TOML, or a setting is wrong; the sentence names the setting.
        PluginError: a plugin cannot check its own settings.
    """
    path = folder / SETTINGS_NAME
    text = text.removeprefix("\ufeff")  # which some editors put first
    try:
        raw = parsed(text)
    except ValueError as error:
        raise SettingsError(f"{path} cannot be read: {error}.") from None
    model, written = file_model(registry), Written(path, text, raw)
    try:
        file = model.model_validate_json(_as_json(_without_orphans(raw, registry)))
    except ValidationError as error:
        raise written.complaint(error, model) from None
    except Exception as error:  # of a check that a plugin's settings bring along
        what = f"[report.{_failing(raw, registry)}] cannot be checked: its plugin fails ({in_one_line(error)})"
        raise PluginError(f"{path}: {what}. Take this table out to go on without it.") from error
    for table, named in (("source", file.source), ("season", file.season)):
        names = [one.name for one in named]
        for place, name in enumerate(names):
            if name in names[:place]:
                raise written.wrong((table, place, "name"), f"'{name}' is given twice")
    return House(
        **{**dict(file.house), "venues": file.house.venues or (file.house.name,)},
        folder=folder,
        seasons=tuple(Period(first=one.first, last=one.last, label=one.name) for one in file.season),
        sources=file.source,
        menu=file.menu,
        common_ingredients=tuple(one.file for one in registry.ingredients.values()),
        reports=dict(zip(report_tables(registry), dict(file.report).values(), strict=True)),
    )


def _failing(raw: dict[str, Any], registry: Registry) -> str:
    """The report whose settings raise what is no fault of the settings."""
    for name, model in report_tables(registry).items():
        try:
            model.model_validate_json(_as_json(raw["report"].get(name, {})))
        except ValidationError:
            continue
        except Exception:
            return name
    return "NAME"


def _as_json(raw: dict[str, Any]) -> str:
    """As JSON, which has the types that the JSON Schema tells editors of: a list is a list, a date a text like one."""
    return json.dumps(raw, default=str)


def _without_orphans(raw: dict[str, Any], registry: Registry) -> dict[str, Any]:
    """Without tables that may be those of a plugin that was left out: its fault is told, and stops nobody else."""
    reports, known = raw.get("report"), report_tables(registry)
    if not registry.faults or not isinstance(reports, dict):
        return raw
    return {**raw, "report": {name: of for name, of in reports.items() if name in known or nearest(name, known)}}
