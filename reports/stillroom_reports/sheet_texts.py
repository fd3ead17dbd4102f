"""Parts of a sheet in words, for page, paper and terminal alike."""

from __future__ import annotations

from dataclasses import dataclass

from stillroom.answers.review.sheet_objects import MenuPlace, Sheet
from stillroom.words import number, short_amount
from stillroom_reports.prep_sheet import chance


@dataclass(frozen=True, kw_only=True)
class SizeTexts:
    """A size of batch and its odds, in words."""

    size: str
    lost: str
    short: str
    what: str


def place_text(place: MenuPlace, currency: str) -> str:
    """The place in words, with both ranges and what they are held against."""
    own = place.own
    share, (low, high) = 100 * own.share, (100 * end for end in place.share_range)
    least, most = place.contribution_range
    return (
        f"{share:.1f} % of the serves on its days ({low:.1f} to {high:.1f}; well from {100 * place.share_mark:.1f} %), "
        f"and a serve leaves {currency} {own.contribution:.2f} ({least:.2f} to {most:.2f}; "
        f"the average {place.average:.2f})"
    )


def lever_texts(sheet: Sheet) -> list[tuple[str, str, str]]:
    """What would move a drink's money: what, from how much to how much, what that rests on."""
    return [(one.what, f"{signed_money(one.low)} to {signed_money(one.high)}", one.rests_on) for one in sheet.levers]


def signed_money(value: float) -> str:
    """Whole money with its sign.

    >>> signed_money(112.7), signed_money(-0.2)
    ('+113', '0')
    """
    text = number(value)
    return text if text == "0" or value < 0 else f"+{text}"


def size_texts(sheet: Sheet) -> list[SizeTexts]:
    """Sizes of a batch, with their odds in words."""
    return [
        SizeTexts(
            size=short_amount(one.size, one.unit) + (f" at {one.venue}" if one.venue else ""),
            lost=chance(one.chance_lost)
            + (f", {short_amount(one.lost, one.unit)} on average" if one.lost >= 1 else ""),
            short=chance(one.chance_short),
            what=" and ".join(
                what for what, holds in (("as made now", one.now), ("costs least", one.advised)) if holds
            ),
        )
        for one in sheet.sizes
    ]
