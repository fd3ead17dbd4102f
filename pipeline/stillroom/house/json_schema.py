"""The settings as JSON Schema: editors complete and check `stillroom.toml` by it while it is typed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Final

from stillroom.house.model import file_model

if TYPE_CHECKING:
    from stillroom.plugins.registry import Registry

SCHEMA_NAME: Final = "stillroom.schema.json"
FIRST_LINE: Final = f"#:schema ./{SCHEMA_NAME}\n"
"""How a TOML file names its schema to an editor."""


def write_schema(folder: Path, registry: Registry) -> None:
    """Write the schema of a house's settings, those of every report and plugin that is there, into its folder."""
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **file_model(registry).model_json_schema()}
    (folder / SCHEMA_NAME).write_text(json.dumps(schema, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
