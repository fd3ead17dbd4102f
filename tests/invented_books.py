"""Invented books of several houses, each with its truth: the shapes, words and marks in which such books are kept.

All names are made up. The ways of writing are common practice, no source.
"""

# ruff: noqa: E501  (a row of a book is a line here)
# fmt: off
from __future__ import annotations

from datetime import date, datetime
from typing import Final

from kept_books import Book, batches, events, lines, packs, rows, sales, scores, spec

D = date
M = datetime

SPEC_BOOKS: Final = (
    Book(
        name="a sheet a drink, English",
        file="specs/drinks.xlsx",
        sheets={
            "Marsh Sour": [["Ingredient", "Amount"], ["gin", "45 ml"], ["kelp tea", "20 ml"], ["lemon juice", "22.5 ml"]],
            "Fen Fizz": [["Ingredient", "Amount"], ["rum", "50 ml"], ["plum shrub", "15 ml"]],
        },
        truth={
            "spec_line": lines("Marsh Sour", ("gin", 45, "ml"), ("kelp tea", 20, "ml"), ("lemon juice", 22.5, "ml")) + lines("Fen Fizz", ("rum", 50, "ml"), ("plum shrub", 15, "ml")),
            "spec": [spec("Marsh Sour"), spec("Fen Fizz")],
        },
        answers={"kind": "drink"},
    ),
    Book(
        name="a sheet a drink, German, with method and a title",
        file="rezepte.xlsx",
        sheets={
            "Moorsauer v2": [["Moorsauer v2"], [], ["Zutat", "Menge (ml)"], ["Gin", 45], ["Algentee", 20], [], ["Zubereitung", "geschüttelt"], ["Preis", "12,50"]],
            "Fenwasser": [["Fenwasser"], [], ["Zutat", "Menge (ml)"], ["Rum", 50], ["Soda", 100], [], ["Zubereitung", "gebaut"], ["Preis", "9,00"]],
        },
        truth={
            "spec_line": lines("Moorsauer", ("Gin", 45, "ml"), ("Algentee", 20, "ml"), version=2) + lines("Fenwasser", ("Rum", 50, "ml"), ("Soda", 100, "ml")),
            "spec": [spec("Moorsauer", 2, price=12.5), spec("Fenwasser", price=9)],
        },
        answers={"kind": "drink"},
    ),
    Book(
        name="a long sheet with the name on the first row alone, French",
        file="fiches.csv",
        text="Cocktail;Ingrédient;Quantité\nAigre du marais;gin;4,5 cl\n;thé d'algue;2 cl\n;jus de citron;2,25 cl\nFizz des joncs;rhum;5 cl\n;sirop de prune;1,5 cl\n",
        truth={
            "spec_line": lines("Aigre du marais", ("gin", 4.5, "cl"), ("thé d'algue", 2, "cl"), ("jus de citron", 2.25, "cl"))
            + lines("Fizz des joncs", ("rhum", 5, "cl"), ("sirop de prune", 1.5, "cl")),
        },
        answers={"kind": "drink"},
    ),
    Book(
        name="name and version in one cell, no line numbers, fractions",
        file="book/spec lines.csv",
        text=(
            "Drink,Ingredient,Amount,Unit\nMarsh Sour v2,gin,1 1/2,fl oz\nMarsh Sour v2,kelp tea,¾,fl oz\nMarsh Sour v2,bitters,2,dashes\nMarsh Sour v1,gin,2,fl oz\n"
            "Fen Fizz,rum,1.75,fl oz\n"
        ),
        truth={
            "spec_line": lines("Marsh Sour", ("gin", 1.5, "fl oz"), ("kelp tea", 0.75, "fl oz"), ("bitters", 2, "dash"), version=2) + lines("Marsh Sour", ("gin", 2, "fl oz"))
            + lines("Fen Fizz", ("rum", 1.75, "fl oz")),
        },
        answers={"kind": "drink"},
    ),
    Book(
        name="specs side by side, Spanish",
        file="recetas.xlsx",
        sheets={
            "Carta": [
                ["Agrio de marisma", None, None, "Fizz del junco", None], ["Ingrediente", "Cantidad", None, "Ingrediente", "Cantidad"], ["ginebra", "45 ml", None, "ron", "50 ml"],
                ["té de alga", "20 ml", None, "jarabe de ciruela", "15 ml"], ["zumo de limón", "22,5 ml"],
            ],
        },
        truth={
            "spec_line": lines("Agrio de marisma", ("ginebra", 45, "ml"), ("té de alga", 20, "ml"), ("zumo de limón", 22.5, "ml"))
            + lines("Fizz del junco", ("ron", 50, "ml"), ("jarabe de ciruela", 15, "ml")),
        },
        answers={"kind": "drink"},
    ),
    Book(
        name="specs and lines in one sheet, preparations, Italian",
        file="preparazioni.csv",
        text="Preparazione;Resa;Conserva giorni;Ingrediente;Quantità\nTè d'alga;1 l;5;acqua;1 l\n;;;alga;20 g\nCordiale di prugna;700 ml;21;prugne;500 g\n;;;zucchero;0,4 kg\n",
        truth={
            "spec_line": lines("Tè d'alga", ("acqua", 1, "l"), ("alga", 20, "g")) + lines("Cordiale di prugna", ("prugne", 500, "g"), ("zucchero", 0.4, "kg")),
            "spec": [spec("Tè d'alga", kind="preparation", makes=(1, "l"), keeps_days=5), spec("Cordiale di prugna", kind="preparation", makes=(700, "ml"), keeps_days=21)],
        },
        answers={"kind": "preparation"},
    ),
    Book(
        name="blocks one below another, Dutch",
        file="recepten.csv",
        text="Moeraszuur v1;\nIngrediënt;Hoeveelheid\ngin;45 ml\nzeewierthee;20 ml\nSchudden en zeven.;\n;\nVeenfizz;\nIngrediënt;Hoeveelheid\nrum;50 ml\nsoda;1 dl\n",
        truth={"spec_line": lines("Moeraszuur", ("gin", 45, "ml"), ("zeewierthee", 20, "ml")) + lines("Veenfizz", ("rum", 50, "ml"), ("soda", 1, "dl"))},
        answers={"kind": "drink"},
    ),
    Book(
        name="a grid of drinks and ingredients, Portuguese",
        file="grelha.csv",
        text="Ingrediente;Azedo do paul;Fizz do junco\ngin;45 ml;\nrum;;50 ml\nsumo de limão;22,5 ml;15 ml\n",
        truth={"spec_line": lines("Azedo do paul", ("gin", 45, "ml"), ("sumo de limão", 22.5, "ml")) + lines("Fizz do junco", ("rum", 50, "ml"), ("sumo de limão", 15, "ml"))},
        answers={"kind": "drink"},
    ),
    Book(
        name="what cannot be read is left: a range, a bunch of nothing known",
        file="loose.csv",
        text="Drink,Ingredient,Qty\nMarsh Sour,gin,45 ml\nMarsh Sour,bitters,2–3 dashes\nMarsh Sour,mint,a few\nFen Fizz,rum,ca. 50 ml\n",
        truth={"spec_line": rows("spec item amount", ("Marsh Sour", "gin", 45), ("Fen Fizz", "rum", 50), unit="ml")},
        answers={"kind": "drink"}, left=2,
    ),
    Book(
        name="merged names down the side, Danish",
        file="opskrifter.xlsx",
        sheets={
            "Bog": [
                ["Opskrifter 2026"], [], ["Drink", "Ingrediens", "Mængde", "Enhed"], ["Mosesur", "gin", 4.5, "cl"], [None, "tangte", 2, "cl"], ["Kærfizz", "rom", 5, "cl"],
                [None, "sukkerlage", 1.5, "cl"],
            ],
        },
        truth={"spec_line": lines("Mosesur", ("gin", 4.5, "cl"), ("tangte", 2, "cl")) + lines("Kærfizz", ("rom", 5, "cl"), ("sukkerlage", 1.5, "cl"))},
        answers={"kind": "drink"},
    ),
    Book(
        name="the spec table alone, German, words for kinds",
        file="spezifikationen.csv",
        text="Name;Art;Ergibt;Haltbar (Tage);Lagerung;Preis\nMoorsauer;Cocktail;1 Portion;;;12,50\nAlgentee;Vorbereitung;1,5 l;5;Kühlschrank;\n",
        truth={"spec": [spec("Moorsauer", price=12.5), spec("Algentee", kind="preparation", makes=(1.5, "l"), keeps_days=5, storage="fridge")]},
    ),
    Book(
        name="amounts in front of the items in one cell, Swedish",
        file="recept.csv",
        text="Drink;Ingrediens\nMyrsur;4,5 cl gin\nMyrsur;2 cl tångte\nKärrfizz;5 cl rom\n",
        truth={"spec_line": lines("Myrsur", ("gin", 4.5, "cl"), ("tångte", 2, "cl")) + lines("Kärrfizz", ("rom", 5, "cl"))},
        answers={"kind": "drink"},
    ),
)

PRICE_LISTS: Final = (
    Book(
        name="pack and price, German, cp1252",
        file="preise.csv", encoding="cp1252",
        text="Artikel;Gebinde;Preis €\nWacholdergeist;0,7 l;21,90\nZucker;1 kg;1,49\nTonic;6 × 200 ml;5,40\nZitronen;Stück;0,39\n",
        truth={"ingredient": packs(("Wacholdergeist", 0.7, "l", 21.9), ("Zucker", 1, "kg", 1.49), ("Tonic", 1200, "ml", 5.4), ("Zitronen", 1, "each", 0.39))},
    ),
    Book(
        name="price a kilogram in the heading, French",
        file="prix.csv",
        text="Produit;Prix €/kg\nsucre;1,20\nprunes;3,45\n",
        truth={"ingredient": packs(("sucre", 1, "kg", 1.2), ("prunes", 1, "kg", 3.45))},
    ),
    Book(
        name="price and its unit in one cell, Polish",
        file="cennik.csv",
        text="Produkt;Cena\ncukier;4,20 zł/kg\ngin;89,00 zł/0,7 l\ncytryny;12 zł/kg\n",
        truth={"ingredient": packs(("cukier", 1, "kg", 4.2), ("gin", 0.7, "l", 89), ("cytryny", 1, "kg", 12))},
    ),
    Book(
        name="pack inside the name, Czech",
        file="ceník.csv",
        text="Položka;Cena Kč\nGin 0,7 l;449\nRum 1 l;399\nCukr 1 kg;24,90\n",
        truth={"ingredient": packs(("Gin", 0.7, "l", 449), ("Rum", 1, "l", 399), ("Cukr", 1, "kg", 24.9))},
    ),
    Book(
        name="numbers and texts in one column of a workbook, Italian",
        file="listino.xlsx",
        sheets={"Listino": [["Articolo", "Confezione", "Prezzo"], ["gin", "700 ml", 21.5], ["rum", "1 l", "17,90"], ["zucchero", "1 kg", 1.25]]},
        truth={"ingredient": packs(("gin", 700, "ml", 21.5), ("rum", 1, "l", 17.9), ("zucchero", 1, "kg", 1.25))},
    ),
    Book(
        name="nothing says what a price buys",
        file="short.csv",
        text="Artikel,Preis\ngin,3\nrum,9\n",
        truth={"ingredient": []},
        refused="pack",
    ),
    Book(
        name="nothing says what a price buys, but its keeper does",
        file="short2.csv",
        text="Artikel,Preis\ngin,21.50\nrum,19\n",
        truth={"ingredient": packs(("gin", 700, "ml", 21.5), ("rum", 700, "ml", 19))},
        answers={"pack_amount": "700 ml"},
    ),
    Book(
        name="sections between the rows, Dutch, strength in per cent",
        file="prijslijst.csv",
        text="Prijslijst voorjaar;;;\nArtikel;Inhoud;Prijs;Alc. %\nSterk;;;\nGin;70 cl;18,50;40\nRum;1 l;19,95;37,5\nZuivel;;;\nRoom;1 l;4,10;\n",
        truth={"ingredient": packs(("Gin", 70, "cl", 18.5), ("Rum", 1, "l", 19.95), ("Room", 1, "l", 4.1))},
        left=2,
    ),
)

BATCH_BOOKS: Final = (
    Book(
        name="a row a batch, no labels, English",
        file="batches.csv",
        text="Date,Prep,Made,Use by\n13/03/2026,Kelp Tea,1.5 l,18/03/2026\n13/03/2026,Plum Shrub,700 ml,\n14/03/2026,Kelp Tea,1 l,19/03/2026\n14/03/2026,Kelp Tea,500 ml,\n",
        truth={
            "batch": batches(("Kelp Tea", D(2026, 3, 13), 1.5, "l"), ("Plum Shrub", D(2026, 3, 13), 700, "ml"), ("Kelp Tea", D(2026, 3, 14), 1, "l"), ("Kelp Tea", D(2026, 3, 14), 500, "ml")),
        },
    ),
    Book(
        name="what became of it in the same row, German",
        file="ansätze.csv",
        text=(
            "Datum;Was;Menge;Verbleib\n13.03.2026;Algentee;1,5 l;aufgebraucht 16.03.2026\n14.03.2026;Pflaumenshrub;700 ml;300 ml weggeschüttet 20.03.2026\n15.03.2026;Algentee;2 l;\n"
            "16.03.2026;Algentee;1 l;verdorben 19.03.2026\n"
        ),
        truth={
            "batch": batches(("Algentee", D(2026, 3, 13), 1.5, "l"), ("Pflaumenshrub", D(2026, 3, 14), 700, "ml"), ("Algentee", D(2026, 3, 15), 2, "l"), ("Algentee", D(2026, 3, 16), 1, "l")),
            "batch_event": events((D(2026, 3, 16), "used up", None, None), (D(2026, 3, 20), "poured away", 300, "ml"), (D(2026, 3, 19), "spoiled", None, None)),
        },
    ),
    Book(
        name="ditto marks and days without a year",
        file="book of March 2026.csv",
        text='Made on,Preparation,Amount\n13/3,Kelp Tea,1.5 l\n"""",Plum Shrub,700 ml\n20/3,"""",1 l\n',
        truth={"batch": batches(("Kelp Tea", D(2026, 3, 13), 1.5, "l"), ("Plum Shrub", D(2026, 3, 13), 700, "ml"), ("Plum Shrub", D(2026, 3, 20), 1, "l"))},
        answers={"year": "2026"},
    ),
    Book(
        name="a sheet a month, Swedish",
        file="satser.xlsx",
        sheets={
            "mars": [["Datum", "Beredning", "Mängd"], ["2026-03-02", "Tångte", "1,5 l"], ["2026-03-09", "Plommonshrub", "7 dl"]],
            "april": [["Datum", "Beredning", "Mängd"], ["2026-04-02", "Tångte", "2 l"]],
        },
        truth={"batch": batches(("Tångte", D(2026, 3, 2), 1.5, "l"), ("Plommonshrub", D(2026, 3, 9), 7, "dl"), ("Tångte", D(2026, 4, 2), 2, "l"))},
    ),
    Book(
        name="several batches a row, Portuguese",
        file="lotes.csv",
        text="Preparação;Data;Quantidade;Data;Quantidade\nChá de alga;02/03/2026;1,5 l;09/03/2026;1 l\nShrub de ameixa;03/03/2026;700 ml;;\n",
        truth={"batch": batches(("Chá de alga", D(2026, 3, 2), 1.5, "l"), ("Chá de alga", D(2026, 3, 9), 1, "l"), ("Shrub de ameixa", D(2026, 3, 3), 700, "ml"))},
        answers={"date_format": "%d/%m/%Y"},
    ),
    Book(
        name="a grid of days and preparations, Czech",
        file="dávky.csv",
        text="Příprava;2.3.2026;9.3.2026;16.3.2026\nŘasový čaj;1,5 l;;1 l\nŠvestkový shrub;;700 ml;\n",
        truth={"batch": batches(("Řasový čaj", D(2026, 3, 2), 1.5, "l"), ("Řasový čaj", D(2026, 3, 16), 1, "l"), ("Švestkový shrub", D(2026, 3, 9), 700, "ml"))},
        answers={"date_format": "%d.%m.%Y"},
    ),
    Book(
        name="halves and multiples of a batch are left",
        file="halves.csv",
        text="Date,Prep,Made\n2026-03-13,Kelp Tea,1.5 l\n2026-03-14,Kelp Tea,half batch\n2026-03-15,Kelp Tea,1 batch\n",
        truth={"batch": batches(("Kelp Tea", D(2026, 3, 13), 1.5, "l"))},
        left=2,
    ),
)

TASTINGS: Final = (
    Book(
        name="attributes down, panelists across, a sheet a session",
        file="tastings.xlsx",
        sheets={
            "2026-03-02": [["Marsh Sour v1"], ["Attribute", "Ana", "Bo", "Cleo"], ["sweetness", 5, 6, 4], ["liking", 7, 6, 8]],
            "2026-03-09": [["Marsh Sour v2"], ["Attribute", "Ana", "Bo", "Cleo"], ["sweetness", 4, 5, 4], ["liking", 8, 7, 8]],
        },
        truth={
            "tasting": scores("Marsh Sour", D(2026, 3, 2), ["sweetness", "liking"], {(1, "Ana"): [5, 7], (1, "Bo"): [6, 6], (1, "Cleo"): [4, 8]})
            + scores("Marsh Sour", D(2026, 3, 9), ["sweetness", "liking"], {(2, "Ana"): [4, 8], (2, "Bo"): [5, 7], (2, "Cleo"): [4, 8]}),
        },
    ),
    Book(
        name="panelists down, attributes across, versions in blocks, date above, German",
        file="verkostung.csv",
        text=(
            "Verkostung;V3;;\nDatum;12.03.2026;;\n;;;\nMoorsauer v1;;;\nVerkoster;Süße;Säure;Gefallen\nAda;5;6;7\nBen;4;7;6\n;;;\nMoorsauer v2;;;\nVerkoster;Süße;Säure;Gefallen\n"
            "Ada;6;5;8\nBen;5;6;7\n"
        ),
        truth={
            "tasting": scores("Moorsauer", D(2026, 3, 12), ["Süße", "Säure", "Gefallen"], {(1, "Ada"): [5, 6, 7], (1, "Ben"): [4, 7, 6], (2, "Ada"): [6, 5, 8], (2, "Ben"): [5, 6, 7]}),
        },
        answers={"date_format": "%d.%m.%Y"},
    ),
    Book(
        name="versions across in blocks, French",
        file="dégustation.csv",
        text="Séance;D7;;;;;\nDate;15/03/2026;;;;;\nCocktail;Aigre du marais;;;;;\n;v1;;;v2;;\nCritère;Ada;Ben;Cid;Ada;Ben;Cid\nsucré;5;4;6;6;5;6\nacide;6;7;5;5;6;5\n",
        truth={
            "tasting": scores("Aigre du marais", D(2026, 3, 15), ["sucré", "acide"], {
                (1, "Ada"): [5, 6], (1, "Ben"): [4, 7], (1, "Cid"): [6, 5], (2, "Ada"): [6, 5], (2, "Ben"): [5, 6], (2, "Cid"): [6, 5],
            }, session="D7"),
        },
    ),
    Book(
        name="one score a row with comments, Spanish",
        file="catas.csv",
        text=(
            "Sesión;Fecha;Catador;Cóctel;Versión;Atributo;Nota;Comentario\nC1;16/03/2026;Ana;Agrio;1;dulzor;5,5;algo seco\nC1;16/03/2026;Bo;Agrio;1;dulzor;6;\n"
            "C1;16/03/2026;Ana;Agrio;2;dulzor;7;mejor\n"
        ),
        truth={
            "tasting": scores("Agrio", D(2026, 3, 16), ["dulzor"], {(1, "Ana"): [5.5]}, session="C1", comment="algo seco")
            + scores("Agrio", D(2026, 3, 16), ["dulzor"], {(1, "Bo"): [6]}, session="C1", comment=None)
            + scores("Agrio", D(2026, 3, 16), ["dulzor"], {(2, "Ana"): [7]}, session="C1", comment="mejor"),
        },
    ),
    Book(
        name="panelists down with a column of comments, English",
        file="panel.csv",
        text="Session,Date,Drink,Version,Taster,Sweetness,Liking,Comments\nP4,2026-03-20,Fen Fizz,3,Ana,5,7,too thin\nP4,2026-03-20,Fen Fizz,3,Bo,6,6,\n",
        truth={
            "tasting": scores("Fen Fizz", D(2026, 3, 20), ["Sweetness", "Liking"], {(3, "Ana"): [5, 7]}, comment="too thin", session="P4")
            + scores("Fen Fizz", D(2026, 3, 20), ["Sweetness", "Liking"], {(3, "Bo"): [6, 6]}, session="P4"),
        },
    ),
)

TILLS: Final = (
    Book(
        name="a till's export, German",
        file="kasse.csv",
        text="Datum;Uhrzeit;Artikel;Anzahl;Netto;Bon-Nr.\n13.03.2026;21:05;Moorsauer;2;21,00;17\n13.03.2026;22:40;Fenwasser;1;7,56;18\nSumme;;;3;28,56;\n",
        truth={"sale": sales((M(2026, 3, 13, 21, 5), "Moorsauer", 2, 21), (M(2026, 3, 13, 22, 40), "Fenwasser", 1, 7.56))},
    ),
    Book(
        name="a till's export, French, gross",
        file="caisse.csv",
        text="Date et heure;Article;Qté;Montant TTC\n13/03/2026 21:05;Aigre;2;24,00\n13/03/2026 22:40;Fizz;1;12,00\n",
        truth={"sale": sales((M(2026, 3, 13, 21, 5), "Aigre", 2, 20), (M(2026, 3, 13, 22, 40), "Fizz", 1, 10))},
        answers={"tax_pct": "20"},
    ),
    Book(
        name="a till's export, Polish, month names",
        file="kasa.csv",
        text="Data;Godzina;Produkt;Ilość;Wartość netto\n13 marca 2026;21:05;Kwaśny;2;60,00\n14 marca 2026;20:10;Fizz;1;28,50\n",
        truth={"sale": sales((M(2026, 3, 13, 21, 5), "Kwaśny", 2, 60), (M(2026, 3, 14, 20, 10), "Fizz", 1, 28.5))},
    ),
    Book(
        name="a till's export, Danish, thousands",
        file="kasse.xlsx",
        sheets={
            "Salg": [
                ["Salg marts"], ["Tidspunkt", "Vare", "Antal", "Beløb ekskl. moms"], [M(2026, 3, 13, 21, 5), "Mosesur", 2, 168.5], [M(2026, 3, 14, 22, 10), "Selskab", 20, "1.685,00"],
            ],
        },
        truth={"sale": sales((M(2026, 3, 13, 21, 5), "Mosesur", 2, 168.5), (M(2026, 3, 14, 22, 10), "Selskab", 20, 1685))},
    ),
)

OTHER_SHAPES: Final = (
    Book(
        name="sheet a drink with yield/glass labels + name title",
        file="m1.xlsx",
        sheets={
            "Fen Fizz": [
                ["Fen Fizz"], ["Glass", "highball"], ["Method", "built"], [], ["Ingredient", "Amount", "Unit"], ["rum", 50, "ml"], ["soda", 100, "ml"], [], ["Notes", "serve long"],
            ],
            "Marsh Sour": [
                ["Marsh Sour"], ["Glass", "coupe"], ["Method", "shaken"], [], ["Ingredient", "Amount", "Unit"], ["gin", 45, "ml"], ["lemon juice", 22.5, "ml"], [],
                ["Notes", "double strain"],
            ],
        },
        truth={"spec_line": lines("Fen Fizz", ("rum", 50, "ml"), ("soda", 100, "ml")) + lines("Marsh Sour", ("gin", 45, "ml"), ("lemon juice", 22.5, "ml"))},
    ),
    Book(
        name="blocks no headings",
        file="m2.csv",
        text="Marsh Sour\ngin,45 ml\nlemon juice,22.5 ml\n\nFen Fizz\nrum,50 ml\nsoda,100 ml\n",
        truth={"spec_line": lines("Marsh Sour", ("gin", 45, "ml"), ("lemon juice", 22.5, "ml")) + lines("Fen Fizz", ("rum", 50, "ml"), ("soda", 100, "ml"))},
    ),
    Book(
        name="blocks with method line directly followed by next",
        file="m3.csv",
        text="Marsh Sour v2;;\nZutat;Menge;Einheit\nGin;4,5;cl\nZitrone;2;cl\nSchütteln, doppelt abseihen;;\n;;\nFenwasser;;\nZutat;Menge;Einheit\nRum;5;cl\nSoda;10;cl\nBauen;;\n",
        truth={"spec_line": lines("Marsh Sour", ("Gin", 4.5, "cl"), ("Zitrone", 2, "cl"), version=2) + lines("Fenwasser", ("Rum", 5, "cl"), ("Soda", 10, "cl"))},
    ),
    Book(
        name="side by side no headings",
        file="m4.xlsx",
        sheets={"Sheet1": [["Marsh Sour", None, None, "Fen Fizz"], ["gin", "45 ml", None, "rum", "50 ml"], ["lemon juice", "22.5 ml", None, "soda", "100 ml"], ["kelp tea", "20 ml"]]},
        truth={"spec_line": lines("Marsh Sour", ("gin", 45, "ml"), ("lemon juice", 22.5, "ml"), ("kelp tea", 20, "ml")) + lines("Fen Fizz", ("rum", 50, "ml"), ("soda", 100, "ml"))},
    ),
    Book(
        name="side by side two rows of blocks",
        file="m5.xlsx",
        sheets={
            "Specs": [
                ["Marsh Sour v1", None, None, "Fen Fizz v3"], ["Ingredient", "Qty", None, "Ingredient", "Qty"], ["gin", "45 ml", None, "rum", "50 ml"],
                ["lemon", "22 ml", None, "soda", "100 ml"], [], ["Bog Flip", None, None, "Reed Mule"], ["Ingredient", "Qty", None, "Ingredient", "Qty"],
                ["egg", "1 pc", None, "vodka", "40 ml"], ["rum", "50 ml", None, "ginger", "20 ml"],
            ],
        },
        truth={
            "spec_line": lines("Marsh Sour", ("gin", 45, "ml"), ("lemon", 22, "ml")) + lines("Fen Fizz", ("rum", 50, "ml"), ("soda", 100, "ml"), version=3)
            + lines("Bog Flip", ("egg", 1, "each"), ("rum", 50, "ml")) + lines("Reed Mule", ("vodka", 40, "ml"), ("ginger", 20, "ml")),
        },
    ),
    Book(
        name="long sheet german name+version columns blank below",
        file="m6.csv",
        text="Rezept;Version;Zutat;Menge;Einheit\nMoorsauer;2;Gin;45;ml\n;;Algentee;20;ml\nFenwasser;1;Rum;50;ml\n;;Soda;100;ml\n",
        truth={"spec_line": lines("Moorsauer", ("Gin", 45, "ml"), ("Algentee", 20, "ml"), version=2) + lines("Fenwasser", ("Rum", 50, "ml"), ("Soda", 100, "ml"))},
    ),
    Book(
        name="long sheet with total row and preparation",
        file="m7.csv",
        text="Drink,Ingredient,ml\nMarsh Sour,gin,45\n,kelp tea,20\nTotal,,65\nFen Fizz,rum,50\n,soda,100\nTotal,,150\n",
        truth={"spec_line": lines("Marsh Sour", ("gin", 45, "ml"), ("kelp tea", 20, "ml")) + lines("Fen Fizz", ("rum", 50, "ml"), ("soda", 100, "ml"))},
    ),
    Book(
        name="grid drinks down ingredients across",
        file="m8.csv",
        text="Cocktail;Gin (ml);Rum (ml);Soda (ml)\nMoorsauer;45;;\nFenwasser;;50;100\n",
        truth={"spec_line": rows("spec item amount", ("Moorsauer", "Gin", 45), ("Fenwasser", "Rum", 50), ("Fenwasser", "Soda", 100), version=1, unit="ml")},
    ),
    Book(
        name="price list italian per litre heading cols",
        file="m9.csv",
        text="Articolo;Formato;Prezzo conf.;Alcol\nGin;70 cl;18,90;40%\nRum;1 l;15,50;37,5%\nLimoni;1 kg;2,20;\n",
        truth={"ingredient": rows("item pack_amount pack_unit pack_cost abv_pct", ("Gin", 70, "cl", 18.9, 40), ("Rum", 1, "l", 15.5, 37.5), ("Limoni", 1, "kg", 2.2, None))},
    ),
    Book(
        name="price list swedish unit col",
        file="m10.csv",
        text="Vara;Storlek;Enhet;Pris\nGin;70;cl;249,00\nSocker;1;kg;18,50\n",
        truth={"ingredient": packs(("Gin", 70, "cl", 249), ("Socker", 1, "kg", 18.5))},
    ),
    Book(
        name="price list english bottle size and case",
        file="m11.csv",
        text="Product,Case,Bottle size,Case price\nGin,6,700 ml,120.00\nTonic,24,200 ml,14.40\n",
        truth={"ingredient": []},
        refused="pack_amount",
    ),
    Book(
        name="price list dutch with date",
        file="m12.xlsx",
        sheets={
            "prijzen": [
                ["Prijslijst per 1 maart 2026"], [], ["Product", "Verpakking", "Prijs excl. btw", "Datum"], ["gin", "0,7 l", 18.95, D(2026, 3, 1)],
                ["suiker", "per kg", 1.09, D(2026, 3, 1)], ["limoen", "stuk", 0.35, D(2026, 3, 1)],
            ],
        },
        truth={"ingredient": rows("item pack_amount pack_unit pack_cost", ("gin", 0.7, "l", 18.95), ("suiker", 1, "kg", 1.09), ("limoen", 1, "each", 0.35), priced_on=D(2026, 3, 1))},
    ),
    Book(
        name="batch book polish",
        file="m13.csv",
        text="Data;Przetwór;Ilość;Zużyć do;Uwagi\n13.03.2026;Herbata z wodorostów;1,5 l;18.03.2026;mocna\n14.03.2026;Shrub śliwkowy;700 ml;14.04.2026;\n",
        truth={
            "batch": rows(
                "preparation made_on made_amount made_unit use_by note", ("Herbata z wodorostów", D(2026, 3, 13), 1.5, "l", D(2026, 3, 18), "mocna"),
                ("Shrub śliwkowy", D(2026, 3, 14), 700, "ml", D(2026, 4, 14), None),
            ),
        },
    ),
    Book(
        name="batch book date once a day french",
        file="m14.csv",
        text="Date;Préparation;Quantité;Fait par\n13/03/2026;Thé d'algue;1,5 l;Ana\n;Shrub de prune;700 ml;Bo\n14/03/2026;Thé d'algue;1 l;Ana\n",
        truth={"batch": batches(("Thé d'algue", D(2026, 3, 13), 1.5, "l"), ("Shrub de prune", D(2026, 3, 13), 700, "ml"), ("Thé d'algue", D(2026, 3, 14), 1, "l"))},
    ),
    Book(
        name="batch sheet a preparation",
        file="m15.xlsx",
        sheets={
            "Kelp Tea": [["Made", "Amount", "Use by"], [D(2026, 3, 2), "1.5 l", D(2026, 3, 7)], [D(2026, 3, 9), "1 l", D(2026, 3, 14)]],
            "Plum Shrub": [["Made", "Amount", "Use by"], [D(2026, 3, 3), "700 ml", D(2026, 4, 3)]],
        },
        truth={"batch": batches(("Kelp Tea", D(2026, 3, 2), 1.5, "l"), ("Kelp Tea", D(2026, 3, 9), 1, "l"), ("Plum Shrub", D(2026, 3, 3), 700, "ml"))},
    ),
    Book(
        name="batch label given, danish",
        file="m16.csv",
        text="Batch;Opskrift;Lavet;Mængde (l);Holdbar til\nA1;Tangte;02.03.2026;1,5;07.03.2026\nA2;Blommeshrub;03.03.2026;0,7;03.04.2026\n",
        truth={
            "batch": rows(
                "batch preparation made_on made_amount use_by", ("A1", "Tangte", D(2026, 3, 2), 1.5, D(2026, 3, 7)), ("A2", "Blommeshrub", D(2026, 3, 3), 0.7, D(2026, 4, 3)),
                made_unit="l",
            ),
        },
        answers={"date_format": "%d.%m.%Y"},
    ),
    Book(
        name="tasting italian grid panelists down versions col",
        file="m17.csv",
        text="Assaggiatore;Versione;Dolcezza;Acidità;Gradimento\nAda;1;5;6;7\nAda;2;6;5;8\nBea;1;4;6;6\nBea;2;5;5;7\n",
        truth={
            "tasting": scores("Agro", D(2026, 3, 4), ["Dolcezza", "Acidità", "Gradimento"], {(1, "Ada"): [5, 6, 7], (2, "Ada"): [6, 5, 8], (1, "Bea"): [4, 6, 6], (2, "Bea"): [5, 5, 7]}),
        },
        answers={"spec": "Agro", "tasted_on": "2026-03-04", "session": "A1"},
    ),
    Book(
        name="tasting sheet name date german title drink",
        file="m18.xlsx",
        sheets={"12.03.2026": [["Verkostung Moorsauer"], [], ["Verkoster", "v1", "v2", "v3"], ["Ada", 6, 7, 5], ["Ben", 5, 8, 6]]},
        truth={"tasting": rows("panelist version score", ("Ada", 1, 6), ("Ada", 2, 7), ("Ada", 3, 5), ("Ben", 1, 5), ("Ben", 2, 8), ("Ben", 3, 6))},
        answers={"spec": "Moorsauer", "attribute": "Gefallen", "date_format": "%d.%m.%Y"},
    ),
    Book(
        name="tasting long portuguese",
        file="m19.csv",
        text="Sessão;Data;Provador;Bebida;Atributo;Nota\nP1;05/03/2026;Ana;Azedo v1;doçura;5\nP1;05/03/2026;Ana;Azedo v2;doçura;6,5\nP1;25/03/2026;Rui;Azedo v1;doçura;4\n",
        truth={
            "tasting": scores("Azedo", D(2026, 3, 5), ["doçura"], {(1, "Ana"): [5], (2, "Ana"): [6.5]}, session="P1")
            + scores("Azedo", D(2026, 3, 25), ["doçura"], {(1, "Rui"): [4]}, session="P1"),
        },
    ),
    Book(
        name="till spanish",
        file="m20.csv",
        text="Ticket;Fecha;Hora;Artículo;Uds;Importe neto\n1;13/03/2026;21:05;Agrio de marisma;2;18,18\n2;13/03/2026;22:15;Fizz del junco;1;9,09\n",
        truth={"sale": sales((M(2026, 3, 13, 21, 5), "Agrio de marisma", 2, 18.18), (M(2026, 3, 13, 22, 15), "Fizz del junco", 1, 9.09))},
    ),
    Book(
        name="till english us",
        file="m21.csv",
        text=(
            "Report: sales\nPrinted 4/1/2026\n\nCheck #,Closed,Item,Qty,Net Sales\n100,3/13/2026 9:05 PM,Marsh Sour,2,$27.00\n101,3/13/2026 11:40 PM,Marsh Sour,-1,($13.50)\n"
            ",,,Total,$13.50\n"
        ),
        truth={"sale": sales((M(2026, 3, 13, 21, 5), "Marsh Sour", 2, 27), (M(2026, 3, 13, 23, 40), "Marsh Sour", -1, -13.5))},
    ),
    Book(
        name="till dutch xlsx",
        file="m22.xlsx",
        sheets={"Verkoop": [["Datum en tijd", "Artikel", "Aantal", "Omzet excl. btw"], [M(2026, 3, 13, 21, 5), "Moeraszuur", 2, 19.83], [M(2026, 3, 13, 21, 9), "Veenfizz", 1, 9.17]]},
        truth={"sale": sales((M(2026, 3, 13, 21, 5), "Moeraszuur", 2, 19.83), (M(2026, 3, 13, 21, 9), "Veenfizz", 1, 9.17))},
    ),
    Book(
        name="events english log",
        file="m23.csv",
        text="Batch,Date,What happened,Amount\nA1,16/03/2026,used up,\nA2,20/03/2026,poured,300 ml\nA1,15/03/2026,counted,200 ml\n",
        truth={"batch_event": []},
        left=3,
    ),
    Book(
        name="spec table french",
        file="m24.csv",
        text=(
            "Fiche;Type;Rendement;Conservation (jours);Stockage;Prix carte\nAigre;cocktail;1 portion;;;12,00\nThé d'algue;préparation;1 l;5;frigo;\n"
            "Sirop de prune;préparation;700 ml;21;frigo;\n"
        ),
        truth={
            "spec": [
                spec("Aigre", price=12), spec("Thé d'algue", kind="preparation", makes=(1, "l"), keeps_days=5, storage="fridge"),
                spec("Sirop de prune", kind="preparation", makes=(700, "ml"), keeps_days=21, storage="fridge"),
            ],
        },
    ),
    Book(
        name="preparations sheet each with yield label",
        file="m25.xlsx",
        sheets={
            "Kelp Tea": [["Kelp Tea"], ["Yield", "1.2 l"], ["Keeps", "5 days"], [], ["Ingredient", "Quantity"], ["water", "1 l"], ["kelp", "20 g"]],
            "Plum Shrub": [["Plum Shrub"], ["Yield", "700 ml"], ["Keeps", "21 days"], [], ["Ingredient", "Quantity"], ["plums", "500 g"], ["sugar", "0.4 kg"]],
        },
        truth={
            "spec_line": lines("Kelp Tea", ("water", 1, "l"), ("kelp", 20, "g")) + lines("Plum Shrub", ("plums", 500, "g"), ("sugar", 0.4, "kg")),
            "spec": [spec("Kelp Tea", kind="preparation", makes=(1.2, "l"), keeps_days=5), spec("Plum Shrub", kind="preparation", makes=(700, "ml"), keeps_days=21)],
        },
        answers={"kind": "preparation"},
    ),
    Book(
        name="oz",
        file="m26.csv",
        text="Drink,Ingredient,Amount\nMarsh Sour,gin,1 1/2 oz\nMarsh Sour,lemon,3/4 oz\n",
        truth={"spec_line": lines("Marsh Sour", ("gin", 1.5, "bar oz"), ("lemon", 0.75, "bar oz"))},
        answers={"oz": "bar oz"},
    ),
    Book(
        name="no headings price list",
        file="m27.csv",
        text="gin;0,7 l;21,90\nrum;1 l;19,50\nsucre;1 kg;1,20\n",
        truth={"ingredient": packs(("gin", 0.7, "l", 21.9), ("rum", 1, "l", 19.5), ("sucre", 1, "kg", 1.2))},
    ),
    Book(
        name="tasting versions across no repeat",
        file="m28.csv",
        text="Drink;Fen Fizz;;\nDate;2026-03-20;;\n;;;\n;v1;v2;v3\nAna;6;7;8\nBo;5;7;6\n",
        truth={"tasting": []},
        refused="score",
    ),
    Book(
        name="batch german fate with words and no date",
        file="m29.csv",
        text="Datum;Ansatz;Menge;Status\n13.03.2026;Algentee;1,5 l;leer\n15.03.2026;Algentee;1,5 l;im Kühlschrank\n",
        truth={"batch": batches(("Algentee", D(2026, 3, 13), 1.5, "l"), ("Algentee", D(2026, 3, 15), 1.5, "l"))},
    ),
    Book(
        name="czech spec lines xlsx comma text",
        file="m30.xlsx",
        sheets={"Recepty": [["Koktejl", "Surovina", "Množství"], ["Bažinná", "gin", "4,5 cl"], [None, "citron", "2,25 cl"], ["Rákosová", "rum", "5 cl"]]},
        truth={"spec_line": lines("Bažinná", ("gin", 4.5, "cl"), ("citron", 2.25, "cl")) + lines("Rákosová", ("rum", 5, "cl"))},
    ),
)
"""Written when the first were read, without looking at how."""

BOOKS: Final = (*SPEC_BOOKS, *PRICE_LISTS, *BATCH_BOOKS, *TASTINGS, *TILLS, *OTHER_SHAPES)
