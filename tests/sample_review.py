"""An invented period at a glance, with one of everything that the first screen can show."""

from datetime import date, timedelta

from stillroom.answers.review.objects import (
    Change,
    DrinkRow,
    Figure,
    Item,
    Review,
    Today,
    ToMake,
    ToPour,
    Word,
)

FIRST = date(2026, 3, 2)
WEEKS = tuple(FIRST + timedelta(weeks=n) for n in range(13))


def sample_review(drinks: int = 5, name: str = "Drink {}") -> Review:
    """A review of so many drinks, named by their number."""
    rows = [
        DrinkRow(
            name=name.format(n),
            contribution=None if n == 4 else 5000.0 - 70 * n,
            low=None if n in (3, 4) else 4600.0 - 70 * n,
            high=None if n in (3, 4) else 5400.0 - 70 * n,
            whole=n != 3,
            serves=500.0 - 7 * n,
            net_amount=6000.0 - 80 * n,
            weeks=tuple(None if n == 2 and week < 6 else 5.0 + (week * n) % 4 for week in range(13)),
            words=(
                (Word(text="falling 5.0 % a week", tone="decide"), Word(text="version 2, 6 Apr", tone="dated"))
                if n == 1
                else (Word(text="cost not whole: no price for kelp"),)
                if n == 3
                else ()
            ),
            decide=n == 1,
        )
        for n in range(drinks)
    ]
    return Review(
        sentence="EUR 20 500 sold and EUR 15 000 left over, 1.2 % more drinks each week.",
        unknown=f"What {name.format(3)} costs is not known.",
        weeks=WEEKS,
        figures=(
            _figure("sales", "Sales, net", 20500.0, change=Change(share=0.06, low=0.02, high=0.09)),
            _figure("contribution", "Left over after what is in the glass", 15000.0, share=0.73, share_of="of sales"),
            _figure("lost", "Poured away, at cost", 137.0, share=0.03, share_of="of what was made", loss=True),
            _figure("doubtful", "Rests on doubtful rows", None),
        ),
        drinks=tuple(rows),
        lost=(("Pear cordial", 103.0), ("Hay cream", 4.5)),
        today=Today(
            day=date(2026, 6, 1),
            pour=(ToPour(preparation="Hay cream", batch="HC-3", amount=120.0, unit="ml", use_by=date(2026, 5, 30)),),
            make=(ToMake(preparation="Pear cordial", amount=2020.0, unit="ml"),),
            waits=1,
        ),
        decide=tuple(
            Item(subject=name.format(n), do=f"act {n}", money=900.0 - n, sureness="sure", why=f"Because of {n}.")
            for n in range(5)
        ),
        mend=(
            Item(
                subject="", do="say which drink each of 3 till names is", money=614.0, sureness="sure",
                why="A, B and C.", mend="stillroom match", reports=("season",),
            ),
        ),
    )  # fmt: skip


def _figure(
    name: str,
    label: str,
    value: float | None,
    *,
    share: float | None = None,
    share_of: str = "",
    change: Change | None = None,
    loss: bool = False,
) -> Figure:
    return Figure(
        name=name,
        label=label,
        value=value,
        low=None if value is None else 0.9 * value,
        high=None if value is None else 1.1 * value,
        share=share,
        share_of=share_of,
        weeks=() if value is None else tuple(value / 13 + n for n in range(13)),
        change=change,
        is_loss=loss,
    )
