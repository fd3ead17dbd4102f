"""An invented house with all its books, kept in four ways, three languages and two decimal marks, and its truth.

The truth is told from what the people of the house would say, by plain arithmetic; no code of the project is asked.
All names are made up. The ways of writing are common practice, no source.
"""

# ruff: noqa: E501  (a row of a book is a line here)
from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import xlsxwriter

SHEETS: Final[dict[str, dict[str, list[list[Any]]]]] = {
    "rezepte.xlsx": {  # a sheet a drink, German, decimal commas in text
        "Marsh Sour v1": [
            ["Marsh Sour v1"], [], ["Zutat", "Menge"], ["gin", "5 cl"], ["lemon juice", "2,25 cl"], [], ["Preis", "12,00"],
        ],
        "Marsh Sour v2": [
            ["Marsh Sour v2"], [], ["Zutat", "Menge"], ["gin", "4,5 cl"], ["kelp tea", "2 cl"], ["lemon juice", "2,25 cl"],
            [], ["Preis", "12,00"],
        ],
        "Fen Fizz": [
            ["Fen Fizz"], [], ["Zutat", "Menge"], ["rum", "5 cl"], ["plum shrub", "1,5 cl"], ["soda", "1 dl"], [],
            ["Preis", "13,50"],
        ],
    },
    "classics.xlsx": {  # side by side, English, numbers
        "Classics": [
            ["Reed Mule", None, None, "Bog Flip", None],
            ["Ingredient", "Amount", None, "Ingredient", "Amount"],
            ["vodka", "40 ml", None, "rum", "50 ml"],
            ["ginger syrup", "20 ml", None, "egg", "1 piece"],
            ["lemon juice", "12.5 ml"],
        ]
    },
    "tastings.xlsx": {  # a grid: tasters across, attributes down, a sheet a sitting, English
        "2026-02-02": [
            ["Marsh Sour v1"], ["Attribute", "Ana", "Bo", "Cleo"], ["sweetness", 5, 6, 4.5], ["liking", 6, 6, 5],
        ],
        "2026-02-09": [
            ["Marsh Sour v2"], ["Attribute", "Ana", "Bo", "Cleo"], ["sweetness", 4, 5, 4], ["liking", 8, 7, 7.5],
        ],
    },
}  # fmt: skip
TEXTS: Final = {
    # a long sheet with names on the first row alone, French, decimal commas
    "préparations.csv": (
        "Préparation;Rendement;Conservation (jours);Ingrédient;Quantité\n"
        "kelp tea;1 l;5;water;1 l\n;;;kelp;20 g\n"
        "plum shrub;700 ml;21;plums;500 g\n;;;sugar;0,4 kg\n"
        "ginger syrup;500 ml;14;ginger;200 g\n;;;sugar;0,3 kg\n"
    ),
    # a price list, English, decimal points
    "prices.csv": (
        "Item,Pack,Price\nSpirits,,\ngin,0.7 l,21.00\nrum,1 l,19.00\nvodka,0.7 l,14.00\nLarder,,\nlemon juice,1 l,6.00\n"
        "soda,1 l,0.80\negg,each,0.30\nkelp,100 g,4.00\nplums,1 kg,3.50\nsugar,1 kg,1.20\nginger,1 kg,5.00\n"
    ),
    # batches, German, decimal commas, days without a year
    "ansätze 2026.csv": (
        "Nr.;Datum;Ansatz;Menge\nK1;1.3.;kelp tea;1,5 l\nP1;2.3.;plum shrub;0,7 l\n"
        "K2;8.3.;kelp tea;1 l\nG1;9.3.;ginger syrup;0,5 l\n"
    ),
    # what became of them, English
    "what became of them.csv": "Batch,Date,What happened,Amount\nK1,5/3/2026,poured away,500 ml\nK2,12/3/2026,spoiled,\n",
    # two weeks of the till, French, with tax, day before month
    "caisse/2026-03-02.csv": (
        "Date;Heure;Article;Qté;Montant TTC\n02/03/2026;20:05;MARSH SOUR;2;24,00\n02/03/2026;20:20;Fen Fizz;1;13,50\n"
        "03/03/2026;21:00;Marsh Sour + sans glaçons;1;12,00\n03/03/2026;21:10;REED MUL;2;22,00\n"
        "04/03/2026;22:00;Pichet Fen Fizz;1;48,00\n04/03/2026;22:10;Olives;3;12,00\n"
    ),
    "caisse/2026-03-09.csv": (
        "Date;Heure;Article;Qté;Montant TTC\n09/03/2026;20:00;Bog Flip;1;12,60\n10/03/2026;20:30;Marsh Sour + double;1;15,00\n"
        "11/03/2026;21:00;Reed Mule;1;11,00\n13/03/2026;22:00;Fen Fizz;2;27,00\n"
    ),
}  # fmt: skip

SERVES: Final = {"Marsh Sour": 4, "Fen Fizz": 7, "Reed Mule": 3, "Bog Flip": 1}
NET: Final = {"Marsh Sour": 51 / 1.2, "Fen Fizz": 88.5 / 1.2, "Reed Mule": 33 / 1.2, "Bog Flip": 12.6 / 1.2}
OTHER_NET: Final = 12 / 1.2
KELP_TEA, PLUM_SHRUB, GINGER_SYRUP = 0.80 / 1000, (1.75 + 0.48) / 700, (1.00 + 0.36) / 500
"""EUR a ml: the water costs nothing."""
COSTS: Final = {
    ("Marsh Sour", 1): 50 * 21 / 700 + 22.5 * 6 / 1000,
    ("Marsh Sour", 2): 45 * 21 / 700 + 20 * KELP_TEA + 22.5 * 6 / 1000,
    ("Fen Fizz", 1): 50 * 19 / 1000 + 15 * PLUM_SHRUB + 100 * 0.80 / 1000,
    ("Reed Mule", 1): 40 * 14 / 700 + 20 * GINGER_SYRUP + 12.5 * 6 / 1000,
    ("Bog Flip", 1): 50 * 19 / 1000 + 0.30,
}
FATES: Final = {
    "K1": (1500, 3 * 20, 500, 0, 1500 - 60 - 500, 0),
    "P1": (700, 7 * 15, 0, 0, 0, 700 - 105),
    "K2": (1000, 20, 0, 1000 - 20, 0, 0),
    "G1": (500, 20, 0, 0, 0, 500 - 20),
}
"""Batch -> ml made, used, poured away, spoiled, left at its use-by, on hand on the last day: the first tea was good for
five days, the second spoiled on the 12th; the mules of the 3rd came before there was a batch of the syrup."""
MEANS: Final = {
    (1, "sweetness"): 15.5 / 3, (1, "liking"): 17 / 3, (2, "sweetness"): 13 / 3, (2, "liking"): 22.5 / 3,
}  # fmt: skip


def write(folder: Path) -> Path:
    """Write all books of the house into a folder."""
    for name, sheets in SHEETS.items():
        folder.mkdir(parents=True, exist_ok=True)
        book = xlsxwriter.Workbook(str(folder / name))
        for title, grid in sheets.items():
            sheet = book.add_worksheet(title)
            for number, row in enumerate(grid):
                for place, cell in enumerate(row):
                    if cell is not None:
                        (sheet.write_string if isinstance(cell, str) else sheet.write)(number, place, cell)
        book.close()
    for name, text in TEXTS.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    return folder
