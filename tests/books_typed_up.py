"""Further books as bars keep them: forms, flags, business days, week grids, cells that say nothing, other languages.

They were written, with their truth, before the reader had been tried on any. All names are made up. The ways of writing
are common practice, no source.
"""

# ruff: noqa: E501  (a row of a book is a line here)
# fmt: off
from __future__ import annotations

from datetime import date, datetime
from typing import Final

from kept_books import Book, batches, lines, packs, sales, spec

D = date
M = datetime
BATCHES: Final = {"batch/batch.csv": "batch,preparation,made_on,made_amount,made_unit\nF1,Fennel syrup,2026-03-02,2,l\nS1,Plum shrub,2026-03-02,1.5,l\nB1,Beet syrup,2026-03-03,900,ml\n"}
OF_APRIL: Final = {"batch/batch.csv": "batch,preparation,made_on,made_amount,made_unit\nH1,Hay tea,2026-04-06,3,l\nP1,Parsnip syrup,2026-04-06,1.2,l\nC1,Currant shrub,2026-04-07,800,ml\n"}

TYPED_UP: Final = (
    Book(name="phone notes", file="Notes export.txt", text="Fennel Highball\n45ml gin\n15ml fennel syrup\n100ml soda\n\nBeet Flip\n60 ml rum\n20ml beet syrup\n1 egg\n\nPear Cup (for bottles)\n2 l pear juice\n500ml vodka\n",
        truth={"spec_line": lines("Fennel Highball", ("gin", 45, "ml"), ("fennel syrup", 15, "ml"), ("soda", 100, "ml")) + lines("Beet Flip", ("rum", 60, "ml"), ("beet syrup", 20, "ml"))
           + lines("Pear Cup (for bottles)", ("pear juice", 2, "l"), ("vodka", 500, "ml"))}, left=1),
    Book(name="forms export of recipes, a cell of lines", file="Recipe submissions (Responses).csv", text='Timestamp,Your name,What is the drink called?,Ingredients and amounts (one per line),Glass\n3/2/2026 14:05:11,Ines,Alder Sour,"45 ml gin\n20 ml quince syrup\n25 ml lemon juice",coupe\n3/3/2026 9:40:02,Tove,Rush Fizz,"50 ml rum\n30 ml rhubarb tea",highball\n',
        truth={"spec_line": lines("Alder Sour", ("gin", 45, "ml"), ("quince syrup", 20, "ml"), ("lemon juice", 25, "ml")) + lines("Rush Fizz", ("rum", 50, "ml"), ("rhubarb tea", 30, "ml"))},
        answers={"spec": "What is the drink called?", "item": "Ingredients and amounts (one per line)", "amount": "Ingredients and amounts (one per line)"}),
    Book(name="gallons nobody says which", file="batch recipes.csv", text="Recipe,Yields,Ingredient,Qty\nBog punch,1 gal,tea,1/2 gal\nBog punch,,pear juice,3 pints\nSpruce tea,2 gal,water,2 gal\n",
        truth={"spec_line": lines("Bog punch", ("tea", 0.5, "imp gallon"), ("pear juice", 3, "imp pint")) + lines("Spruce tea", ("water", 2, "imp gallon"))}, answers={"gallon": "imperial"}, left=0),
    Book(name="pack, ex VAT, VAT, inc VAT, footer", file="price list spring.csv", text="Product;Pack size;Ex VAT;VAT %;Inc VAT\nGin 40%;70cl;18.40;20;22.08\nCaster sugar;5kg;6.10;0;6.10\nCider vinegar;2.5 L;7.25;20;8.70\n;;;;\nPrices valid until 30 June 2026;;;;\nSigned: A. Fenn;;;;\n",
        truth={"ingredient": packs(("Gin 40%", 70, "cl", 18.40), ("Caster sugar", 5, "kg", 6.10), ("Cider vinegar", 2.5, "l", 7.25))}),
    Book(name="brix log, abbreviations", file="brix log.csv", text="Dt,Prep,Vol (L),°Bx,pH,Init.\n02/03/26,Fennel syrup,2,64.5,5.1,ID\n02/03/26,Plum shrub,1.5,38,3.2,ID\n15/03/26,Fennel syrup,2,-,5.0,TV\n17/03/26,Beet syrup,0.9,61,n/a,TV\n",
        truth={"batch": [{"preparation": p, "made_on": D(2026, 3, d), "made_amount": a, "made_unit": "l", "brix": b, "ph": ph} for p, d, a, b, ph in (("Fennel syrup", 2, 2, 64.5, 5.1), ("Plum shrub", 2, 1.5, 38, 3.2), ("Fennel syrup", 15, 2, None, 5.0), ("Beet syrup", 17, .9, 61, None))]},
        answers={"made_on": "Dt", "date_format": "%d/%m/%y"}),
    Book(name="week grid w/c with Mon to Sun", file="prep sheet.xlsx", sheets={"Prep": [["Prep sheet", None, None, None, None, None, None, None], ["Week commencing: 2 March 2026"] + [None]*7, ["Prep", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"],
        ["Fennel syrup", "2 l", None, None, "2 l", None, "1.5 l", None], ["Plum shrub", None, "700 ml", None, None, "1 l", None, None], ["Beet syrup", None, None, None, "900 ml", None, None, "900 ml"]]},
        truth={"batch": batches(("Fennel syrup", D(2026, 3, 2), 2, "l"), ("Fennel syrup", D(2026, 3, 5), 2, "l"), ("Fennel syrup", D(2026, 3, 7), 1.5, "l"), ("Plum shrub", D(2026, 3, 3), 700, "ml"), ("Plum shrub", D(2026, 3, 6), 1, "l"), ("Beet syrup", D(2026, 3, 5), 900, "ml"), ("Beet syrup", D(2026, 3, 8), 900, "ml"))}),
    Book(name="page breaks, headings again, day without year", file="batchlog.csv", text="Batch log March 2026,,,,\nDate,Prep,Made,Unit,By\nMon 02.03.,Fennel syrup,2,l,ID\nMon 02.03.,Plum shrub,700,ml,ID\nPage 1 of 2,,,,\nBatch log March 2026,,,,\nDate,Prep,Made,Unit,By\nThu 05.03.,Beet syrup,900,ml,TV\n,Fennel syrup,2,l,TV\nPage 2 of 2,,,,\nSigned I. Dahl,,,,\n",
        truth={"batch": batches(("Fennel syrup", D(2026, 3, 2), 2, "l"), ("Plum shrub", D(2026, 3, 2), 700, "ml"), ("Beet syrup", D(2026, 3, 5), 900, "ml"), ("Fennel syrup", D(2026, 3, 5), 2, "l"))}, answers={"date_format": "%a %d.%m.", "year": "2026"}),
    Book(name="ditto dashes, 2 x 1 L bottles", file="batches.csv", text='Date,Prep,Bottles,Use by,Staff\n2026-03-02,Fennel syrup,2 x 1 L,2026-03-16,Ines\n"""",Plum shrub,3 x 500 ml,2026-04-01,""""\n2026-03-09,Fennel syrup,2 x 1 L,2026-03-23,Tove\n',
        truth={"batch": batches(("Fennel syrup", D(2026, 3, 2), 2, "l"), ("Plum shrub", D(2026, 3, 2), 1500, "ml"), ("Fennel syrup", D(2026, 3, 9), 2, "l"))}, answers={"made_amount": "Bottles"}),
    Book(name="waste sheet", file="waste.csv", text="Date,What,How much,Why,Who\n05/03/2026,Fennel syrup,300 ml,gone cloudy,Ines\n13/03/2026,Beet syrup,150ml,dropped,Tove\n28/03/2026,Plum shrub,0.2 L,out of date,Ines\n", beside=BATCHES,
        truth={"batch_event": [{"batch": b, "happened_on": D(2026, 3, d), "event": "poured away", "amount": a, "unit": u} for b, d, a, u in (("F1", 5, 300, "ml"), ("B1", 13, 150, "ml"), ("S1", 28, .2, "l"))]},
        answers={"event": "poured away", "preparation": "What", "amount": "How much", "date_format": "%d/%m/%Y"}),
    Book(name="count sheet opening made closing", file="Sunday count.xlsx", sheets={"8 March 2026": [["Prep", "Opening", "Received", "Closing"], ["Fennel syrup", "1.4 l", None, "0.6 l"], ["Plum shrub", "1.2 l", None, "900 ml"], ["Beet syrup", "900 ml", None, "350 ml"]]}, beside=BATCHES,
        truth={"batch_event": [{"batch": b, "happened_on": D(2026, 3, 8), "event": "counted", "amount": a, "unit": u} for b, a, u in (("F1", .6, "l"), ("S1", 900, "ml"), ("B1", 350, "ml"))]},
        answers={"event": "counted", "amount": "Closing", "preparation": "Prep"}),
    Book(name="counts by weekday, KW in a title, German", file="Zählung.csv", text="Zählung KW 10/2026;;;;\nZubereitung;Mo;Mi;Fr;So\nFennel syrup;1,8 l;1,5 l;1,1 l;0,6 l\nBeet syrup;;850 ml;600 ml;350 ml\n", beside=BATCHES,
        truth={"batch_event": [{"batch": b, "happened_on": D(2026, 3, d), "event": "counted", "amount": a, "unit": u} for b, d, a, u in (("F1", 2, 1.8, "l"), ("F1", 4, 1.5, "l"), ("F1", 6, 1.1, "l"), ("F1", 8, .6, "l"), ("B1", 4, 850, "ml"), ("B1", 6, 600, "ml"), ("B1", 8, 350, "ml"))]},
        answers={"event": "counted"}),
    Book(name="forms export of a tasting", file="Tasting form.csv", text="Timestamp,Your name,Which sample did you taste?,How sweet is it? (1-9),How sour is it? (1-9),How much do you like it? (1-9),Anything else?\n3/12/2026 19:05:11,Ines,Larch Sour v2,5,6,7,\n3/12/2026 19:08:40,Tove,Larch Sour v2,6,5,6,a bit thin\n3/12/2026 19:20:02,Ines,Larch Sour v3,4,6,8,\n3/13/2026 18:50:00,Karl,Larch Sour v3,5,6,7,better\n",
        truth={"tasting": [{"spec": "Larch Sour", "version": v, "tasted_on": D(2026, 3, d), "panelist": p, "attribute": a, "score": s} for v, d, p, several in ((2, 12, "Ines", (5, 6, 7)), (2, 12, "Tove", (6, 5, 6)), (3, 12, "Ines", (4, 6, 8)), (3, 13, "Karl", (5, 6, 7))) for a, s in zip(("How sweet is it? (1-9)", "How sour is it? (1-9)", "How much do you like it? (1-9)"), several, strict=True)]},
        answers={"panelist": "Your name", "spec": "Which sample did you taste?", "session": "Timestamp", "tasted_on": "Timestamp", "date_format": "%m/%d/%Y %H:%M:%S", "headings_are": "attribute"}),
    Book(name="abs and x among scores, one row a person", file="panel.csv", text="Session,Date,Taster,Sample,Version,Sweet,Sour,Liking\nA,2026-03-12,Ines,Larch Sour,2,5,6,7\nA,2026-03-12,Tove,Larch Sour,2,abs,abs,abs\nA,2026-03-12,Karl,Larch Sour,2,x,6,6\nA,2026-03-12,Ines,Larch Sour,3,4,n/a,8\n",
        truth={"tasting": [{"spec": "Larch Sour", "version": v, "tasted_on": D(2026, 3, 12), "panelist": p, "attribute": a, "score": s} for v, p, several in ((2, "Ines", (5, 6, 7)), (2, "Karl", (None, 6, 6)), (3, "Ines", (4, None, 8))) for a, s in zip(("Sweet", "Sour", "Liking"), several, strict=True) if s is not None]}),
    Book(name="one score a row, Hungarian", file="kóstolás.csv", text="Dátum;Kóstoló;Ital;Változat;Jellemző;Pont\n2026.03.12.;Anna;Vörösfenyő Sour;2;édes;5\n2026.03.12.;Anna;Vörösfenyő Sour;2;savas;6\n2026.03.12.;Béla;Vörösfenyő Sour;2;édes;4\n2026.03.12.;Béla;Vörösfenyő Sour;2;savas;7\n",
        truth={"tasting": [{"spec": "Vörösfenyő Sour", "version": 2, "tasted_on": D(2026, 3, 12), "panelist": p, "attribute": a, "score": s} for p, a, s in (("Anna", "édes", 5), ("Anna", "savas", 6), ("Béla", "édes", 4), ("Béla", "savas", 7))]},
        answers={"tasted_on": "Dátum", "session": "Dátum", "panelist": "Kóstoló", "spec": "Ital", "version": "Változat", "attribute": "Jellemző", "score": "Pont", "date_format": "%Y.%m.%d."}),
    Book(name="modifiers in a column and a void flag", file="orders.csv", text="Order,Opened,Item,Modifiers,Qty,Net,Void?\n1001,2026-03-13 20:15,Larch Sour,no ice,2,24.00,N\n1001,2026-03-13 20:15,Beet Flip,,1,11.00,Y\n1002,2026-03-13 21:05,Fennel Highball,double; no ice,1,13.00,N\n1003,2026-03-13 22:40,Larch Sour,,1,12.00,N\n",
        truth={"sale": sales((M(2026, 3, 13, 20, 15), "Larch Sour", 2, 24), (M(2026, 3, 13, 21, 5), "Fennel Highball", 1, 13), (M(2026, 3, 13, 22, 40), "Larch Sour", 1, 12))}, answers={"voids": "left out"}),
    Book(name="trading date and time after midnight", file="till march.csv", text="Trading date,Time,Item,Qty,Net\n13/03/2026,20:15,Larch Sour,2,24.00\n13/03/2026,23:50,Beet Flip,1,11.00\n13/03/2026,00:40,Larch Sour,1,12.00\n14/03/2026,19:30,Fennel Highball,1,10.00\n14/03/2026,01:10,Larch Sour,2,24.00\n",
        truth={"sale": sales((M(2026, 3, 13, 20, 15), "Larch Sour", 2, 24), (M(2026, 3, 13, 23, 50), "Beet Flip", 1, 11), (M(2026, 3, 14, 0, 40), "Larch Sour", 1, 12), (M(2026, 3, 14, 19, 30), "Fennel Highball", 1, 10), (M(2026, 3, 15, 1, 10), "Larch Sour", 2, 24))}, answers={"dates_are": "business days", "date_format": "%d/%m/%Y %H:%M"}),
    Book(name="ledger with carried-forward dates and b/f c/f", file="ledger.xlsx", sheets={"March": [["Date", "Prep", "In", "Unit", "By"], [None, "b/f", None, None, None], [D(2026, 3, 2), "Fennel syrup", 2, "l", "ID"], [None, "Plum shrub", 700, "ml", "ID"], [D(2026, 3, 5), "Beet syrup", 900, "ml", "TV"], [None, "Fennel syrup", 2, "l", "TV"], [None, "c/f", None, None, None]]},
        truth={"batch": batches(("Fennel syrup", D(2026, 3, 2), 2, "l"), ("Plum shrub", D(2026, 3, 2), 700, "ml"), ("Beet syrup", D(2026, 3, 5), 900, "ml"), ("Fennel syrup", D(2026, 3, 5), 2, "l"))}, answers={"made_amount": "In"}, left=2),
    Book(name="counts, week ending", file="fridge counts.xlsx", sheets={"WE 12 Apr 2026": [["Fridge count - week ending Sunday 12 April 2026", None, None, None], ["Prep", "Mon", "Thu", "Sun"], ["Hay tea", "2.5 l", "1.8 l", "900 ml"], ["Parsnip syrup", "1.1 l", "-", "700 ml"], ["Currant shrub", None, "750 ml", "600 ml"]]}, beside=OF_APRIL,
      truth={"batch_event": [{"batch": b, "happened_on": D(2026, 4, d), "event": "counted", "amount": a, "unit": u} for b, d, a, u in (("H1", 6, 2.5, "l"), ("H1", 9, 1.8, "l"), ("H1", 12, 900, "ml"), ("P1", 6, 1.1, "l"), ("P1", 12, 700, "ml"), ("C1", 9, 750, "ml"), ("C1", 12, 600, "ml"))]}, answers={"event": "counted"}),
    Book(name="spec cards with a garnish and build line", file="specs april.csv", text="OTTER SOUR,,\nCoupe / egg white / dry shake,,\nGin,45,ml\nParsnip syrup,20,ml\nLemon juice,25,ml\nGarnish: dill,,\n,,\nSTOAT HIGHBALL,,\nHighball / build,,\nRye,40,ml\nHay tea,60,ml\nSoda,80,ml\nGarnish: none,,\n",
      truth={"spec_line": lines("OTTER SOUR", ("Gin", 45, "ml"), ("Parsnip syrup", 20, "ml"), ("Lemon juice", 25, "ml")) + lines("STOAT HIGHBALL", ("Rye", 40, "ml"), ("Hay tea", 60, "ml"), ("Soda", 80, "ml"))}),
    Book(name="menu with sections", file="menu spring.csv", text="Cocktail,Price\nSHORT,\nOtter Sour,14\nVole Martini,15\nLONG,\nStoat Highball,13\nPrices include service,\n",
      truth={"spec": [spec("Otter Sour", price=14), spec("Vole Martini", price=15), spec("Stoat Highball", price=13)]}, answers={"kind": "drink"}),
    Book(name="Hungarian ledger, days without year", file="gyártás 2026.csv", text="Nap;Készítmény;Mennyiség;Egység;Ki\n04.06.;Szénatea;3;l;Anna\n\u3003;Paszternák szirup;1,2;l;Anna\n04.20.;Ribizli shrub;800;ml;Béla\n",
      truth={"batch": batches(("Szénatea", D(2026, 4, 6), 3, "l"), ("Paszternák szirup", D(2026, 4, 6), 1.2, "l"), ("Ribizli shrub", D(2026, 4, 20), 800, "ml"))}, answers={"date_format": "%m.%d.", "year": "2026"}),
)
