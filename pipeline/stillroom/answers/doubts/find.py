"""Finds all that is in doubt: rows set aside, names, contents, amounts, prices, silent days, batches without an end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from stillroom.analysis.specs.views import VIEWS
from stillroom.answers.aside_text import reason_text
from stillroom.answers.doubts.books import Books, Doubt
from stillroom.names import key_of, name_key, nearest
from stillroom.naming import for_a_shell
from stillroom.objects import Period
from stillroom.words import WAITS, amount, counted, listed, short_day

if TYPE_CHECKING:
    import polars as pl

NEEDS: Final = (
    *("row_aside", "till_item_day", "unmatched_sales", "unknown_name", "improbable_batch", "batch_happening"),
    *("spec_cost", "spec_item", "spelling", "daily_serves", "silent_day", "batch_fate"),
    *("current_batch_event", *VIEWS),
)
"""Views that doubts are worked out from."""
AT_ONCE: Final = ("unknown_name", "improbable_batch", "batch_happening", "spelling")
"""Views that `at_once` reads: none that tells money, of which it says nothing."""
SHOWN: Final = 3
OF_SPECS: Final = ("spec", "spec_line")
LACKS: Final = " Cost, strength and allergens may be wrong."
OF_COSTS: Final = ("spec_line", "ingredient")


def doubts(frames: Mapping[str, pl.DataFrame], period: Period) -> tuple[Doubt, ...]:
    """All that is in doubt, the most money first.

    Args:
        frames: the views of `NEEDS`.
        period: the days whose money counts, and whose days and batches are looked at; rows, names and amounts are
            told whatever their days.
    """
    books = Books(frames, period)
    kinds = (
        _rows_aside,
        _till_names,
        _unknown_names,
        _amounts,
        _overfull,
        _prices,
        _contents,
        _silent_days,
        _without_end,
    )
    found = [doubt for kind in kinds for doubt in kind(books)]
    return tuple(sorted(found, key=lambda one: (-(one.money or 0.0), one.kind, one.subject, one.what)))


def at_once(frames: Mapping[str, pl.DataFrame]) -> tuple[str, ...]:
    """Names and amounts that are in doubt, each in a sentence with its place: what an intake tells as soon as it ends.

    Args:
        frames: the views of `AT_ONCE`.
    """
    books = Books(frames, Period(first=date.min, last=date.max, label=""))
    return tuple(f"{one.what} ({one.mend})" for kind in (_unknown_names, _amounts) for one in kind(books))


def _rows_aside(books: Books) -> Iterator[Doubt]:
    """Of the spec book one for each spec, of all other files one for each."""
    import polars as pl

    own = pl.col("table_name").is_in(list(OF_SPECS))
    aside = books.frames["row_aside"].with_columns(of=pl.when(own).then("name_key").otherwise(pl.lit("")))
    for (file, table, key), group in aside.sort("file", "row_number").group_by(
        "file", "table_name", "of", maintain_order=True
    ):
        rows = group.to_dicts()
        numbers = listed([str(row["row_number"]) for row in rows], SHOWN)
        where = f"{file}, {'row' if len(rows) == 1 else 'rows'} {numbers}"
        right = all(row["rule"] == "doubtful" for row in rows)
        said: dict[str, str] = {
            "kind": "rows set aside",
            "subject": books.spelt.get(str(key), rows[0]["name"]) if key else "",
            "what": f"Row {rows[0]['row_number']}{f', {name}' if (name := rows[0]['name']) and not key else ''}: "
            f"{reason_text(rows[0])}.{LACKS if table == 'spec_line' else ''}",
            "do": f"correct {counted(len(rows), 'row')} of {file}",
            "mend": f"stillroom confirm {for_a_shell(str(file))}, or {where}" if right else where,
        }
        names = [row["name"] for row in rows]
        if table == "sale":
            yield books.worth(len(rows) * books.a_line, (), **said)
        elif table == "till_match":
            yield books.worth(_of_names(books, names), (), **said)
        elif table in ("batch", "batch_event"):
            yield books.batches(names, **said)
        else:
            yield books.about(names if table in OF_COSTS else (), **said)


def _of_names(books: Books, names: Iterable[str]) -> float:
    """What some names of the till brought in the period."""
    import polars as pl

    keys = list({name_key(name) for name in names})
    return abs(float(books.within("till_item_day").filter(pl.col("item_key").is_in(keys))["net_amount"].sum() or 0))


def _till_names(books: Books) -> Iterator[Doubt]:
    """Names of the till that no drink explains: no guess counts before it is confirmed."""
    import polars as pl

    open_ones = books.frames["unmatched_sales"].group_by("till_item").agg(pl.col("net_amount").sum())
    names = open_ones.sort(pl.col("net_amount").abs(), "till_item", descending=[True, False])["till_item"].to_list()
    if not names:
        return
    yield books.worth(
        _of_names(books, names),
        (),
        kind="till names",
        what=f"{listed(names, SHOWN)}: in the till's total, in no drink.",
        do=f"say which drink {'it is' if len(names) == 1 else f'each of {len(names)} till names is'}",
        mend="stillroom match",
    )


def _unknown_names(books: Books) -> Iterator[Doubt]:
    for row in books.rows("unknown_name"):
        meant = nearest(row["name"], list(books.spelt.values()))
        where = f"{row['file']}, row {row['row_number']}"
        if row["version"] is None:
            what = f"{_named(row)} {row['name']}, which is no spec{f': did you mean {meant}?' if meant else '.'}"
            do = f"correct the name {row['name']}, or write its spec"
        else:
            what = f"{_named(row)} version {row['version']} of {row['name']}, which the spec book does not have."
            do = f"correct version {row['version']}, or write it into the spec book"
        names = [meant or row["name"]] * row["rows"] if row["table_name"] == "batch" else ()
        yield books.batches(names, kind="unknown names", what=what, do=do, mend=where)


def _named(row: Mapping[str, Any]) -> str:
    """Who names it.

    >>> _named({"table_name": "batch", "rows": 1}), _named({"table_name": "till_match", "rows": 2})
    ('A batch is of', '2 till matches are of')
    """
    one, several = {
        "batch": ("a batch", "batches"),
        "tasting": ("a tasting", "tasting scores"),
        "trial": ("a trial", "trial answers"),
        "till_match": ("a till match", "till matches"),
    }[row["table_name"]]
    return f"{one.capitalize()} is of" if row["rows"] == 1 else f"{counted(row['rows'], one, several)} are of"


def _amounts(books: Books) -> Iterator[Doubt]:
    """Batches of an improbable size, and amounts of events that cannot be."""
    for row in books.rows("improbable_batch"):
        yield books.batches(
            [row["batch"]],
            kind="amounts",
            subject=row["preparation"],
            what=f"Batch {row['batch']} is {amount(row['made'], row['unit'])}; a making gives "
            f"{amount(row['gives'], row['unit'])}.",
            do=f"look at the amount of batch {row['batch']}",
            mend=f"{row['file']}, row {row['row_number']}",
        )
    for row in books.rows("batch_happening"):
        if row["problem"] is not None:
            recorded = amount(row["recorded"], row["recorded_unit"])
            yield books.batches(
                [row["batch"]],
                kind="amounts",
                subject=row["preparation"],
                what=f"{recorded} {row['event']} of batch {row['batch']}: {row['problem']}.",
                do=f"correct the amount {row['event']} of batch {row['batch']}",
                mend=f"{row['file']}, row {row['row_number']}",
            )


def _prices(books: Books) -> Iterator[Doubt]:
    """What has no price, in the versions that were sold, at the prices of their last day."""
    import polars as pl

    sold = (
        books.within("daily_serves")
        .group_by(name_key=pl.col("spec"), version="version")
        .agg(pl.col("business_date").max().alias("day"))
    )
    lacking: dict[str, list[str]] = {}
    costs = books.frames["spec_cost"].sort("priced_from")
    for spec, version, day in sold.iter_rows():
        own = costs.filter(
            pl.col("name_key") == name_key(spec), pl.col("version") == version, pl.col("priced_from") <= day
        )
        for item in (own["missing"][-1] or "").split("; ") if own.height else ():
            if item and WAITS not in item:  # the row itself is a doubt of its own
                lacking.setdefault(item, []).append(spec)
    for item, drinks in sorted(lacking.items()):
        names = sorted(set(drinks), key=lambda one: -books.sold[name_key(one)])
        yield books.worth(
            sum(books.sold[name_key(one)] for one in names),
            tuple(names),
            kind="prices",
            subject=item,
            what=f"No price, so the cost of {listed(names, SHOWN)} is not whole.",
            **_to_price(books, item),
        )


def _to_price(books: Books, item: str) -> dict[str, str]:
    """What is lacking of an item that has no cost, and where that is to be written."""
    import polars as pl

    key = name_key(item)
    listed_ones = books.frames["current_ingredient"]
    own = listed_ones.filter(key_of(pl.col("item")) == key).sort("priced_on", nulls_last=False)
    if own.height:
        row = own.row(-1, named=True)
        cell, what = ("pack_cost", "its price") if row["pack_cost"] is None else ("density_g_ml", "its density")
        return {"do": f"enter {what}", "mend": f"{row['file']}, row {row['row_number']}, {cell}"}
    if key in books.spelt:
        return {"do": "write its lines, or a price for it", "mend": "the spec book"}
    files = listed_ones.sort("priced_on", "file", nulls_last=False)["file"]
    return {"do": "enter its price", "mend": f"a row in {files[-1]}" if files.len() else "the price list"}


def _overfull(books: Books) -> Iterator[Doubt]:
    """Specs that say more comes out than goes in."""
    from stillroom.analysis.specs.figures import more_than_goes_in

    where = {(name_key(row["spec"]), row["version"]): row for row in books.rows("current_spec")}
    for spec in books.composition.book.all_in_service():
        if (said := more_than_goes_in(books.composition, spec)) is not None:
            row = where[spec.key]
            yield books.about(
                [spec.spec],
                kind="amounts",
                subject=spec.spec,
                what=f"More comes out than goes in: {said}.",
                do="weigh a making: a line is missing, or its yield is wrong",
                mend=f"{row['file']}, row {row['row_number']}",
            )


def _contents(books: Books) -> Iterator[Doubt]:
    """What is bought, of which nothing is known, and which common ingredients it may be: to be said, never assumed.

    In one, and without money: what is in a glass changes neither what it sold for nor what it cost.
    """
    import polars as pl

    from stillroom.analysis.specs.likely_items import proposals

    book, bought = books.composition.book, books.frames["current_ingredient"]
    makings = [books.composition.making(spec) for spec in book.all_in_service()]
    items = {item for making in makings for item in (*making.not_known, *making.left_out) if not book.is_spec(item)}
    silent = {name_key(item): item for item in sorted(items)}
    rows = bought.filter(key_of(pl.col("item")).is_in([*silent])).sort("file", "row_number")
    found = proposals([silent[key] for key in dict.fromkeys(map(name_key, rows["item"]))], book.common)
    if found:
        names = listed([f"{item} ({common})" for item, common in found.items()], SHOWN)
        yield books.worth(
            None,
            books.drinks_with(found),
            kind="unknown contents",
            what=f"The price list says nothing of {names}, which may be what stands in brackets: until then "
            "it counts as water, or is left out.",
            do=f"say what is meant by {listed(list(found), SHOWN)}",
            mend=f"the column known_as of {listed(rows['file'].unique(maintain_order=True).to_list(), SHOWN)}",
        )


def _silent_days(books: Books) -> Iterator[Doubt]:
    days = books.within("silent_day").sort("business_date")
    if days.height:
        shown = listed([short_day(day) for day in days["business_date"]], SHOWN)
        yield books.worth(
            float(days["usual"].sum()),
            kind="days without sales",
            what=f"No till line on {shown}, in weeks that have others.",
            do=f"take in the till's export of {counted(days.height, 'day')}, or say that the house was closed",
            mend=f"stillroom closed {' '.join(map(str, days['business_date']))}; or stillroom intake FILE",
        )


def _without_end(books: Books) -> Iterator[Doubt]:
    """Batches past their use-by of which nobody logged what became of the rest: taken as lost."""
    import polars as pl

    left = books.within("batch_fate", "made_on").filter(pl.col("left_at_use_by") > 0)
    if left.height:
        names = left.group_by("preparation").agg(pl.len()).sort("len", "preparation", descending=[True, False])
        events = books.frames["current_batch_event"]
        yield books.worth(
            float(left["cost_lost"].sum() or 0) or None,
            kind="batches without an end",
            what=f"Past use-by, with something left and nothing logged: "
            f"{listed([f'{name} ({n})' for name, n in names.iter_rows()], SHOWN)}.",
            do=f"log what became of {counted(left.height, 'batch', 'batches')}",
            mend=f"a row in {events['file'].sort()[-1]}" if events.height else "the batch book",
        )
