"""Further books as bars keep them: forms, flags, business days, week grids, cells that say nothing, other languages.

They were written, with their truth, before the reader had been tried on any. All names are made up. The ways of writing
are common practice, no source.
"""

# ruff: noqa: E501  (a row of a book is a line here)
# fmt: off
from __future__ import annotations

from datetime import date, datetime
from typing import Final

from kept_books import Book, lines, packs, sales

D = date
M = datetime

TYPED_UP: Final = (
    Book(name="forms export of recipes, a cell of lines", file="Recipe submissions (Responses).csv", text='Timestamp,Your name,What is the drink called?,Ingredients and amounts (one per line),Glass\n3/2/2026 14:05:11,Ines,Alder Sour,"45 ml gin\n20 ml quince syrup\n25 ml lemon juice",coupe\n3/3/2026 9:40:02,Tove,Rush Fizz,"50 ml rum\n30 ml rhubarb tea",highball\n',
        truth={"spec_line": lines("Alder Sour", ("gin", 45, "ml"), ("quince syrup", 20, "ml"), ("lemon juice", 25, "ml")) + lines("Rush Fizz", ("rum", 50, "ml"), ("rhubarb tea", 30, "ml"))},
        answers={"spec": "What is the drink called?", "item": "Ingredients and amounts (one per line)", "amount": "Ingredients and amounts (one per line)"}),
    Book(name="gallons nobody says which", file="batch recipes.csv", text="Recipe,Yields,Ingredient,Qty\nBog punch,1 gal,tea,1/2 gal\nBog punch,,pear juice,3 pints\nSpruce tea,2 gal,water,2 gal\n",
        truth={"spec_line": lines("Bog punch", ("tea", 0.5, "imp gallon"), ("pear juice", 3, "imp pint")) + lines("Spruce tea", ("water", 2, "imp gallon"))}, answers={"gallon": "imperial"}, left=0),
    Book(name="pack, ex VAT, VAT, inc VAT, footer", file="price list spring.csv", text="Product;Pack size;Ex VAT;VAT %;Inc VAT\nGin 40%;70cl;18.40;20;22.08\nCaster sugar;5kg;6.10;0;6.10\nCider vinegar;2.5 L;7.25;20;8.70\n;;;;\nPrices valid until 30 June 2026;;;;\nSigned: A. Fenn;;;;\n",
        truth={"ingredient": packs(("Gin 40%", 70, "cl", 18.40), ("Caster sugar", 5, "kg", 6.10), ("Cider vinegar", 2.5, "l", 7.25))}),
    Book(name="abs and x among scores, one row a person", file="panel.csv", text="Session,Date,Taster,Sample,Version,Sweet,Sour,Liking\nA,2026-03-12,Ines,Larch Sour,2,5,6,7\nA,2026-03-12,Tove,Larch Sour,2,abs,abs,abs\nA,2026-03-12,Karl,Larch Sour,2,x,6,6\nA,2026-03-12,Ines,Larch Sour,3,4,n/a,8\n",
        truth={"tasting": [{"spec": "Larch Sour", "version": v, "tasted_on": D(2026, 3, 12), "panelist": p, "attribute": a, "score": s} for v, p, several in ((2, "Ines", (5, 6, 7)), (2, "Karl", (None, 6, 6)), (3, "Ines", (4, None, 8))) for a, s in zip(("Sweet", "Sour", "Liking"), several, strict=True) if s is not None]}),
    Book(name="modifiers in a column and a void flag", file="orders.csv", text="Order,Opened,Item,Modifiers,Qty,Net,Void?\n1001,2026-03-13 20:15,Larch Sour,no ice,2,24.00,N\n1001,2026-03-13 20:15,Beet Flip,,1,11.00,Y\n1002,2026-03-13 21:05,Fennel Highball,double; no ice,1,13.00,N\n1003,2026-03-13 22:40,Larch Sour,,1,12.00,N\n",
        truth={"sale": sales((M(2026, 3, 13, 20, 15), "Larch Sour", 2, 24), (M(2026, 3, 13, 21, 5), "Fennel Highball", 1, 13), (M(2026, 3, 13, 22, 40), "Larch Sour", 1, 12))}, answers={"voids": "left out"}),
    Book(name="trading date and time after midnight", file="till march.csv", text="Trading date,Time,Item,Qty,Net\n13/03/2026,20:15,Larch Sour,2,24.00\n13/03/2026,23:50,Beet Flip,1,11.00\n13/03/2026,00:40,Larch Sour,1,12.00\n14/03/2026,19:30,Fennel Highball,1,10.00\n14/03/2026,01:10,Larch Sour,2,24.00\n",
        truth={"sale": sales((M(2026, 3, 13, 20, 15), "Larch Sour", 2, 24), (M(2026, 3, 13, 23, 50), "Beet Flip", 1, 11), (M(2026, 3, 14, 0, 40), "Larch Sour", 1, 12), (M(2026, 3, 14, 19, 30), "Fennel Highball", 1, 10), (M(2026, 3, 15, 1, 10), "Larch Sour", 2, 24))}, answers={"dates_are": "business days", "date_format": "%d/%m/%Y %H:%M"}),
)
