"""Thirty-one further books, of invented houses in twelve languages: shapes that the others have not.

All of them were written, with their truth, before the reader had been tried on any. All names are made up. The ways of
writing are common practice, no source.
"""

# ruff: noqa: E501  (a row of a book is a line here)
# fmt: off
from __future__ import annotations

from datetime import date, datetime
from typing import Final

from kept_books import Book, batches, lines, packs, sales, scores, spec

D = date

SPEC_BOOKS: Final = (
    Book(
        name="cards of a sheet each: glass, garnish, method above, amounts before the items, British",
        file="cards.xlsx",
        sheets={
            "Saltmarsh Collins": [
                ["Saltmarsh Collins", None], ["Glass:", "highball"], ["Garnish:", "samphire"], ["Method:", "build over ice"], [],
                ["Amount", "Ingredient"], ["50 ml", "gin"], ["20 ml", "seabuckthorn syrup"], ["100 ml", "soda"],
            ],
            "Tidewrack Flip": [
                ["Tidewrack Flip", None], ["Glass:", "coupe"], ["Garnish:", "nutmeg"], ["Method:", "dry shake"], [],
                ["Amount", "Ingredient"], ["45 ml", "rum"], ["1", "egg"], ["2 dashes", "bitters"],
            ],
        },
        truth={
            "spec_line": lines("Saltmarsh Collins", ("gin", 50, "ml"), ("seabuckthorn syrup", 20, "ml"), ("soda", 100, "ml"))
            + [{"spec": "Tidewrack Flip", "version": 1, "line": n, "item": i, "amount": a, "unit": u} for n, i, a, u in ((1, "rum", 45, "ml"), (3, "bitters", 2, "dash"))]
        },
        left=1,
    ),
    Book(
        name="headings in two languages at once, Swiss",
        file="rezepte_recettes.csv",
        text="Rezept / Recette;Zutat / Ingrédient;Menge / Quantité;Einheit / Unité\nGletschersauer;Gin;4.5;cl\nGletschersauer;Zirbensirup;2;cl\nHeufizz;Wodka;5;cl\nHeufizz;Soda;1;dl\n",
        truth={"spec_line": lines("Gletschersauer", ("Gin", 4.5, "cl"), ("Zirbensirup", 2, "cl")) + lines("Heufizz", ("Wodka", 5, "cl"), ("Soda", 1, "dl"))},
    ),
    Book(
        name="drinks and preparations in one long sheet without a kind, Italian",
        file="ricettario.xlsx",
        sheets={
            "Ricettario": [
                ["Nome", "Resa", "Si conserva (giorni)", "Bicchiere", "Ingrediente", "Quantità"],
                ["Agro di pineta", None, None, "coppa", "gin", "45 ml"], [None, None, None, None, "sciroppo di pino", "20 ml"],
                ["Sciroppo di pino", "700 ml", 21, None, "aghi di pino", "50 g"], [None, None, None, None, "zucchero", "0,5 kg"],
                ["Fizz d'orto", None, None, "tumbler", "vodka", "50 ml"], [None, None, None, None, "tè d'orto", "30 ml"],
                ["Tè d'orto", "1 l", 4, None, "acqua", "1 l"],
            ]
        },
        truth={
            "spec_line": lines("Agro di pineta", ("gin", 45, "ml"), ("sciroppo di pino", 20, "ml")) + lines("Sciroppo di pino", ("aghi di pino", 50, "g"), ("zucchero", 0.5, "kg"))
            + lines("Fizz d'orto", ("vodka", 50, "ml"), ("tè d'orto", 30, "ml")) + lines("Tè d'orto", ("acqua", 1, "l")),
            "spec": [
                spec("Agro di pineta", keeps_days=None), spec("Sciroppo di pino", kind="preparation", makes=(700, "ml"), keeps_days=21),
                spec("Fizz d'orto", keeps_days=None), spec("Tè d'orto", kind="preparation", makes=(1, "l"), keeps_days=4),
            ],
        },
        answers={"kind": "(by row)"},
    ),
    Book(
        name="units in a row below the headings, Czech",
        file="receptury.csv",
        text="Nápoj;Surovina;Množství\n;;ml\nLuční sour;gin;45\n;senný sirup;20\nBylinkový fizz;vodka;50\n;soda;100\n",
        truth={"spec_line": lines("Luční sour", ("gin", 45, "ml"), ("senný sirup", 20, "ml")) + lines("Bylinkový fizz", ("vodka", 50, "ml"), ("soda", 100, "ml"))},
    ),
    Book(
        name="numbered steps and a bottled batch beside the serve, American",
        file="build sheet.csv",
        text="Spec,#,Component,Single (oz),Bottle (ml)\nCanyon Sour,1,gin,1.5,450\nCanyon Sour,2,juniper cordial,.75,225\nMesa Mule,1,vodka,2,600\nMesa Mule,2,ginger syrup,.5,150\n",
        truth={"spec_line": lines("Canyon Sour", ("gin", 1.5, "fl oz"), ("juniper cordial", 0.75, "fl oz")) + lines("Mesa Mule", ("vodka", 2, "fl oz"), ("ginger syrup", 0.5, "fl oz"))},
        answers={"oz": "fl oz", "amount": "Single (oz)", "item": "Component"},
    ),
    Book(
        name="a recipe as numbered text lines below its name, Norwegian",
        file="oppskrifter.csv",
        text="Fjæresur\n1,5 cl tangsirup\n4,5 cl gin\n2 cl sitronsaft\n\nMyrfizz\n5 cl vodka\n1 dl soda\n",
        truth={"spec_line": lines("Fjæresur", ("tangsirup", 1.5, "cl"), ("gin", 4.5, "cl"), ("sitronsaft", 2, "cl")) + lines("Myrfizz", ("vodka", 5, "cl"), ("soda", 1, "dl"))},
    ),
    Book(
        name="the price of the serve and its cost beside each line, Portuguese",
        file="fichas tecnicas.csv",
        text=(
            "Ficha;Ingrediente;Qtd;Un;Custo unit.;Custo\nAzedo da serra;gin;45;ml;0,026;1,17\nAzedo da serra;xarope de urze;20;ml;0,006;0,12\nTotal;;;;;1,29\n"
            "Fizz da ria;vodka;50;ml;0,018;0,90\nFizz da ria;soda;100;ml;0,001;0,10\nTotal;;;;;1,00\n"
        ),
        truth={"spec_line": lines("Azedo da serra", ("gin", 45, "ml"), ("xarope de urze", 20, "ml")) + lines("Fizz da ria", ("vodka", 50, "ml"), ("soda", 100, "ml"))},
    ),
    Book(
        name="versions of a drink side by side, German",
        file="versionen.xlsx",
        sheets={
            "Heusauer": [
                ["Zutat", "v1", "v2", "v3"], ["Gin", "45 ml", "45 ml", "50 ml"], ["Heusirup", "20 ml", "25 ml", "20 ml"], ["Zitronensaft", "22,5 ml", "20 ml", "20 ml"],
            ]
        },
        truth={
            "spec_line": [
                {"spec": "Heusauer", "version": v, "item": i, "amount": a, "unit": "ml"}
                for i, several in (("Gin", (45, 45, 50)), ("Heusirup", (20, 25, 20)), ("Zitronensaft", (22.5, 20, 20))) for v, a in enumerate(several, 1)
            ]
        },
    ),
)

PRICE_LISTS: Final = (
    Book(
        name="a case price and a bottle price, Spanish",
        file="tarifa.csv",
        text="Producto;Caja;Precio caja;Precio botella\nGinebra de costa;6 x 0,7 l;119,40;19,90\nRon viejo;6 x 0,7 l;105,00;17,50\nTónica;24 x 200 ml;14,40;0,60\n",
        truth={"ingredient": packs(("Ginebra de costa", 4.2, "l", 119.4), ("Ron viejo", 4.2, "l", 105), ("Tónica", 4800, "ml", 14.4))},
        answers={"pack_cost": "Precio caja"},
    ),
    Book(
        name="by supplier, with a line for each and its telephone, Polish",
        file="cennik dostawców.csv",
        text=(
            "Hurtownia Północ tel. 000 111 222;;;\nTowar;Opakowanie;Cena netto;Uwagi\nGin wiejski;0,7 l;62,50;\nWódka żytnia;0,5 l;31,90;promocja\n;;;\n"
            "Ogród Brzeg;;;\nTowar;Opakowanie;Cena netto;Uwagi\nRokitnik;1 kg;24,00;mrożony\nCytryny;1 kg;9,50;\n"
        ),
        truth={"ingredient": packs(("Gin wiejski", 0.7, "l", 62.5), ("Wódka żytnia", 0.5, "l", 31.9), ("Rokitnik", 1, "kg", 24), ("Cytryny", 1, "kg", 9.5))},
    ),
    Book(
        name="last year's price and this one's, French",
        file="tarifs.csv",
        text="Désignation;Contenance;Prix 2025;Prix 2026\nGin de lande;70 cl;18,20;18,90\nSirop d'ajonc;1 l;7,40;7,60\nCitrons;kg;2,90;3,10\n",
        truth={"ingredient": packs(("Gin de lande", 70, "cl", 18.9), ("Sirop d'ajonc", 1, "l", 7.6), ("Citrons", 1, "kg", 3.1))},
        answers={"pack_cost": "Prix 2026"},
    ),
    Book(
        name="a workbook in which a number is a text with its unit, Danish",
        file="indkøb.xlsx",
        sheets={
            "Priser": [
                ["Priser maj", None, None, None], ["Vare", "Str.", "Pris ekskl. moms", "Leverandør"],
                ["Gin", "70 cl", "189,00 kr.", "Grossisten"], ["Havtorn", "1 kg", 84.5, "Gården"], ["Sukker", "2 kg", "25,90 kr.", "Grossisten"],
            ]
        },
        truth={"ingredient": packs(("Gin", 70, "cl", 189), ("Havtorn", 1, "kg", 84.5), ("Sukker", 2, "kg", 25.9))},
        answers={"pack_amount": "Str."},
    ),
    Book(
        name="a price with VAT beside one without, Dutch",
        file="inkoop.csv",
        text="Artikelnr;Omschrijving;Inhoud;Prijs excl.;Prijs incl.\n10021;Jenever duin;1 L;17,35;20,99\n10045;Duindoornsap;750 ML;6,88;7,50\n10077;Rietsuiker;1 KG;2,29;2,50\n",
        truth={"ingredient": packs(("Jenever duin", 1, "l", 17.35), ("Duindoornsap", 750, "ml", 6.88), ("Rietsuiker", 1, "kg", 2.29))},
        answers={"item": "Omschrijving", "pack_cost": "Prijs excl."},
    ),
)

BATCH_BOOKS: Final = (
    Book(
        name="made and left under each day, headings in two rows, British",
        file="week of 2 March 2026.xlsx",
        sheets={
            "Week": [
                ["Prep", "Mon 2 March", None, "Tue 3 March", None], [None, "made", "left", "made", "left"],
                ["Kelp Tea", "1.5 l", "0.4 l", "1 l", "0.2 l"], ["Plum Shrub", None, "300 ml", "700 ml", "650 ml"],
            ]
        },
        truth={"batch": batches(("Kelp Tea", D(2026, 3, 2), 1.5, "l"), ("Kelp Tea", D(2026, 3, 3), 1, "l"), ("Plum Shrub", D(2026, 3, 3), 700, "ml"))},
        answers={"year": "2026"},
    ),
    Book(
        name="a weekday as a heading above its makings, German",
        file="produktion kw10.csv",
        text="Produktion KW 10;;\nMontag 02.03.2026;;\nWas;Menge;Wer\nHeusirup;1,5 l;Ina\nZirbentee;800 ml;Jo\n;;\nMittwoch 04.03.2026;;\nWas;Menge;Wer\nHeusirup;1 l;Ina\n",
        truth={"batch": batches(("Heusirup", D(2026, 3, 2), 1.5, "l"), ("Zirbentee", D(2026, 3, 2), 800, "ml"), ("Heusirup", D(2026, 3, 4), 1, "l"))},
    ),
    Book(
        name="weekday lines without headings below them, Dutch",
        file="mep.csv",
        text="Bereiding;Hoeveelheid\nmaandag 2 maart 2026;\nZeewierthee;1,5 l\nPruimenshrub;700 ml\ndinsdag 3 maart 2026;\nZeewierthee;1 l\n",
        truth={"batch": batches(("Zeewierthee", D(2026, 3, 2), 1.5, "l"), ("Pruimenshrub", D(2026, 3, 2), 700, "ml"), ("Zeewierthee", D(2026, 3, 3), 1, "l"))},
    ),
    Book(
        name="two batches a row under numbered headings, Swedish",
        file="bryggbok.csv",
        text="Datum;Sats 1;ml;Sats 2;ml\n2026-03-02;Tångte;1500;Havtornssirap;700\n2026-03-03;Havtornssirap;700;;\n2026-03-05;Tångte;1000;Plommonshrub;650\n",
        truth={
            "batch": batches(
                ("Tångte", D(2026, 3, 2), 1500, "ml"), ("Havtornssirap", D(2026, 3, 2), 700, "ml"), ("Havtornssirap", D(2026, 3, 3), 700, "ml"),
                ("Tångte", D(2026, 3, 5), 1000, "ml"), ("Plommonshrub", D(2026, 3, 5), 650, "ml"),
            )
        },
    ),
    Book(
        name="halves and multiples of a making, with what was used, Italian",
        file="registro.csv",
        text="Data;Preparazione;Fatto;Esito\n02/03/2026;Tè d'orto;1 dose;finito 05/03/2026\n06/03/2026;Tè d'orto;mezza dose;\n13/03/2026;Sciroppo di pino;2 dosi;\n",
        beside={"spec/spec.csv": "spec,version,kind,yield_amount,yield_unit\nTè d'orto,1,preparation,1,l\nSciroppo di pino,1,preparation,700,ml\n"},
        truth={"batch": batches(("Tè d'orto", D(2026, 3, 2), 1, "l"), ("Tè d'orto", D(2026, 3, 6), 0.5, "l"), ("Sciroppo di pino", D(2026, 3, 13), 1400, "ml"))},
        answers={"date_format": "%d/%m/%Y"},
    ),
    Book(
        name="use-by as so many days, and a tick for what is finished, Norwegian",
        file="produksjon.csv",
        text="Dato;Hva;Mengde;Holder;Brukt opp\n02.03.2026;Tangte;1,5 l;5 dager;05.03.2026\n14.03.2026;Havtornsirup;700 ml;21 dager;\n16.03.2026;Tangte;1 l;5 dager;20.03.2026\n",
        truth={
            "batch": batches(("Tangte", D(2026, 3, 2), 1.5, "l"), ("Havtornsirup", D(2026, 3, 14), 700, "ml"), ("Tangte", D(2026, 3, 16), 1, "l")),
        },
    ),
    Book(
        name="what is left at the end of each week, a column a Sunday, Spanish",
        file="recuento.csv",
        text="Lote;8/3/2026;15/3/2026;22/3/2026\nT1;0,6 l;;\nS1;500 ml;350 ml;100 ml\n",
        beside={"batch/batch.csv": "batch,preparation,made_on,made_amount,made_unit\nT1,Té de alga,2026-03-06,1.5,l\nS1,Jarabe de pino,2026-03-02,700,ml\n"},
        truth={
            "batch_event": [
                {"batch": b, "happened_on": D(2026, 3, d), "event": "counted", "amount": a, "unit": u}
                for b, d, a, u in (("T1", 8, 0.6, "l"), ("S1", 8, 500, "ml"), ("S1", 15, 350, "ml"), ("S1", 22, 100, "ml"))
            ]
        },
        answers={"event": "counted", "date_format": "%d/%m/%Y"},
    ),
    Book(
        name="a page a month with its name above and days alone, Danish",
        file="logbog.xlsx",
        sheets={
            "Marts 2026": [["Dag", "Tilberedning", "Mængde (l)"], [2, "Tangte", 1.5], [9, "Havtornsirup", 0.7], [None, "Tangte", 1]],
            "April 2026": [["Dag", "Tilberedning", "Mængde (l)"], [1, "Tangte", 2]],
        },
        truth={"batch": batches(("Tangte", D(2026, 3, 2), 1.5, "l"), ("Havtornsirup", D(2026, 3, 9), 0.7, "l"), ("Tangte", D(2026, 3, 9), 1, "l"), ("Tangte", D(2026, 4, 1), 2, "l"))},
    ),
)

TASTINGS: Final = (
    Book(
        name="a grid with averages in a row and a column, German",
        file="probe.xlsx",
        sheets={
            "Heusauer 12.03.2026": [
                ["Heusauer v2", None, None, None, None], ["Merkmal", "Ina", "Jo", "Kim", "Ø"],
                ["Süße", 5, 6, 4, 5], ["Säure", 6, 5, 7, 6], ["Gefallen", 7, 8, 6, 7], ["Mittelwert", 6, 6.3, 5.7, 6],
            ]
        },
        truth={"tasting": scores("Heusauer", D(2026, 3, 12), ["Süße", "Säure", "Gefallen"], {(2, "Ina"): [5, 6, 7], (2, "Jo"): [6, 5, 8], (2, "Kim"): [4, 7, 6]})},
        answers={"tasted_on": "2026-03-12", "session": "P1"},
    ),
    Book(
        name="versions down and tasters across with a mean, one question, French",
        file="panel.csv",
        text="Dégustation du 15/03/2026;;;;\nQuestion : appréciation;;;;\nÉchantillon;Ada;Ben;Cid;Moyenne\nAigre de lande v1;6;5;7;6\nAigre de lande v2;7;8;6;7\n",
        truth={
            "tasting": [
                {"spec": "Aigre de lande", "version": v, "panelist": p, "score": s}
                for v, several in ((1, (6, 5, 7)), (2, (7, 8, 6))) for p, s in zip(("Ada", "Ben", "Cid"), several, strict=True)
            ]
        },
        answers={"attribute": "appréciation", "tasted_on": "2026-03-15", "session": "15/03"},
    ),
    Book(
        name="a form a taster, one below another, Portuguese",
        file="fichas de prova.csv",
        text=(
            "Provador:;Ana;\nBebida:;Azedo da serra v3;\nData:;12/03/2026;\nAtributo;Nota;Comentário\ndoçura;5;\nacidez;6;um pouco alta\n;;\n"
            "Provador:;Rui;\nBebida:;Azedo da serra v3;\nData:;12/03/2026;\nAtributo;Nota;Comentário\ndoçura;6;\nacidez;5;\n"
        ),
        truth={
            "tasting": [
                {"panelist": p, "spec": "Azedo da serra", "version": 3, "tasted_on": D(2026, 3, 12), "attribute": a, "score": s}
                for p, a, s in (("Ana", "doçura", 5), ("Ana", "acidez", 6), ("Rui", "doçura", 6), ("Rui", "acidez", 5))
            ]
        },
        answers={"date_format": "%d/%m/%Y"},
    ),
    Book(
        name="scores out of ten with the scale written beside them, American",
        file="tasting notes.csv",
        text="Date,Panel,Taster,Drink,Sweetness,Balance\n3/12/2026,P7,Ann,Canyon Sour v2,6/10,7/10\n3/12/2026,P7,Bob,Canyon Sour v2,5/10,8/10\n3/19/2026,P8,Ann,Mesa Mule v1,4/10,6/10\n",
        truth={
            "tasting": [
                {"session": s, "tasted_on": D(2026, 3, d), "panelist": p, "spec": n, "version": v, "attribute": a, "score": x}
                for s, d, p, n, v, several in (("P7", 12, "Ann", "Canyon Sour", 2, (6, 7)), ("P7", 12, "Bob", "Canyon Sour", 2, (5, 8)), ("P8", 19, "Ann", "Mesa Mule", 1, (4, 6)))
                for a, x in zip(("Sweetness", "Balance"), several, strict=True)
            ]
        },
        answers={"session": "Panel"},
    ),
)

TILLS: Final = (
    Book(
        name="an export with a head, a foot of totals and payments, British",
        file="sales by item.csv",
        text=(
            "Sales by item,,,,,\nFrom 13/03/2026 to 14/03/2026,,,,,\n,,,,,\nDate,Time,Item,Qty,Gross,Net\n13/03/2026,20:15,Saltmarsh Collins,2,24.00,20.00\n13/03/2026,21:40,Tidewrack Flip,1,12.60,10.50\n"
            "14/03/2026,19:05,Saltmarsh Collins,1,12.00,10.00\nTotal sales,,,4,48.60,40.50\nCard,,,,36.60,\nCash,,,,12.00,\n"
        ),
        truth={
            "sale": sales((datetime(2026, 3, 13, 20, 15), "Saltmarsh Collins", 2, 20), (datetime(2026, 3, 13, 21, 40), "Tidewrack Flip", 1, 10.5), (datetime(2026, 3, 14, 19, 5), "Saltmarsh Collins", 1, 10))
        },
        left=2,
    ),
    Book(
        name="gross and tax rate in columns of their own, Polish",
        file="raport.csv",
        text="Data i godzina;Nazwa;Ilość;Stawka VAT;Brutto\n2026-03-13 20:15;Kwaśny Brzeg;2;23%;49,20\n2026-03-13 21:05;Fizz Łąka;1;23%;24,60\n",
        truth={"sale": sales((datetime(2026, 3, 13, 20, 15), "Kwaśny Brzeg", 2, 40), (datetime(2026, 3, 13, 21, 5), "Fizz Łąka", 1, 20))},
        answers={"tax_pct": "23"},
    ),
    Book(
        name="sold in a week by item, no day of any, Czech",
        file="prodej 10. týden.csv",
        text="Položka;Prodáno ks;Tržba bez DPH\nLuční sour;31;4650,00\nBylinkový fizz;18;2340,00\nCelkem;49;6990,00\n",
        truth={"sale": []},
        refused="sold_at",
    ),
    Book(
        name="which drink a till name is, with the price, Swedish",
        file="kassanamn.csv",
        text="Kassaartikel;Pris;Vår drink;Serveringar\nFJÄRESUR;135;Fjäresur;1\nFJÄRESUR KANNA;480;Fjäresur;4\nÖL 40CL;89;;\n",
        truth={"till_match": [{"till_item": "FJÄRESUR", "spec": "Fjäresur", "serves": 1}, {"till_item": "FJÄRESUR KANNA", "spec": "Fjäresur", "serves": 4}, {"till_item": "ÖL 40CL", "spec": None, "serves": 1}]},
        answers={"till_item": "Kassaartikel", "spec": "Vår drink", "serves": "Serveringar"},
    ),
    Book(
        name="twelve-hour times, a server's name above her lines, American",
        file="check detail.csv",
        text=(
            "Opened,Item Name,Qty,Net Price\nServer: Dana,,,\n03/13/2026 8:15 PM,Canyon Sour,2,28.00\n03/13/2026 9:40 PM,Mesa Mule,1,13.00\nServer: Lee,,,\n03/14/2026 12:10 AM,Canyon Sour,1,14.00\nGrand Total,,4,55.00\n"
        ),
        truth={"sale": sales((datetime(2026, 3, 13, 20, 15), "Canyon Sour", 2, 28), (datetime(2026, 3, 13, 21, 40), "Mesa Mule", 1, 13), (datetime(2026, 3, 14, 0, 10), "Canyon Sour", 1, 14))},
        left=2,
    ),
    Book(
        name="a till's day journal with the day in the file's name, Danish",
        file="kasse 2026-03-13.csv",
        text="Kl.;Vare;Antal;Netto\n20:15;Fjæresur;2;168,00\n21:40;Engfizz;1;79,00\n",
        truth={"sale": sales((datetime(2026, 3, 13, 20, 15), "Fjæresur", 2, 168), (datetime(2026, 3, 13, 21, 40), "Engfizz", 1, 79))},
        answers={"sold_at": "(file) + Kl."},
    ),
)

OTHER_HOUSES: Final = (*SPEC_BOOKS, *PRICE_LISTS, *BATCH_BOOKS, *TASTINGS, *TILLS)
