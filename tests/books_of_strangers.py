"""Further books, as strangers keep them: other languages, marks, encodings and habits than the rest have.

All of them were written, with their truth, before the reader had been tried on any. All names are made up. The ways of
writing are common practice, no source.
"""

# ruff: noqa: E501  (a row of a book is a line here)
# fmt: off
from __future__ import annotations

from datetime import date, datetime
from typing import Final

from kept_books import Book, Cell, batches, lines, packs, sales, scores, spec, strengths

D = date
M = datetime
WORDS_DE: Final = {"date_format": "%d. %B", "year": "2026"}

SPEC_BOOKS: Final = (
    Book(
        name="a table drawn with dashes and bars, English",
        file="specs.txt",
        text=(
            "+------------+---------------+--------+\n| Drink      | Ingredient    | Amount |\n+------------+---------------+--------+\n"
            "| Reed Sour  | gin           | 45 ml  |\n|            | sorrel syrup  | 20 ml  |\n+------------+---------------+--------+\n"
            "| Sedge Fizz | vodka         | 50 ml  |\n|            | soda          | 1 dl   |\n+------------+---------------+--------+\n"
        ),
        truth={"spec_line": lines("Reed Sour", ("gin", 45, "ml"), ("sorrel syrup", 20, "ml")) + lines("Sedge Fizz", ("vodka", 50, "ml"), ("soda", 1, "dl"))},
    ),
    Book(
        name="a table of a notes file, with bars and a ruled line, Catalan",
        file="receptes.md",
        text="# Receptes\n\n| Còctel | Ingredient | Quantitat |\n|:---|---|---:|\n| Agre de canyís | ginebra | 4,5 cl |\n| Agre de canyís | xarop de figa | 1½ cl |\n| Fizz de jonc | rom | 5 cl |\n",
        truth={"spec_line": lines("Agre de canyís", ("ginebra", 4.5, "cl"), ("xarop de figa", 1.5, "cl")) + lines("Fizz de jonc", ("rom", 5, "cl"))},
        answers={"spec": "Còctel", "item": "Ingredient", "amount": "Quantitat"},
    ),
    Book(
        name="accents as an old Macintosh writes them, French",
        file="fiches.csv",
        encoding="mac_roman",
        text="Cocktail;Ingrédient;Quantité\nAigre d'été;gin;4,5 cl\nAigre d'été;thé fumé;2 cl\nFizz des prés;crème de mûre;1,5 cl\nFizz des prés;vin pétillant;1 dl\n",
        truth={"spec_line": lines("Aigre d'été", ("gin", 4.5, "cl"), ("thé fumé", 2, "cl")) + lines("Fizz des prés", ("crème de mûre", 1.5, "cl"), ("vin pétillant", 1, "dl"))},
    ),
    Book(
        name="text from a spreadsheet as UTF-16 with tabs, Turkish",
        file="reçeteler.txt",
        encoding="utf-16",
        text="Kokteyl\tMalzeme\tMiktar\tBirim\nSazlık Ekşi\tcin\t4,5\tcl\nSazlık Ekşi\tşurup\t2\tcl\nİğde Fizz\tvotka\t5\tcl\n",
        truth={"spec_line": lines("Sazlık Ekşi", ("cin", 4.5, "cl"), ("şurup", 2, "cl")) + lines("İğde Fizz", ("votka", 5, "cl"))},
        answers={"spec": "Kokteyl", "item": "Malzeme", "amount": "Miktar", "unit": "Birim"},
    ),
    Book(
        name="pounds, gallons and ounces by weight in a prep book, American",
        file="prep recipes.csv",
        text="Prep,Yield,Keeps,Ingredient,Amount\nSmoked syrup,1 gal,14 days,sugar,6 lb\n,,,water,½ gal\n,,,citric acid,1 1/2 oz\nPear shrub,2 qt,30 days,pears,3 lb\n,,,cider vinegar,1 qt\n",
        truth={
            "spec_line": lines("Smoked syrup", ("sugar", 6, "lb"), ("water", 0.5, "gallon"), ("citric acid", 1.5, "oz")) + lines("Pear shrub", ("pears", 3, "lb"), ("cider vinegar", 1, "quart")),
            "spec": [spec("Smoked syrup", kind="preparation", makes=(1, "gallon"), keeps_days=14), spec("Pear shrub", kind="preparation", makes=(2, "quart"), keeps_days=30)],
        },
        answers={"kind": "preparation", "oz": "oz"},
    ),
    Book(
        name="headings from right to left, Hebrew",
        file="מתכונים.csv",
        text="משקה,מרכיב,כמות,יחידה\nחמוץ סוף,ג'ין,45,ml\nחמוץ סוף,סירופ תאנים,20,ml\nפיז גומא,וודקה,50,ml\n",
        truth={"spec_line": lines("חמוץ סוף", ("ג'ין", 45, "ml"), ("סירופ תאנים", 20, "ml")) + lines("פיז גומא", ("וודקה", 50, "ml"))},
        answers={"spec": "משקה", "item": "מרכיב", "amount": "כמות", "unit": "יחידה"},
    ),
    Book(
        name="full-width digits in a workbook, Japanese",
        file="レシピ.xlsx",
        sheets={
            "レシピ": [
                ["カクテル", "材料", "分量"], ["葦のサワー", "ジン", "４５ml"], [None, "梅シロップ", "２０ml"], ["藺草のフィズ", "ウォッカ", "５０ml"], [None, "炭酸水", "１００ml"],
            ]
        },
        truth={"spec_line": lines("葦のサワー", ("ジン", 45, "ml"), ("梅シロップ", 20, "ml")) + lines("藺草のフィズ", ("ウォッカ", 50, "ml"), ("炭酸水", 100, "ml"))},
        answers={"spec": "カクテル", "item": "材料", "amount": "分量"},
    ),
    Book(
        name="lines of JSON typed by hand, in a list, English",
        file="specs.json",
        text=(
            '[\n  {"drink": "Reed Sour", "ingredient": "gin", "amount": "45 ml"},\n  {"drink": "Reed Sour", "ingredient": "sorrel syrup", "amount": "20 ml"},\n\n'
            '  {"drink": "Sedge Fizz", "ingredient": "vodka", "amount": 50, "unit": "ml"}\n]\n'
        ),
        truth={"spec_line": lines("Reed Sour", ("gin", 45, "ml"), ("sorrel syrup", 20, "ml")) + lines("Sedge Fizz", ("vodka", 50, "ml"))},
    ),
    Book(
        name="a drink's name merged down its lines and its price merged beside them, Finnish",
        file="reseptit.xlsx",
        sheets={
            "Reseptit": [
                ["Juoma", "Hinta", "Aines", "Määrä"], ["Ruokosour", 12.5, "gini", "4,5 cl"], [None, None, "marjasiirappi", "2 cl"], ["Saraheinäfizz", 11, "votka", "5 cl"], [None, None, "sooda", "1 dl"],
            ]
        },
        merged={"Reseptit": ("A2:A3", "B2:B3", "A4:A5", "B4:B5")},
        truth={
            "spec_line": lines("Ruokosour", ("gini", 4.5, "cl"), ("marjasiirappi", 2, "cl")) + lines("Saraheinäfizz", ("votka", 5, "cl"), ("sooda", 1, "dl")),
            "spec": [spec("Ruokosour", price=12.5), spec("Saraheinäfizz", price=11)],
        },
        answers={"kind": "drink", "spec": "Juoma", "price": "Hinta", "item": "Aines", "amount": "Määrä"},
    ),
)

PRICE_LISTS: Final = (
    Book(
        name="thousands by apostrophes, Swiss",
        file="einkauf.csv",
        text="Artikel;Inhalt;Preis CHF\nGin vom See;70 cl;28.90\nFass Cidre;50 l;1'249.50\nZucker;25 kg;1’012.00\nEnzianwurzel;100 g;9.80\n",
        truth={"ingredient": packs(("Gin vom See", 70, "cl", 28.9), ("Fass Cidre", 50, "l", 1249.5), ("Zucker", 25, "kg", 1012), ("Enzianwurzel", 100, "g", 9.8))},
    ),
    Book(
        name="thousands by thin spaces, strengths in per cent, French",
        file="achats.csv",
        text="Désignation;Contenance;Prix HT;Degré\nGin des dunes;70 cl;18,40 €;40 %\nFût de cidre;30 l;1\u202f120,50 €;4,5%\nLiqueur de sapin;50 cl;14,00 €;12,5%\n",
        truth={
            "ingredient": strengths(packs(("Gin des dunes", 70, "cl", 18.4), ("Fût de cidre", 30, "l", 1120.5), ("Liqueur de sapin", 50, "cl", 14)), (40, 4.5, 12.5))
        },
        answers={"abv_pct": "Degré"},
    ),
    Book(
        name="percentages as cells of a workbook and as texts, English",
        file="strengths.xlsx",
        sheets={
            "List": [
                ["Item", "Size", "Cost", "ABV"], ["gin", "700 ml", 21.5, Cell(0.4, shown="0%")], ["vermouth", "750 ml", 9.8, Cell(0.165, shown="0.0%")], ["bitters", "200 ml", 14, "44.7%"], ["soda", "1 l", 0.6, Cell(0, shown="0%")],
            ]
        },
        truth={
            "ingredient": strengths(packs(("gin", 700, "ml", 21.5), ("vermouth", 750, "ml", 9.8), ("bitters", 200, "ml", 14), ("soda", 1, "l", 0.6)), (40, 16.5, 44.7, 0))
        },
    ),
    Book(
        name="strengths as shares of one in a text file, English",
        file="shares.csv",
        text="Item,Size,Cost,ABV %\ngin,700 ml,21.50,0.40\nvermouth,750 ml,9.80,0.165\nbitters,200 ml,14.00,0.447\n",
        truth={
            "ingredient": strengths(packs(("gin", 700, "ml", 21.5), ("vermouth", 750, "ml", 9.8), ("bitters", 200, "ml", 14)), (40, 16.5, 44.7))
        },
        answers={"shares": "abv_pct"},
    ),
    Book(
        name="cells in which a spreadsheet shows an error, English",
        file="costs.xlsx",
        sheets={
            "Costs": [
                ["Item", "Pack", "Price"], ["gin", "700 ml", 21.5], ["rum", "1 l", Cell("#N/A", formula="=VLOOKUP(A3,Z:Z,1,0)")], ["sugar", "1 kg", Cell(1.25, formula="=2.5/2")], ["soda", "1 l", Cell("#DIV/0!", formula="=1/0")],
            ]
        },
        truth={"ingredient": packs(("gin", 700, "ml", 21.5), ("sugar", 1, "kg", 1.25))},
        left=2,
    ),
    Book(
        name="the price over with and without tax, in two rows of headings, English",
        file="supplier sheet.xlsx",
        sheets={
            "March": [
                ["Product", "Pack", "Price", None], [None, None, "ex VAT", "inc VAT"], ["gin", "70 cl", 18.4, 22.08], ["rum", "1 l", 17.9, 21.48], ["sugar", "1 kg", 1.1, 1.1],
            ]
        },
        merged={"March": ("C1:D1",)},
        truth={"ingredient": packs(("gin", 70, "cl", 18.4), ("rum", 1, "l", 17.9), ("sugar", 1, "kg", 1.1))},
    ),
    Book(
        name="bars between cells, cases, pounds and gallons, American",
        file="vendor.txt",
        text="Item|Pack|Case price\nCoastal gin|12 x 750 ml|$298.80\nCane sugar|50 lb|$31.25\nWhite vinegar|1 gal|$4.10\nLemons|each|$0.45\n",
        truth={"ingredient": packs(("Coastal gin", 9000, "ml", 298.8), ("Cane sugar", 50, "lb", 31.25), ("White vinegar", 1, "gallon", 4.1), ("Lemons", 1, "each", 0.45))},
    ),
    Book(
        name="prices in whole money with spaces, a supplier's heading on each page, Hungarian",
        file="árlista.csv",
        text="Árlista 1. oldal;;\nTermék;Kiszerelés;Ár\nparti gin;0,7 l;8 990 Ft\nvodka;1 l;6 490 Ft\nÁrlista 2. oldal;;\nTermék;Kiszerelés;Ár\ncukor;1 kg;459 Ft\n",
        truth={"ingredient": packs(("parti gin", 0.7, "l", 8990), ("vodka", 1, "l", 6490), ("cukor", 1, "kg", 459))},
        answers={"item": "Termék", "pack_amount": "Kiszerelés", "pack_cost": "Ár"},
    ),
    Book(
        name="repeated cells and a thousand blank rows of an open document, Romanian",
        file="prețuri.ods",
        sheets={
            "Prețuri": [["Produs", "Ambalaj", "Preț", "Furnizor"], ["gin", "0,7 l", 89.5, "Depozit"], ["zahăr", "1 kg", 1, "Depozit"], ["sare", "1 kg", 1, "Depozit"], *[[None]] * 1000, ["apă", "1 l", 2.2, "Depozit"]],
        },
        truth={"ingredient": packs(("gin", 0.7, "l", 89.5), ("zahăr", 1, "kg", 1), ("sare", 1, "kg", 1), ("apă", 1, "l", 2.2))},
        answers={"item": "Produs", "pack_amount": "Ambalaj", "pack_cost": "Preț"},
    ),
)

BATCH_BOOKS: Final = (
    Book(
        name="times as 13h30, several bottles, about so much, French",
        file="cahier de production.csv",
        text=(
            "Date;Heure;Préparation;Quantité\n02/03/2026;13h30;Thé fumé;3 x 700 ml\n02/03/2026;15h;Sirop de sapin;1½ l\n14/03/2026;9h45;Thé fumé;~2 l\n15/03/2026;10h00;Sirop de sapin;2 L + 500\n16/03/2026;10h30;Thé fumé;2 L + 500 ml\n"
        ),
        truth={"batch": batches(("Thé fumé", D(2026, 3, 2), 2100, "ml"), ("Sirop de sapin", D(2026, 3, 2), 1.5, "l"), ("Thé fumé", D(2026, 3, 14), 2, "l"), ("Thé fumé", D(2026, 3, 16), 2.5, "l"))},
        left=1,
    ),
    Book(
        name="days as 5. Mai and notes between them, Austrian",
        file="ansatzbuch 2026.csv",
        text="Datum;Ansatz;Menge;Wer\n5. Mai;Zirbensirup;1,5 l;Ina\nKühlraum war zwei Tage aus!;;;\n7. Mai;Marillenshrub;700 ml;Jo\n12. Jänner;Zirbensirup;1 l;Ina\n",
        truth={"batch": batches(("Zirbensirup", D(2026, 5, 5), 1.5, "l"), ("Marillenshrub", D(2026, 5, 7), 700, "ml"), ("Zirbensirup", D(2026, 1, 12), 1, "l"))},
        answers=WORDS_DE,
        left=1,
    ),
    Book(
        name="days as Mon 3/2, the year in the file's name, American",
        file="batch log 2026.csv",
        text="Day,Batch,Made,By\nMon 3/2,Smoked tea,2 qt,Dana\nTue 3/3,Pear shrub,1 gal,Lee\nMon 3/9,Smoked tea,1 qt,Dana\n",
        truth={"batch": batches(("Smoked tea", D(2026, 3, 2), 2, "quart"), ("Pear shrub", D(2026, 3, 3), 1, "gallon"), ("Smoked tea", D(2026, 3, 9), 1, "quart"))},
        answers={"date_format": "%a %m/%d", "year": "2026", "preparation": "Batch"},
    ),
    Book(
        name="days by week, as 2026-W10-1, Swedish",
        file="satser.csv",
        text="Vecka;Beredning;Mängd\n2026-W10-1;Tångte;1,5 l\n2026-W10-3;Havtornssirap;700 ml\n2026-W11-2;Tångte;1 l\n",
        truth={"batch": batches(("Tångte", D(2026, 3, 2), 1.5, "l"), ("Havtornssirap", D(2026, 3, 4), 700, "ml"), ("Tångte", D(2026, 3, 10), 1, "l"))},
        answers={"made_on": "Vecka"},
    ),
    Book(
        name="days as the serial numbers of a spreadsheet, English",
        file="export.csv",
        text="made on,prep,amount,unit,use by\n46083,Kelp Tea,1500,ml,46088\n46084,Plum Shrub,700,ml,46105\n46090,Kelp Tea,1000,ml,46095\n",
        truth={
            "batch": [
                {**row, "use_by": by} for row, by in zip(batches(("Kelp Tea", D(2026, 3, 2), 1500, "ml"), ("Plum Shrub", D(2026, 3, 3), 700, "ml"), ("Kelp Tea", D(2026, 3, 9), 1000, "ml")), (D(2026, 3, 7), D(2026, 3, 24), D(2026, 3, 14)), strict=True)
            ]
        },
    ),
    Book(
        name="what was lost in columns of its own, a row a day, English",
        file="losses.csv",
        text="Date,Prep,Spilled,Poured away,Staff\n2026-03-05,Kelp Tea,100 ml,,60 ml\n2026-03-06,Kelp Tea,,400 ml,\n2026-03-06,Plum Shrub,,,30 ml\n",
        beside={"batch/batch.csv": "batch,preparation,made_on,made_amount,made_unit\nK1,Kelp Tea,2026-03-04,1.5,l\nS1,Plum Shrub,2026-03-02,700,ml\n"},
        truth={
            "batch_event": [
                {"batch": b, "happened_on": D(2026, 3, d), "event": "poured away", "amount": a, "unit": "ml", "reason": why}
                for b, d, a, why in (("K1", 5, 100, "Spilled"), ("K1", 5, 60, "Staff"), ("K1", 6, 400, "Poured away"), ("S1", 6, 30, "Staff"))
            ]
        },
        answers={"event": "poured away"},
    ),
    Book(
        name="what was lost of each batch beside it, and its last day, German",
        file="chargen.csv",
        text="Charge;Was;Angesetzt;Menge;Verschüttet;Personal;Leer am\nC1;Zirbentee;02.03.2026;1,5 l;100 ml;;05.03.2026\nC2;Zirbensirup;03.03.2026;700 ml;;50 ml;20.03.2026\nC3;Zirbentee;06.03.2026;1 l;;;\n",
        truth={"batch": [{**row, "batch": label} for row, label in zip(batches(("Zirbentee", D(2026, 3, 2), 1.5, "l"), ("Zirbensirup", D(2026, 3, 3), 700, "ml"), ("Zirbentee", D(2026, 3, 6), 1, "l")), ("C1", "C2", "C3"), strict=True)]},
    ),
    Book(
        name="counts by the day of the week, the week in the sheet's name, German",
        file="zählbuch.xlsx",
        sheets={"2026W10": [["Zubereitung", "Mo", "Di", "Mi"], ["Zirbentee", "1,2 l", "0,8 l", "0,3 l"], ["Zirbensirup", None, "600 ml", "550 ml"]]},
        beside={"batch/batch.csv": "batch,preparation,made_on,made_amount,made_unit\nT1,Zirbentee,2026-03-01,1.5,l\nS1,Zirbensirup,2026-03-01,700,ml\n"},
        truth={
            "batch_event": [
                {"batch": b, "happened_on": D(2026, 3, d), "event": "counted", "amount": a, "unit": u}
                for b, d, a, u in (("T1", 2, 1.2, "l"), ("T1", 3, 0.8, "l"), ("T1", 4, 0.3, "l"), ("S1", 3, 600, "ml"), ("S1", 4, 550, "ml"))
            ]
        },
        answers={"event": "counted"},
    ),
    Book(
        name="a sheet a month by short names, the year in the file's name, colours for what is finished, English",
        file="prep 2026.xlsx",
        sheets={
            "Jan": [["Day", "Prep", "Made (l)"], [5, Cell("Kelp Tea", colour="green"), 1.5], [12, "Plum Shrub", 0.7]],
            "Feb": [["Day", "Prep", "Made (l)"], [2, Cell("Kelp Tea", colour="green"), 2]],
            "Mar": [["Day", "Prep", "Made (l)"], [1, "Kelp Tea", 1], [31, "Plum Shrub", 0.7]],
        },
        truth={"batch": batches(("Kelp Tea", D(2026, 1, 5), 1.5, "l"), ("Plum Shrub", D(2026, 1, 12), 0.7, "l"), ("Kelp Tea", D(2026, 2, 2), 2, "l"), ("Kelp Tea", D(2026, 3, 1), 1, "l"), ("Plum Shrub", D(2026, 3, 31), 0.7, "l"))},
        answers={"year": "2026"},
    ),
)

TASTINGS: Final = (
    Book(
        name="tasters as columns, the sample merged down its attributes, a mean beside, Norwegian",
        file="smaking.xlsx",
        sheets={
            "12.03.2026": [
                ["Prøve", "Egenskap", "Ada", "Bo", "Cleo", "Snitt"], ["Fjæresur v1", "søt", 5, 6, 4, 5], [None, "sur", 6, 5, 7, 6], ["Fjæresur v2", "søt", 4, 4, 5, 4.33], [None, "sur", 7, 6, 6, 6.33],
            ]
        },
        merged={"12.03.2026": ("A2:A3", "A4:A5")},
        truth={
            "tasting": [
                {"spec": "Fjæresur", "version": v, "tasted_on": D(2026, 3, 12), "panelist": p, "attribute": a, "score": s}
                for v, a, several in ((1, "søt", (5, 6, 4)), (1, "sur", (6, 5, 7)), (2, "søt", (4, 4, 5)), (2, "sur", (7, 6, 6))) for p, s in zip(("Ada", "Bo", "Cleo"), several, strict=True)
            ]
        },
        answers={"session": "12.03.2026", "tasted_on": "2026-03-12"},
    ),
    Book(
        name="several tastings one below another, a day and a drink above each, English",
        file="tastings.csv",
        text=(
            "Reed Sour v2,,,\n12 March 2026,,,\nTaster,Sweet,Sour,Liking\nAda,5,6,7\nBo,6,5,8\n,,,\nSedge Fizz v1,,,\n19 March 2026,,,\nTaster,Sweet,Sour,Liking\nAda,4,4,5\nCleo,5,3,6\n"
        ),
        truth={
            "tasting": scores("Reed Sour", D(2026, 3, 12), ["Sweet", "Sour", "Liking"], {(2, "Ada"): [5, 6, 7], (2, "Bo"): [6, 5, 8]})
            + scores("Sedge Fizz", D(2026, 3, 19), ["Sweet", "Sour", "Liking"], {(1, "Ada"): [4, 4, 5], (1, "Cleo"): [5, 3, 6]})
        },
    ),
    Book(
        name="half points with a comma, nobody's cell, a cross for absent, Finnish",
        file="maistelu.csv",
        text="Päivä;Maistaja;Juoma;Versio;Makeus;Happamuus\n12.3.2026;Aino;Ruokosour;2;5,5;6\n12.3.2026;Eero;Ruokosour;2;x;6,5\n12.3.2026;Ilma;Ruokosour;2;;7\n",
        truth={
            "tasting": [
                {"tasted_on": D(2026, 3, 12), "panelist": p, "spec": "Ruokosour", "version": 2, "attribute": a, "score": s}
                for p, a, s in (("Aino", "Makeus", 5.5), ("Aino", "Happamuus", 6), ("Eero", "Happamuus", 6.5), ("Ilma", "Happamuus", 7))
            ]
        },
        answers={"panelist": "Maistaja", "spec": "Juoma", "version": "Versio", "tasted_on": "Päivä", "session": "Päivä", "date_format": "%d.%m.%Y"},
    ),
)

TILLS: Final = (
    Book(
        name="voids and refunds as rows of a kind of their own, with plain numbers, English",
        file="transactions.csv",
        text=(
            "Closed,Type,Item,Qty,Net\n2026-03-13 20:15,Sale,Reed Sour,2,22.00\n2026-03-13 20:16,Void,Reed Sour,1,11.00\n2026-03-13 21:40,Sale,Sedge Fizz,1,10.00\n2026-03-13 22:05,Refund,Sedge Fizz,1,10.00\n2026-03-13 23:10,Sale,Reed Sour,1,11.00\n"
        ),
        truth={
            "sale": sales(
                (M(2026, 3, 13, 20, 15), "Reed Sour", 2, 22), (M(2026, 3, 13, 20, 16), "Reed Sour", -1, -11), (M(2026, 3, 13, 21, 40), "Sedge Fizz", 1, 10), (M(2026, 3, 13, 22, 5), "Sedge Fizz", -1, -10), (M(2026, 3, 13, 23, 10), "Reed Sour", 1, 11),
            )
        },
        answers={"voids": "negative"},
    ),
    Book(
        name="modifiers in rows of their own below the item, minus behind the number, German",
        file="bons.csv",
        text=(
            "Zeit;Artikel;Anz.;Netto\n13.03.2026 20:15;Moorsauer;2;20,00\n13.03.2026 20:15;  + doppelt;1;3,00\n13.03.2026 20:15;  ohne Eis;1;0,00\n13.03.2026 21:30;Fenwasser;1-;8,50-\nZwischensumme;;;14,50\n13.03.2026 22:10;Fenwasser;1;8,50\n"
        ),
        truth={
            "sale": sales(
                (M(2026, 3, 13, 20, 15), "Moorsauer", 2, 20), (M(2026, 3, 13, 20, 15), "+ doppelt", 1, 3), (M(2026, 3, 13, 20, 15), "ohne Eis", 1, 0), (M(2026, 3, 13, 21, 30), "Fenwasser", -1, -8.5), (M(2026, 3, 13, 22, 10), "Fenwasser", 1, 8.5),
            )
        },
    ),
    Book(
        name="full-width digits and a sum, Japanese",
        file="売上.csv",
        text="日時,商品,数量,金額\n２０２６-０３-１３ ２０:１５,葦のサワー,２,２４００\n２０２６-０３-１３ ２１:４０,藺草のフィズ,１,１１００\n合計,,３,３５００\n",
        truth={"sale": sales((M(2026, 3, 13, 20, 15), "葦のサワー", 2, 2400), (M(2026, 3, 13, 21, 40), "藺草のフィズ", 1, 1100))},
        answers={"sold_at": "日時", "till_item": "商品", "quantity": "数量", "net_amount": "金額", "tax_pct": "0"},
    ),
    Book(
        name="a journal with hours as 20h15, pages and a carried sum, Portuguese",
        file="diário.csv",
        text=(
            "Folha 1;;;\nData;Hora;Artigo;Qtd;Valor s/ IVA\n13/03/2026;20h15;Azedo da serra;2;20,00\n13/03/2026;21h40;Fizz da ria;1;8,50\nA transportar;;;3;28,50\nFolha 2;;;;\nData;Hora;Artigo;Qtd;Valor s/ IVA\nTransporte;;;3;28,50\n14/03/2026;19h05;Fizz da ria;1;8,50\nTotal;;;4;37,00\n"
        ),
        truth={"sale": sales((M(2026, 3, 13, 20, 15), "Azedo da serra", 2, 20), (M(2026, 3, 13, 21, 40), "Fizz da ria", 1, 8.5), (M(2026, 3, 14, 19, 5), "Fizz da ria", 1, 8.5))},
    ),
    Book(
        name="one drink's price as several with a comma for thousands, English",
        file="functions.csv",
        text='When,Item,Covers,Net sales\n2026-03-13 18:00,Welcome fizz,150,"1,275.00"\n2026-03-13 18:30,Reed Sour,40,440.00\n2026-03-14 18:00,Welcome fizz,"1,020","8,670.00"\n',
        truth={"sale": sales((M(2026, 3, 13, 18, 0), "Welcome fizz", 150, 1275), (M(2026, 3, 13, 18, 30), "Reed Sour", 40, 440), (M(2026, 3, 14, 18, 0), "Welcome fizz", 1020, 8670))},
        answers={"quantity": "Covers"},
    ),
)

STRANGERS: Final = (*SPEC_BOOKS, *PRICE_LISTS, *BATCH_BOOKS, *TASTINGS, *TILLS)
