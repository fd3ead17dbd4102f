"""What all settings are: models that refuse what they do not know, and take each value as what it is."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, StringConstraints


class Settings(BaseModel):
    """A table of `stillroom.toml`; a report's is a model of this kind, with a value for everything unless it is set.

    A field's description goes into the guide and the JSON Schema; its constraints are checked and told there, too.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class NoSettings(Settings):
    """Of a report that has none."""


Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]
