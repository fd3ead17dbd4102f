"""Plain books as most bars have them: exports and sheets with titles, sections, sums, marks and abbreviations.

They were written, with their truth, before the reader had been tried on any: six of sixteen, those of new shapes. All
names are made up. The ways of writing are common practice, no source.
"""

# ruff: noqa: E501  (a row of a book is a line here)
# fmt: off
from __future__ import annotations

from datetime import date
from typing import Final

from kept_books import Book, packs, rows, scores, spec

D = date

PLAIN_BARS: Final = (
    Book(name="a drink a row, its ingredients in numbered columns", file="menu specs.csv",
        text="Drink,Ingredient 1,Amount 1,Ingredient 2,Amount 2,Ingredient 3,Amount 3,Garnish,Price\nHazel Sour,Rye,50 ml,Lemon juice,25 ml,Gorse syrup,20 ml,Hazelnut,£12\nGorse Fizz,Gin,45 ml,Gorse syrup,20 ml,Soda,90 ml,-,£11\nTarn Spritz,Rhubarb shrub,40 ml,Soda,120 ml,,,Rhubarb,£8.50\n",
        truth={"spec_line": rows("spec item amount unit", ("Hazel Sour", "Rye", 50, "ml"), ("Hazel Sour", "Lemon juice", 25, "ml"), ("Hazel Sour", "Gorse syrup", 20, "ml"), ("Gorse Fizz", "Gin", 45, "ml"), ("Gorse Fizz", "Gorse syrup", 20, "ml"), ("Gorse Fizz", "Soda", 90, "ml"), ("Tarn Spritz", "Rhubarb shrub", 40, "ml"), ("Tarn Spritz", "Soda", 120, "ml"))}),
    Book(name="tasting wide: one drink in the title, its day and scale above, an average below", file="tasting 14 April.xlsx", sheets={"Sheet1": [["Tasting: Hazel Sour v3", None, None, None, None], ["Date: 14/04/2026", None, None, None, None], ["Scale 1-9", None, None, None, None], [None]*5, ["Name", "Sweetness", "Sourness", "Liking", "Notes"],
        ["JB", 6, 5, 7, "hazel a bit loud"], ["KO", 5, 6, 8, None], ["Ren", 7, 5, 6, "less syrup?"], ["Average", 6, 5.33, 7, None]]},
        truth={"tasting": scores("Hazel Sour", D(2026, 4, 14), ["Sweetness", "Sourness", "Liking"], {(3, "JB"): [6, 5, 7], (3, "KO"): [5, 6, 8], (3, "Ren"): [7, 5, 6]})},
        answers={"panelist": "Name", "headings_are": "attribute"}),
    Book(name="tasting grid: samples across, people down, one question in the title", file="liking.csv",
        text="Overall liking (1-9) - 15 April 2026,,,\nTaster,Hazel Sour v1,Hazel Sour v2,Gorse Fizz v1\nJB,6,8,5\nKO,7,7,6\nRen,5,8,-\nAvg,6,7.7,5.5\n",
        truth={"tasting": [{"spec": s, "version": v, "tasted_on": D(2026, 4, 15), "panelist": p, "score": n} for p, several in (("JB", (6, 8, 5)), ("KO", (7, 7, 6)), ("Ren", (5, 8))) for (s, v), n in zip((("Hazel Sour", 1), ("Hazel Sour", 2), ("Gorse Fizz", 1)), several, strict=False)]},
        answers={"attribute": "Overall liking", "session": "15 April", "tasted_on": "2026-04-15"}),
    Book(name="price list by supplier: pack in one cell, case price, doz, ea, kg", file="price list.csv",
        text="Supplier,Code,Product,Pack,Price\nFenside Drinks,1021,Rye 43%,70cl,£24.50\nFenside Drinks,1022,Gin 40%,1 ltr,£21.00\nFenside Drinks,2040,Soda water,24 x 200ml,£11.76\nMarket,,Lemons,ea,£0.32\nMarket,,Eggs,1 doz,£3.60\nMarket,,Rhubarb,per kg,£3.20\nFenside Drinks,3001,Caster sugar,5kg bag,£6.75\n",
        truth={"ingredient": packs(("Rye 43%", 70, "cl", 24.5), ("Gin 40%", 1, "l", 21), ("Soda water", 4800, "ml", 11.76), ("Lemons", 1, "each", .32), ("Eggs", 12, "each", 3.6), ("Rhubarb", 1, "kg", 3.2), ("Caster sugar", 5, "kg", 6.75))}),
    Book(name="batches with the day each was finished", file="batches 2026.csv",
        text="Batch #,Made,What,Vol (L),Use by,Finished\n041,2026-04-06,Gorse syrup,2,2026-04-20,2026-04-14\n042,2026-04-07,Rhubarb shrub,3,2026-05-05,\n043,2026-04-10,Smoked tea,1.5,2026-04-13,2026-04-12\n",
        truth={"batch": [{**row, "made_unit": "l"} for row in rows("batch preparation made_on made_amount use_by", ("041", "Gorse syrup", D(2026, 4, 6), 2, D(2026, 4, 20)), ("042", "Rhubarb shrub", D(2026, 4, 7), 3, D(2026, 5, 5)), ("043", "Smoked tea", D(2026, 4, 10), 1.5, D(2026, 4, 13)))],
            "batch_event": rows("batch happened_on event", ("041", D(2026, 4, 14), "used up"), ("043", D(2026, 4, 12), "used up"))},
        answers={"happened_on": "Finished", "event": "used up"}),
    Book(name="list of preps: yield, shelf life in days, weeks and a range, storage", file="prep list.csv",
        text="Prep,Yield,Shelf life,Storage,Allergens\nGorse syrup,2 L,2 weeks,Fridge,\nRhubarb shrub,3 L,1 month,FRIDGE,\nSmoked tea,1.5 L,3 days,Fridge,\nHazel tincture,750 ml,3 months,Ambient,Nuts\nHazel foam,500 ml,2-3 days,Fridge,\"Nuts, milk\"\n",
        truth={"spec": [spec("Gorse syrup", kind="preparation", makes=(2, "l"), keeps_days=14, storage="fridge"), spec("Rhubarb shrub", kind="preparation", makes=(3, "l"), keeps_days=30, storage="fridge"), spec("Hazel tincture", kind="preparation", makes=(750, "ml"), keeps_days=90, storage="ambient"), spec("Smoked tea", kind="preparation", makes=(1.5, "l"), keeps_days=3, storage="fridge")]},
        answers={"kind": "preparation"}, left=1),
)
