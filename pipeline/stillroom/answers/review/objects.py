"""What a review is made of: plain frozen objects that the page, the terminal and JSON show alike."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from stillroom.answers.review.sheet_objects import Sheet, Tone
from stillroom.objects import Sureness


@dataclass(frozen=True, kw_only=True)
class Change:
    """A figure beside that of another season, both per week."""

    share: float
    """The part by which it is more (or, below 0, less)."""
    low: float | None = None
    high: float | None = None
    """95 % interval; None where the weeks are too few."""


@dataclass(frozen=True, kw_only=True)
class Figure:
    """One of the season's sums."""

    name: str
    """sales, contribution, lost or doubtful."""
    label: str
    value: float | None
    """House currency; None where it cannot be told."""
    low: float | None = None
    high: float | None = None
    """How far chance alone moves such a sum (95 %); None where the weeks are too few."""
    share: float | None = None
    """Of what `share_of` says."""
    share_of: str = ""
    weeks: tuple[float | None, ...] = ()
    """Its weeks, in the order of `Review.weeks`; None where nothing is known."""
    change: Change | None = None
    """Against the season named in `against`."""
    against: str = ""
    note: str = ""
    is_loss: bool = False


@dataclass(frozen=True, kw_only=True)
class Gain:
    """How much more or less of a drink that stayed was sold a week."""

    name: str
    change: Change


@dataclass(frozen=True, kw_only=True)
class Against:
    """A period beside another."""

    label: str
    first: date
    last: date
    figures: tuple[tuple[Figure, Change | None], ...]
    """Each of the other's figures, and how much more this one brought a week."""
    came: tuple[str, ...]
    """Drinks that sold now and not then."""
    stayed: tuple[str, ...]
    went: tuple[str, ...]
    gains: tuple[Gain, ...]
    """The largest change first."""


@dataclass(frozen=True, kw_only=True)
class Word:
    """A few words beside a drink."""

    text: str
    tone: Tone = "quiet"


@dataclass(frozen=True, kw_only=True)
class DrinkRow:
    """One drink of the picture."""

    name: str
    contribution: float | None
    """What it left over in the period; None where nothing is known of its cost."""
    low: float | None
    high: float | None
    whole: bool
    """Whether its cost is; where not, `contribution` is the most it can be."""
    serves: float
    net_amount: float
    serves_per_day: float
    """Over the days on which it was on the menu."""
    cost_per_serve: float | None
    """The least it can be where `whole` is false; None where nothing is known of it."""
    does: str
    """Its place on the menu map, in words."""
    weeks: tuple[float | None, ...]
    """Serves a day on the menu in each week; None where it was not on it."""
    dated: tuple[tuple[date, str], ...] = ()
    """Changes of version and price within the period."""
    words: tuple[Word, ...] = ()
    decide: bool = False
    """A decision on it stands on the list of this week."""


@dataclass(frozen=True, kw_only=True)
class Item:
    """One entry of a list: what all reports together say of a subject."""

    subject: str
    do: str
    money: float | None
    sureness: Sureness
    why: str
    mend: str = ""
    share: float | None = None
    """Of all net sales, that `money` is; of what is to mend alone."""
    reports: tuple[str, ...] = ()
    """Names of the reports that it comes from, the one with the largest sum first."""


@dataclass(frozen=True, kw_only=True)
class ToPour:
    """A batch that is past its use-by on the day of the prep list."""

    preparation: str
    batch: str
    amount: float
    unit: str
    use_by: date | None


@dataclass(frozen=True, kw_only=True)
class ToMake:
    """A making of the prep list that cannot wait."""

    preparation: str
    amount: float
    unit: str
    venue: str = ""
    """'' where the house has one."""


@dataclass(frozen=True, kw_only=True)
class Today:
    """What the prep list says for the next day of making."""

    day: date
    pour: tuple[ToPour, ...]
    make: tuple[ToMake, ...]


@dataclass(frozen=True, kw_only=True)
class Review:
    """A period at a glance."""

    sentence: str
    """Sales, what is left over, which way it goes."""
    unknown: str
    """What is not known; '' where all is."""
    weeks: tuple[date, ...]
    """Mondays of the weeks that the small lines show."""
    figures: tuple[Figure, ...]
    drinks: tuple[DrinkRow, ...]
    """Most money left over first."""
    lost: tuple[tuple[str, float], ...]
    """Preparation, money poured away or spoiled; the most first."""
    today: Today | None
    decide: tuple[Item, ...]
    """Everything to decide, the most money first, what is certain before what is not."""
    mend: tuple[Item, ...]
    against: Against | None = None
    """The season before, or the one asked for; None where there is none."""
    last_week: Change | None = None
    """Sales of the last whole week beside the week before, of a page built in mid-season."""
    sheets: tuple[Sheet, ...] = ()
    """One for every drink, preparation and garnish."""
