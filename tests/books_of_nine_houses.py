"""Thirty-four further books, of nine invented houses in ten languages: shapes that the others have not.

All of them were written, with their truth, before the reader had been tried on any. All names are made up. The ways of
writing are common practice, no source.
"""

# ruff: noqa: E501  (a row of a book is a line here)
# fmt: off
from __future__ import annotations

from datetime import date, datetime
from typing import Final

from kept_books import Book, batches, lines, packs, rows, sales, scores, spec

D = date
M = datetime

SPEC_BOOKS: Final = (
    Book(
        name="ounces of which nobody says what they are, American",
        file="specs.csv",
        text="Cocktail,Ingredient,Amount\nHarbor Sour,gin,1 1/2 oz\nHarbor Sour,kelp tea,3/4 oz\nHarbor Sour,lemon juice,.75 oz\nDune Fizz,rum,2 oz\nDune Fizz,soda,4 oz\n",
        truth={
            "spec_line": lines("Harbor Sour", ("gin", 1.5, "fl oz"), ("kelp tea", 0.75, "fl oz"), ("lemon juice", 0.75, "fl oz"))
            + lines("Dune Fizz", ("rum", 2, "fl oz"), ("soda", 4, "fl oz")),
        },
        answers={"oz": "fl oz"},
    ),
    Book(
        name="ounces in the heading, meant imperial, British",
        file="house specs.xlsx",
        sheets={"Specs": [["Drink", "Ingredient", "oz"], ["Estuary Sour", "gin", 1.5], [None, "lemon juice", 0.75], ["Salt Fizz", "rum", 2]]},
        truth={"spec_line": lines("Estuary Sour", ("gin", 1.5, "imp fl oz"), ("lemon juice", 0.75, "imp fl oz")) + lines("Salt Fizz", ("rum", 2, "imp fl oz"))},
        answers={"oz": "imp fl oz"},
    ),
    Book(
        name="a drink a column, Spanish",
        file="fichas.xlsx",
        sheets={
            "Fichas": [
                ["Nombre", "Agrio de dunas", "Fizz de sal", "Té de alga"], ["Tipo", "cóctel", "cóctel", "preparación"], ["Rinde", "1 porción", "1 porción", "1,5 l"],
                ["Conserva (días)", None, None, 5], ["Precio", "9,50 €", "8,00 €", None],
            ],
        },
        truth={
            "spec": [
                spec("Agrio de dunas", price=9.5, keeps_days=None), spec("Fizz de sal", price=8, keeps_days=None),
                spec("Té de alga", kind="preparation", makes=(1.5, "l"), price=None, keeps_days=5),
            ],
        },
    ),
    Book(
        name="method and note rows below the lines of each spec, Italian",
        file="ricette.csv",
        text=(
            "Ricetta;Ingrediente;Quantità\nAgro di duna;gin;45 ml\n;tè d'alga;20 ml\n;Metodo: shakerare e filtrare;\n;Nota: servire subito;\nFizz di sale;rum;50 ml\n;soda;100 ml\n"
            ";Metodo;costruire nel bicchiere\n"
        ),
        truth={"spec_line": lines("Agro di duna", ("gin", 45, "ml"), ("tè d'alga", 20, "ml")) + lines("Fizz di sale", ("rum", 50, "ml"), ("soda", 100, "ml"))},
    ),
    Book(
        name="one sheet for all that a drink is and what goes in, British",
        file="menu book.xlsx",
        sheets={
            "Book": [
                ["Drink", "Glass", "Price", "Ingredient", "Amount"], ["Estuary Sour", "coupe", 12.5, "gin", "45 ml"], [None, None, None, "lemon juice", "22.5 ml"],
                ["Salt Fizz", "highball", 11, "rum", "50 ml"], [None, None, None, "soda", "100 ml"],
            ],
        },
        truth={
            "spec_line": lines("Estuary Sour", ("gin", 45, "ml"), ("lemon juice", 22.5, "ml")) + lines("Salt Fizz", ("rum", 50, "ml"), ("soda", 100, "ml")),
            "spec": [spec("Estuary Sour", price=12.5), spec("Salt Fizz", price=11)],
        },
        answers={"kind": "drink"},
    ),
    Book(
        name="codes instead of names, Polish",
        file="karty.csv",
        text="Kod;Składnik;Ilość;Jedn.\nK-014;gin;45;ml\nK-014;herbata z alg;20;ml\nP-003;woda;1;l\nP-003;algi;20;g\n",
        truth={"spec_line": lines("K-014", ("gin", 45, "ml"), ("herbata z alg", 20, "ml")) + lines("P-003", ("woda", 1, "l"), ("algi", 20, "g"))},
        answers={"spec": "Kod"},
    ),
    Book(
        name="as much as is needed is no amount, French",
        file="fiches techniques.csv",
        text=(
            "Aigre des dunes;;\nIngrédient;Quantité;Unité\ngin;4,5;cl\njus de citron;2,25;cl\namers;2;traits\nglace;QS;\n;;\nFizz de sel;;\nIngrédient;Quantité;Unité\nrhum;5;cl\n"
            "citron;1/2;pièce\n"
        ),
        truth={
            "spec_line": lines("Aigre des dunes", ("gin", 4.5, "cl"), ("jus de citron", 2.25, "cl"), ("amers", 2, "dash"))
            + lines("Fizz de sel", ("rhum", 5, "cl"), ("citron", 0.5, "each")),
        },
        left=1,
    ),
    Book(
        name="the unit once in the corner of a grid, Norwegian",
        file="rutenett.csv",
        text="Ingrediens (cl);Strandsur;Saltfizz\ngin;4,5;\nrom;;5\nsitronsaft;2,25;\nsoda;;10\n",
        truth={
            "spec_line": rows("spec item amount", ("Strandsur", "gin", 4.5), ("Saltfizz", "rom", 5), ("Strandsur", "sitronsaft", 2.25), ("Saltfizz", "soda", 10), version=1, unit="cl"),
        },
    ),
    Book(
        name="sub-headings between the lines and a sum below, German",
        file="rezeptbuch.xlsx",
        sheets={
            "Dünensauer": [
                ["Dünensauer v3", None, None], [None, None, None], ["Zutat", "Menge", "Einheit"], ["Basis", None, None], ["Gin", "4,5", "cl"], ["Säure", None, None],
                ["Zitronensaft", "2,25", "cl"], ["Summe", "6,75", "cl"], [None, None, None], ["Zubereitung:", "schütteln", None],
            ],
            "Salzfizz": [["Salzfizz", None, None], [None, None, None], ["Zutat", "Menge", "Einheit"], ["Rum", 5, "cl"], ["Soda", 10, "cl"], ["Summe", 15, "cl"]],
        },
        truth={"spec_line": lines("Dünensauer", ("Gin", 4.5, "cl"), ("Zitronensaft", 2.25, "cl"), version=3) + lines("Salzfizz", ("Rum", 5, "cl"), ("Soda", 10, "cl"))},
    ),
)

PRICE_LISTS: Final = (
    Book(
        name="currency in cells, empty columns, a note between the rows, Dutch",
        file="leverancier.csv",
        text="Artikel;;Inhoud;;Prijs;\nGin huis;;70 cl;;€ 18,50;\nLET OP: nieuwe leverancier per 1 april;;;;;\nVat cider;;30 l;;1.249,00 €;\nSuiker;;1 kg;;€ 1,09;\n",
        truth={"ingredient": packs(("Gin huis", 70, "cl", 18.5), ("Vat cider", 30, "l", 1249), ("Suiker", 1, "kg", 1.09))},
    ),
    Book(
        name="what a price is for in a column of its own, Czech",
        file="nákup.csv",
        text="Položka;Cena;Za\nGin;449 Kč;0,7 l\nŘasa;85 Kč;100 g\nCitron;9,90 Kč;kus\nCukr;24,90 Kč;kg\n",
        truth={"ingredient": packs(("Gin", 0.7, "l", 449), ("Řasa", 100, "g", 85), ("Citron", 1, "each", 9.9), ("Cukr", 1, "kg", 24.9))},
        answers={"pack_amount": "Za"},
    ),
    Book(
        name="cases, deposits and a total, Spanish",
        file="pedido.csv",
        text="Producto;Formato;Envase;Precio\nTónica;24 × 200 ml;2,40;14,40\nGinebra;botella 0,7 l;;19,90\nAzúcar;saco 5 kg;;6,25\nTOTAL;;2,40;40,55\n",
        truth={"ingredient": packs(("Tónica", 4800, "ml", 14.4), ("Ginebra", 0.7, "l", 19.9), ("Azúcar", 5, "kg", 6.25))},
    ),
    Book(
        name="headings in two rows, German",
        file="preisblatt.xlsx",
        sheets={"Preise": [["Artikel", "Gebinde", None, "Preis", None], [None, "Menge", "Einheit", "netto", "brutto"], ["Gin", 0.7, "l", 18.4, 21.9], ["Algen", 100, "g", 3.2, 3.42]]},
        truth={"ingredient": packs(("Gin", 0.7, "l", 18.4), ("Algen", 100, "g", 3.2))},
    ),
    Book(
        name="mixed decimal marks in one column, Italian",
        file="prezzi.csv",
        text="Articolo;Confezione;Prezzo\ngin;70 cl;18,90\nrum;1 l;17.90\nalghe;250 g;4,5\nsidro;30 l;1.120,50\n",
        truth={"ingredient": packs(("gin", 70, "cl", 18.9), ("rum", 1, "l", 17.9), ("alghe", 250, "g", 4.5), ("sidro", 30, "l", 1120.5))},
    ),
    Book(
        name="two tables side by side in a sheet: prices and till names, Italian",
        file="appunti.xlsx",
        sheets={
            "Foglio1": [
                ["Articolo", "Formato", "Prezzo", None, "Voce di cassa", "Ricetta"], ["gin", "70 cl", 18.9, None, "AGRO DUNA", "Agro di duna"],
                ["rum", "1 l", 17.9, None, "FIZZ SALE", "Fizz di sale"], ["zucchero", "1 kg", 1.25],
            ],
        },
        truth={
            "ingredient": packs(("gin", 70, "cl", 18.9), ("rum", 1, "l", 17.9), ("zucchero", 1, "kg", 1.25)),
            "till_match": rows("till_item spec", ("AGRO DUNA", "Agro di duna"), ("FIZZ SALE", "Fizz di sale")),
        },
    ),
)

BATCH_BOOKS: Final = (
    Book(
        name="days without a year over the turn of it, British",
        file="prep log winter.csv",
        text="Day,Prep,Made\n27/12,Kelp Tea,1.5 l\n30/12,Plum Shrub,700 ml\n2/1,Kelp Tea,1 l\n5/1,Kelp Tea,1.5 l\n",
        truth={
            "batch": batches(("Kelp Tea", D(2025, 12, 27), 1.5, "l"), ("Plum Shrub", D(2025, 12, 30), 700, "ml"), ("Kelp Tea", D(2026, 1, 2), 1, "l"), ("Kelp Tea", D(2026, 1, 5), 1.5, "l")),
        },
        answers={"year": "2025", "year_turns": "yes", "date_format": "%d/%m"},
    ),
    Book(
        name="labels, and what became of each in the same row, German",
        file="ansatzbuch.xlsx",
        sheets={
            "Ansätze": [
                ["Etikett", "Ansatz", "Datum", "Menge", "Verbleib"], ["A-01", "Algentee", D(2026, 3, 13), "1,5 l", "aufgebraucht 16.3.2026"],
                ["A-02", "Algentee", D(2026, 3, 14), "1,5 l", None], ["A-03", "Pflaumenshrub", D(2026, 3, 14), "700 ml", "200 ml weggeschüttet 28.3.2026"],
            ],
        },
        truth={
            "batch": rows(
                "preparation made_on made_amount made_unit batch", ("Algentee", D(2026, 3, 13), 1.5, "l", "A-01"), ("Algentee", D(2026, 3, 14), 1.5, "l", "A-02"),
                ("Pflaumenshrub", D(2026, 3, 14), 700, "ml", "A-03"),
            ),
            "batch_event": rows("batch happened_on event amount unit", ("A-01", D(2026, 3, 16), "used up", None, None), ("A-03", D(2026, 3, 28), "poured away", 200, "ml")),
        },
    ),
    Book(
        name="two batches of one day without labels, of which one was thrown away, French",
        file="cahier.csv",
        text="Préparation;Date;Quantité;Devenu\nThé d'algue;14/03/2026;1 l;fini 17/03/2026\nThé d'algue;14/03/2026;1 l;jeté 19/03/2026\nSirop de prune;15/03/2026;700 ml;\n",
        truth={
            "batch": batches(("Thé d'algue", D(2026, 3, 14), 1, "l"), ("Thé d'algue", D(2026, 3, 14), 1, "l"), ("Sirop de prune", D(2026, 3, 15), 700, "ml")),
            "batch_event": rows("batch happened_on event", ("Thé d'algue 14/03/2026", D(2026, 3, 17), "used up"), ("Thé d'algue 14/03/2026 #2", D(2026, 3, 19), "poured away"), amount=None, unit=None),
        },
    ),
    Book(
        name="a page's heading and sum on every page, Portuguese",
        file="registo.csv",
        text=(
            "Casa das Dunas — registo de lotes;;;\nData;Preparação;Quantidade;Feito por\n02/03/2026;Chá de alga;1,5 l;Ana\n13/03/2026;Xarope de ameixa;700 ml;Rui\n"
            "Total da página;;2,2 l;\nPágina 2;;;\nData;Preparação;Quantidade;Feito por\n20/03/2026;Chá de alga;1 l;Ana\nTotal da página;;1 l;\n"
        ),
        truth={"batch": batches(("Chá de alga", D(2026, 3, 2), 1.5, "l"), ("Xarope de ameixa", D(2026, 3, 13), 700, "ml"), ("Chá de alga", D(2026, 3, 20), 1, "l"))},
    ),
    Book(
        name="ditto marks of three kinds, Dutch",
        file="bereidingen.csv",
        text="Datum;Bereiding;Hoeveelheid;Door\n13-03-2026;Zeewierthee;1,5 l;Els\n〃;Pruimenshrub;700 ml;idem\n20-03-2026;Zeewierthee;idem;Bram\n",
        truth={"batch": batches(("Zeewierthee", D(2026, 3, 13), 1.5, "l"), ("Pruimenshrub", D(2026, 3, 13), 700, "ml"), ("Zeewierthee", D(2026, 3, 20), 700, "ml"))},
    ),
    Book(
        name="a week across with the names of the days, Swedish",
        file="vecka 10.csv",
        text="Beredning;mån 2/3;tis 3/3;ons 4/3;fre 13/3\nTångte;1,5 l;;1 l;\nPlommonshrub;;7 dl;;7 dl\n",
        truth={
            "batch": batches(("Tångte", D(2026, 3, 2), 1.5, "l"), ("Tångte", D(2026, 3, 4), 1, "l"), ("Plommonshrub", D(2026, 3, 3), 7, "dl"), ("Plommonshrub", D(2026, 3, 13), 7, "dl")),
        },
        answers={"year": "2026"},
    ),
    Book(
        name="batches above and what happened below in one sheet, British",
        file="prep.xlsx",
        sheets={
            "March": [
                ["Batches"], ["Label", "Prep", "Made on", "Amount"], ["K1", "Kelp Tea", D(2026, 3, 13), "1.5 l"], ["P1", "Plum Shrub", D(2026, 3, 14), "700 ml"], [], ["What happened"],
                ["Label", "Date", "Event", "How much"], ["K1", D(2026, 3, 16), "used up", None], ["P1", D(2026, 3, 20), "poured away", "200 ml"],
            ],
        },
        truth={
            "batch": rows("batch preparation made_on made_amount made_unit", ("K1", "Kelp Tea", D(2026, 3, 13), 1.5, "l"), ("P1", "Plum Shrub", D(2026, 3, 14), 700, "ml")),
            "batch_event": rows("batch happened_on event amount unit", ("K1", D(2026, 3, 16), "used up", None, None), ("P1", D(2026, 3, 20), "poured away", 200, "ml")),
        },
    ),
    Book(
        name="events that name the preparation and no label, Polish",
        file="dziennik.csv",
        text="Data;Przetwór;Co się stało;Ile\n16.03.2026;Herbata z alg;zużyte;\n25.03.2026;Shrub śliwkowy;wylane;200 ml\n18.03.2026;Syrop z buraka;zużyte;\n",
        beside={
            "batch/batch.csv": (
            "batch,preparation,made_on,made_amount,made_unit\nH1,Herbata z alg,2026-03-13,1.5,l\nS1,Shrub śliwkowy,2026-03-14,700,ml\nB1,Syrop z buraka,2026-03-14,1,l\n"
            "B2,Syrop z buraka,2026-03-15,1,l\n"
        ),
        },
        truth={"batch_event": rows("batch happened_on event amount unit", ("H1", D(2026, 3, 16), "used up", None, None), ("S1", D(2026, 3, 25), "poured away", 200, "ml"))},
        left=1,
    ),
    Book(
        name="what is left on a day, Italian",
        file="inventario.csv",
        text="Lotto;Data;Rimasto\nT1;16/03/2026;0,5 l\nS1;16/03/2026;300 ml\n",
        beside={
            "batch/batch.csv": "batch,preparation,made_on,made_amount,made_unit\nT1,Tè d'alga,2026-03-13,1.5,l\nS1,Shrub di prugna,2026-03-14,700,ml\n",
        },
        truth={"batch_event": rows("batch amount unit", ("T1", 0.5, "l"), ("S1", 300, "ml"), happened_on=D(2026, 3, 16), event="counted")},
        answers={"event": "counted", "amount": "Rimasto"},
    ),
)

TASTINGS: Final = (
    Book(
        name="attributes down with a row of comments, Danish",
        file="smagning.xlsx",
        sheets={
            "2026-03-12": [
                ["Strandsur v1"], ["Egenskab", "Ida", "Bo"], ["sødme", 5, 6], ["syre", 4, 5], ["Kommentar", "lidt flad", "god duft"], [], ["Strandsur v2"], ["Egenskab", "Ida", "Bo"],
                ["sødme", 6, 6], ["syre", 5, 6], ["Kommentar", None, "bedre"],
            ],
        },
        truth={
            "tasting": scores("Strandsur", D(2026, 3, 12), ["sødme", "syre"], {(1, "Ida"): [5, 4]}, comment="lidt flad")
            + scores("Strandsur", D(2026, 3, 12), ["sødme", "syre"], {(1, "Bo"): [6, 5]}, comment="god duft")
            + scores("Strandsur", D(2026, 3, 12), ["sødme", "syre"], {(2, "Ida"): [6, 5]}, comment=None)
            + scores("Strandsur", D(2026, 3, 12), ["sødme", "syre"], {(2, "Bo"): [6, 6]}, comment="bedre"),
        },
    ),
    Book(
        name="versions in blocks with a column of comments, American",
        file="panel notes.xlsx",
        sheets={
            "March 12 2026": [
                ["Harbor Sour v1"], ["Taster", "Sweetness", "Liking", "Comments"], ["Ann", 5, 6, "flat"], ["Bob", 4, 7, None], [], ["Harbor Sour v2"],
                ["Taster", "Sweetness", "Liking", "Comments"], ["Ann", 6, 8, "brighter"], ["Bob", 5, 7, "a bit sweet"],
            ],
        },
        truth={
            "tasting": scores("Harbor Sour", D(2026, 3, 12), ["Sweetness", "Liking"], {(1, "Ann"): [5, 6]}, comment="flat")
            + scores("Harbor Sour", D(2026, 3, 12), ["Sweetness", "Liking"], {(1, "Bob"): [4, 7]}, comment=None)
            + scores("Harbor Sour", D(2026, 3, 12), ["Sweetness", "Liking"], {(2, "Ann"): [6, 8]}, comment="brighter")
            + scores("Harbor Sour", D(2026, 3, 12), ["Sweetness", "Liking"], {(2, "Bob"): [5, 7]}, comment="a bit sweet"),
        },
        answers={"tasted_on": "2026-03-12"},
    ),
    Book(
        name="versions across, an attribute a sheet, Portuguese",
        file="provas.xlsx",
        sheets={
            "doçura": [["Azedo das dunas"], ["Data", "05/03/2026"], ["Provador", "v1", "v2"], ["Ana", 5, 6], ["Rui", "4,5", 6]],
            "agrado": [["Azedo das dunas"], ["Data", "05/03/2026"], ["Provador", "v1", "v2"], ["Ana", 7, 8], ["Rui", 6, 7]],
        },
        truth={"tasting": scores("Azedo das dunas", D(2026, 3, 5), ["doçura", "agrado"], {(1, "Ana"): [5, 7], (2, "Ana"): [6, 8], (1, "Rui"): [4.5, 6], (2, "Rui"): [6, 7]})},
        answers={"attribute": "(sheet)", "date_format": "%d/%m/%Y", "session": "prova 1"},
    ),
    Book(
        name="a triangle test with ticks, Spanish",
        file="triangular.csv",
        text=(
            "Sesión;Fecha;Catador;Prueba;Cóctel;Versión A;Versión B;Acertó\nT1;16/03/2026;Ana;triangle;Agrio de dunas;1;2;sí\nT1;16/03/2026;Bo;triangle;Agrio de dunas;1;2;no\n"
            "T1;16/03/2026;Cleo;triangle;Agrio de dunas;1;2;sí\n"
        ),
        truth={
            "trial": rows(
                "panelist correct", ("Ana", "yes"), ("Bo", "no"), ("Cleo", "yes"), session="T1", tasted_on=D(2026, 3, 16), method="triangle", spec="Agrio de dunas", version_a=1,
                version_b=2,
            ),
        },
        answers={"correct": "Acertó", "method": "Prueba"},
    ),
)

TILLS: Final = (
    Book(
        name="currency behind the numbers, thousands and a column that nobody fills, German",
        file="journal.csv",
        text=(
            "Datum;Uhrzeit;Artikel;Menge;Rabatt;Umsatz netto\n13.03.2026;21:05;Dünensauer;2;;21,00 €\n13.03.2026;22:40;Salzfizz;1;;7,56 €\n14.03.2026;19:30;Feier;100;;1.050,00 €\n"
            "Summe;;;103;;1.078,56 €\n"
        ),
        truth={"sale": sales((M(2026, 3, 13, 21, 5), "Dünensauer", 2, 21), (M(2026, 3, 13, 22, 40), "Salzfizz", 1, 7.56), (M(2026, 3, 14, 19, 30), "Feier", 100, 1050))},
    ),
    Book(
        name="kinds of drink and a day's total between the rows, refunds in brackets, French",
        file="ventes.csv",
        text=(
            "Date et heure;Article;Qté;Montant HT\nCOCKTAILS;;;\n13/03/2026 21:05;Aigre des dunes;2;20,00\n13/03/2026 21:30;Aigre des dunes;-1;(10,00)\nTotal 13/03;;1;10,00\n"
            "SANS ALCOOL;;;\n13/03/2026 22:40;Fizz de sel;1;8,50\n"
        ),
        truth={"sale": sales((M(2026, 3, 13, 21, 5), "Aigre des dunes", 2, 20), (M(2026, 3, 13, 21, 30), "Aigre des dunes", -1, -10), (M(2026, 3, 13, 22, 40), "Fizz de sel", 1, 8.5))},
    ),
    Book(
        name="the day above its rows, only times beside them, British",
        file="till roll.csv",
        text=(
            "Friday 13 March 2026,,,\nTime,Item,Qty,Net\n21:05,Estuary Sour,2,20.83\n22:40,Salt Fizz,1,9.17\n,,,\nSaturday 14 March 2026,,,\nTime,Item,Qty,Net\n"
            "20:10,Salt Fizz,3,27.50\n"
        ),
        truth={"sale": sales((M(2026, 3, 13, 21, 5), "Estuary Sour", 2, 20.83), (M(2026, 3, 13, 22, 40), "Salt Fizz", 1, 9.17), (M(2026, 3, 14, 20, 10), "Salt Fizz", 3, 27.5))},
    ),
    Book(
        name="till names with how many each serves, American",
        file="pos names.csv",
        text="POS name,Drink,Serves\nHARBOR SR,Harbor Sour,1\nHARBOR SR PITCHER,Harbor Sour,4\nSODA,,\n",
        truth={"till_match": rows("till_item spec serves", ("HARBOR SR", "Harbor Sour", 1), ("HARBOR SR PITCHER", "Harbor Sour", 4), ("SODA", None, 1))},
    ),
    Book(
        name="a spec sheet with labels in place of headings, Danish",
        file="drinkskort.csv",
        text="Navn: Strandsur v2;\nType: cocktail;\nGiver: 1 portion;\nPris: 95,00 kr;\n;\nNavn: Tangte;\nType: forberedelse;\nGiver: 1,5 l;\nHoldbar: 5 dage;\n",
        truth={"spec": [spec("Strandsur", 2, price=95, keeps_days=None), spec("Tangte", kind="preparation", makes=(1.5, "l"), price=None, keeps_days=5)]},
    ),
    Book(
        name="batches with shares of a making, Swedish",
        file="satser.csv",
        text="Datum;Beredning;Mängd\n2026-03-13;Tångte;1 sats\n2026-03-14;Tångte;halv sats\n2026-03-15;Tångte;2 satser\n2026-03-15;Plommonshrub;1 sats\n",
        beside={
            "spec/spec.csv": (
            "spec,version,kind,yield_amount,yield_unit,in_service_from\nTångte,1,preparation,1.5,l,2026-01-01\nPlommonshrub,1,preparation,700,ml,\nPlommonshrub,2,preparation,900,ml,\n"
        ),
        },
        truth={"batch": batches(("Tångte", D(2026, 3, 13), 1.5, "l"), ("Tångte", D(2026, 3, 14), 0.75, "l"), ("Tångte", D(2026, 3, 15), 3, "l"))},
        left=1,
    ),
)

NINE_HOUSES: Final = (*SPEC_BOOKS, *PRICE_LISTS, *BATCH_BOOKS, *TASTINGS, *TILLS)
