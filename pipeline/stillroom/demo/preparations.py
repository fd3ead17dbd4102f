"""The demo house's preparations and garnishes, every version, and how a batch of each is made."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from stillroom.demo.drinks import BEFORE_SEASON, SPRING
from stillroom.demo.model import Version, lines
from stillroom.demo.truths import ALWAYS_TOO_BIG, FIRST_DAY, NO_PRICE

SHRUB_CHANGED: Final = date(2026, 10, 20)


def _made(
    spec: str,
    version: int,
    text: str,
    gives: str,
    *,
    keeps: int,
    method: str,
    storage: str = "fridge",
    kind: str = "preparation",
    since: date | None = SPRING,
    until: date | None = None,
    note: str | None = None,
) -> Version:
    amount, unit = gives.split()
    return Version(
        spec=spec,
        version=version,
        kind=kind,
        lines=lines(text),
        yield_amount=float(amount),
        yield_unit=unit,
        keeps_days=keeps,
        storage=storage,
        method=method,
        since=since,
        until=until,
        note=note,
    )


PREPARATIONS: Final = (
    _made(
        "fig leaf cordial",
        1,
        "40 g fig leaves; 700 ml water; 600 g white sugar; 100 ml acid water",
        "1150 ml",
        keeps=14,
        method="Leaves steeped at 60 °C for 40 minutes, strained, sugar and acid stirred in cold.",
        until=BEFORE_SEASON,
    ),
    _made(
        "fig leaf cordial",
        2,
        "45 g fig leaves; 700 ml water; 500 g white sugar; 140 ml acid water",
        "1130 ml",
        keeps=14,
        method="Leaves steeped at 60 °C for 40 minutes, strained, sugar and acid stirred in cold.",
        since=FIRST_DAY,
        note="Less sugar, more acid.",
    ),
    _made(
        "smoked pear shrub",
        1,
        "1000 g pear; 500 ml cider vinegar; 500 g white sugar",
        "1300 ml",
        keeps=28,
        method="Pears chopped and left in sugar overnight, vinegar added, strained after two days.",
        until=BEFORE_SEASON,
    ),
    _made(
        "smoked pear shrub",
        2,
        "1000 g pear; 450 ml cider vinegar; 480 g white sugar; 20 g applewood chips",
        "1250 ml",
        keeps=28,
        method="Pears cold smoked over applewood for 20 minutes, left in sugar overnight, vinegar added, strained.",
        since=FIRST_DAY,
        until=SHRUB_CHANGED - timedelta(days=1),
    ),
    _made(
        "smoked pear shrub",
        3,
        "1000 g pear; 400 ml cider vinegar; 420 g white sugar; 50 g applewood chips",
        "1170 ml",
        keeps=28,
        method="Pears cold smoked over applewood for 60 minutes, left in sugar overnight, vinegar added, strained.",
        since=SHRUB_CHANGED,
        note="More smoke, less of the rest.",
    ),
    _made(
        "ginger honey syrup",
        1,
        "600 g honey; 250 ml ginger juice; 250 ml water",
        "900 ml",
        keeps=14,
        method="Honey loosened with warm water, ginger juice stirred in, strained fine.",
    ),
    _made(
        "clarified cucumber juice",
        1,
        "1500 g cucumber; 3 g agar; 30 ml acid water",
        "1000 ml",
        keeps=3,
        method="Juiced, set with agar, broken and drained through cloth.",
        until=BEFORE_SEASON,
    ),
    _made(
        "clarified cucumber juice",
        2,
        "1500 g cucumber; 3 g agar; 45 ml acid water; 3 g sea salt",
        "1010 ml",
        keeps=3,
        method="Juiced, set with agar, broken and drained through cloth.",
        since=FIRST_DAY,
    ),
    _made(
        "roast pepper syrup",
        1,
        "500 g red pepper; 500 g white sugar; 450 ml water; 5 g sea salt",
        "950 ml",
        keeps=10,
        method="Peppers charred and peeled, blended with water, strained, sugar stirred in.",
        since=FIRST_DAY,
        note="No acid in it: pH is high.",
    ),
    _made(
        "beeswax rum",
        1,
        "2100 ml white rum; 90 g beeswax",
        "2030 ml",
        keeps=60,
        storage="ambient",
        method="Rum left two days in jars lined with melted beeswax, then strained.",
    ),
    _made(
        "toasted almond syrup",
        1,
        "400 g almonds; 600 g white sugar; 800 ml water; 10 ml orange flower water",
        "1050 ml",
        keeps=12,
        method="Almonds toasted, blended with water, pressed through cloth, sugar stirred in.",
        since=FIRST_DAY,
    ),
    _made(
        "toasted almond syrup",
        2,
        "300 g almonds; 600 g white sugar; 800 ml water; 10 ml orange flower water",
        "1060 ml",
        keeps=12,
        method="Almonds toasted darker, blended with water, pressed through cloth, sugar stirred in.",
        since=None,
        note="On trial: a quarter less almond.",
    ),
    _made(
        "raspberry shrub",
        1,
        "700 g raspberries; 450 ml white wine vinegar; 500 g white sugar",
        "1200 ml",
        keeps=28,
        method="Berries crushed with sugar, vinegar added, strained after a day.",
        until=BEFORE_SEASON,
    ),
    _made(
        "raspberry shrub",
        2,
        "700 g raspberries; 400 ml white wine vinegar; 480 g white sugar",
        "1150 ml",
        keeps=28,
        method="Berries crushed with sugar, vinegar added, strained after a day.",
        since=FIRST_DAY,
    ),
    _made(
        ALWAYS_TOO_BIG,
        1,
        "2400 g apple; 660 g celery; 6 g agar; 50 ml acid water",
        "2500 ml",
        keeps=4,
        method="Juiced, set with agar, broken and drained through cloth.",
        since=FIRST_DAY,
    ),
    _made(
        "burnt honey caramel",
        1,
        "500 g honey; 250 g white sugar; 400 ml water; 4 g sea salt",
        "830 ml",
        keeps=30,
        method="Honey and sugar cooked to a dark caramel at about 170 °C, stopped with hot water. Hot sugar work.",
        since=FIRST_DAY,
    ),
    _made(
        "black tea syrup",
        1,
        "25 g black tea; 500 ml water; 800 ml plain syrup",
        "1240 ml",
        keeps=10,
        method="Tea steeped five minutes, strained into the syrup.",
    ),
    _made(
        "milk punch base",
        1,
        "700 ml aged rum; 400 ml black tea syrup; 250 ml lemon juice; 400 ml whole milk",
        "1450 ml",
        keeps=30,
        method="Clarified with milk: poured into warm milk, left to curdle, drained until clear.",
        until=BEFORE_SEASON,
    ),
    _made(
        "milk punch base",
        2,
        "750 ml aged rum; 350 ml black tea syrup; 250 ml lemon juice; 350 ml whole milk",
        "1420 ml",
        keeps=30,
        method="Clarified with milk: poured into warm milk, left to curdle, drained until clear.",
        since=FIRST_DAY,
    ),
    _made(
        "pine tip gin",
        1,
        "700 ml gin; 40 g pine tips",
        "670 ml",
        keeps=45,
        storage="ambient",
        method="Tips steeped two days at room temperature, strained.",
        since=FIRST_DAY,
        note="Foraged: have the plant checked.",
    ),
    _made(
        "plain syrup",
        1,
        "1000 g white sugar; 1000 ml water",
        "1620 ml",
        keeps=21,
        method="Stirred until clear.",
    ),
    _made(
        "acid water",
        1,
        "60 g citric acid; 40 g malic acid; 900 ml water",
        "950 ml",
        keeps=30,
        method="Stirred until clear.",
    ),
    _made(
        NO_PRICE[1],
        1,
        "20 g dried kelp; 80 g sea salt; 400 ml water",
        "400 ml",
        keeps=90,
        method="Kelp steeped cold overnight, strained, salt stirred in.",
        since=FIRST_DAY,
        note="Kelp is gathered by a friend of the house.",
    ),
    _made(
        "dried pear fan",
        1,
        "700 g pear; 100 ml plain syrup",
        "30 each",
        keeps=10,
        storage="ambient",
        method="Sliced thin, brushed with syrup, dried overnight at 60 °C.",
        kind="garnish",
    ),
    _made(
        "candied lemon peel",
        1,
        "6 each lemon; 300 ml plain syrup; 150 g white sugar",
        "48 each",
        keeps=21,
        storage="ambient",
        method="Peel simmered in syrup until clear, dried, rolled in sugar. Hot sugar work.",
        kind="garnish",
    ),
)


@dataclass(frozen=True, kw_only=True)
class Habit:
    """How a batch of a preparation is made and measured."""

    label: str
    """What its batch labels begin with."""
    makings: float = 1
    """Makings in a batch."""
    brix: float | None = None
    """°Brix that its spec works out at, acid counted as solids as a refractometer does; None: nobody measures it."""
    ph: float | None = None


HABITS: Final = {
    "fig leaf cordial": Habit(label="FLC", makings=2, brix=38.2, ph=2.8),
    "smoked pear shrub": Habit(label="SPS", makings=2, brix=30.9, ph=3.3),
    "ginger honey syrup": Habit(label="GHS", makings=1.75, brix=44.2),
    "clarified cucumber juice": Habit(label="CCJ", makings=2, ph=3.9),
    "roast pepper syrup": Habit(label="RPS", makings=1.5, brix=36.0, ph=4.9),
    "beeswax rum": Habit(label="BWR"),
    "toasted almond syrup": Habit(label="TAS", brix=42.6, ph=5.9),
    "raspberry shrub": Habit(label="RBS", makings=2, brix=34.7, ph=3.0),
    ALWAYS_TOO_BIG: Habit(label="CAC", brix=8.9, ph=3.7),
    "burnt honey caramel": Habit(label="BHC", brix=56.8),
    "milk punch base": Habit(label="MPB", makings=2),
    "black tea syrup": Habit(label="BTS", brix=33.2),
    "pine tip gin": Habit(label="PTG"),
    "dried pear fan": Habit(label="DPF", makings=2.5),
    "candied lemon peel": Habit(label="CLP", makings=2),
    NO_PRICE[1]: Habit(label="KSL"),
    "plain syrup": Habit(label="PLS", makings=2, brix=50.0),
    "acid water": Habit(label="ACW"),
}
"""Outer preparations before those that are in them: in this order the house looks at its shelves."""
