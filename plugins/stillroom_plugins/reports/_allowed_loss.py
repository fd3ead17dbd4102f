"""The share of what is made that may be lost: `[report.expiry] allowed_loss`, for all reports that ask."""

from __future__ import annotations

from typing import Final

from stillroom.house.options import number_option, only_known
from stillroom.objects import HouseFacts

ALLOWED_LOSS: Final = 0.10
"""Share lost that asks for nothing, unless the settings say otherwise: common practice, no source."""


def allowed_loss(house: HouseFacts) -> float:
    """The share, 0 to 1.

    Raises:
        SettingsError: the setting is something else, or there is another beside it.
    """
    only_known("expiry", house.options.get("expiry", {}), ("allowed_loss",))
    return number_option(house, "expiry", "allowed_loss", ALLOWED_LOSS, low=0.0, high=1.0)
