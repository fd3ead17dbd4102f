"""An invented period at a glance, with one of everything that the first screen can show."""

from datetime import date, timedelta
from typing import Any

from stillroom.answers.review.objects import Change, DrinkRow, Figure, Item, Review, Today, ToMake, ToPour, Word
from stillroom.answers.review.sheet_objects import (
    BatchMark,
    Course,
    Lever,
    Mark,
    MenuPlace,
    Note,
    PartRow,
    Sheet,
    SizeRow,
    Spot,
    UserRow,
    VersionsTable,
)

FIRST = date(2026, 3, 2)
GAIN = Change(share=0.06, low=0.02, high=0.09)
WEEKS = tuple(FIRST + timedelta(weeks=n) for n in range(13))


def sample_review(drinks: int = 5, name: str = "Drink {}") -> Review:
    """A review of so many drinks, named by their number."""
    words = {
        1: (Word(text="falling 5.0 % a week", tone="decide"), Word(text="version 2, 6 Apr", tone="dated")),
        3: (Word(text="cost not whole: no price for kelp"),),
    }
    rows = [
        DrinkRow(
            name=name.format(n), does="sells well, earns near the mark", whole=n != 3, decide=n == 1,
            words=words.get(n, ()), contribution=None if n == 4 else 5000.0 - 70 * n,
            low=None if n in (3, 4) else 4600.0 - 70 * n, high=None if n in (3, 4) else 5400.0 - 70 * n,
            serves=500.0 - 7 * n, net_amount=6000.0 - 80 * n, serves_per_day=6.4,
            cost_per_serve=None if n == 4 else 2.5,
            weeks=tuple(None if n == 2 and week < 6 else 5.0 + (week * n) % 4 for week in range(13)),
        )
        for n in range(drinks)
    ]  # fmt: skip
    return Review(
        sentence="EUR 20 500 sold and EUR 15 000 left over, 1.2 % more drinks each week.",
        unknown=f"What {name.format(3)} costs is not known.",
        weeks=WEEKS,
        figures=(
            _figure("sales", "Sales, net", 20500.0, change=GAIN, against="Winter menu"),
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
        ),
        decide=tuple(
            Item(subject=name.format(n), do=f"act {n}", money=900.0 - n, sureness="sure", why=f"Because of {n}.")
            for n in range(5)
        ),
        sheets=(sample_drink(name.format(1)), sample_preparation()),
        mend=(
            Item(
                subject="", do="say which drink each of 3 till names is", money=614.0, sureness="sure",
                why="A, B and C.", mend="stillroom match", reports=("season",),
            ),
        ),
    )  # fmt: skip


def sample_drink(name: str) -> Sheet:
    """A drink with weeks, two versions and a name on the till."""
    return Sheet(
        name=name, kind="drink", aliases=("dr1",), says=": look at its price.",
        facts=("version 2 since 6 Apr", "EUR 12.00"), allergens=("celery",), careful=(),
        notes=(Note(label="Sold", value="513", unit="serves", small="6.4 a day"),),
        course=Course(
            first=FIRST, last=FIRST + timedelta(days=90), unit="", label="Serves a day, week by week",
            line=tuple((week + timedelta(days=3), None if n == 4 else 5.0 + n % 3) for n, week in enumerate(WEEKS)),
            marks=(Mark(day=date(2026, 4, 6), text="version 2, EUR 12.00 for 11.00"),),
            costs=((FIRST, 2.61), (date(2026, 4, 6), None), (date(2026, 4, 20), 2.64)),
        ),
        parts=(PartRow(name="Pear cordial", amount="20 ml", cost="0.10", share=0.1),),
        users=(),
        versions=VersionsTable(
            versions=("version 1", "version 2, in service"),
            rows=(("Pear cordial", ("15 ml", "20 ml"), True), ("method", ("shaken", "shaken"), False)),
        ),
        batches=(),
        source="specs/specs.csv, row 8",
        place=MenuPlace(
            own=Spot(name=name, share=0.085, contribution=6.71), share_range=(0.075, 0.095),
            contribution_range=(6.59, 6.82), share_mark=0.05, average=8.58,
            others=(Spot(name="Hay Flip", share=0.04, contribution=9.2),), does="sells well, earns little",
        ),
        levers=(Lever(what="Price 5 % higher", low=-86.4, high=250.0, rests_on="assumed"),),
    )  # fmt: skip


def sample_preparation() -> Sheet:
    """A preparation with a stock, batches that lost something, measurements and a caution."""
    batches = tuple(
        BatchMark(
            batch=f"PC-{n}", made_on=FIRST + timedelta(days=7 * n), made=2480, used=1100, lost=1380 if n % 2 else 0,
            on_hand=0, unit="ml", use_by=FIRST + timedelta(days=7 * n + 5), gone_on=FIRST + timedelta(days=7 * n + 6),
            brix=40 + n % 3, ph=3.4 if n % 2 else None, source=f"batches/batches.csv, row {n}",
        )
        for n in range(12)
    )  # fmt: skip
    return Sheet(
        name="Pear cordial", kind="preparation", aliases=(), says=": make 755 ml at a time.",
        facts=("version 2 since 6 Apr", "keeps 5 days in the fridge", "contains celery"), allergens=("celery",),
        careful=(("Allergens", "Contains celery, as the price list states. Follow your local code."),),
        notes=(Note(label="Poured away", value="103", unit="EUR", small="19 l of 45 l, 45 %", is_loss=True),),
        course=Course(
            first=FIRST, last=FIRST + timedelta(days=90), unit="ml", label="On hand, day by day",
            line=tuple((FIRST + timedelta(days=n), 2400.0 - 300 * (n % 7)) for n in range(91)),
            marks=(Mark(day=date(2026, 4, 6), text="version 2"),), batches=batches, targets=(("°Brix", 41.0),),
        ),
        parts=(PartRow(name="pear juice", amount="900 g", cost="3.00", share=0.9),),
        users=(UserRow(name="Drink 1", takes="20 ml a serve", serves=500.0, share=0.75),),
        versions=VersionsTable(versions=("version 2, in service",), rows=()),
        batches=tuple(reversed(batches)),
        source="specs/specs.csv, row 40",
        sizes=tuple(
            SizeRow(
                made_on=date(2026, 6, 1), size=size, unit="ml", chance_lost=chance, lost=lost, chance_short=0.0,
                now=size == 2480, advised=size == 1240,
            )
            for size, chance, lost in ((1240, 0.2, 43.0), (2480, 0.97, 905.0))
        ),
    )  # fmt: skip


def _figure(name: str, label: str, value: float | None, *, loss: bool = False, **more: Any) -> Figure:
    low, high = (None, None) if value is None else (0.9 * value, 1.1 * value)
    weeks = () if value is None else tuple(value / 13 + n for n in range(13))
    return Figure(name=name, label=label, value=value, low=low, high=high, weeks=weeks, is_loss=loss, **more)
