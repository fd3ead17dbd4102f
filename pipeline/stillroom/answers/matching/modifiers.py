"""Where a till's modifiers begin: 'Marsh Sour + kelp' is a Marsh Sour, and ' +' is where its name ends."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from stillroom.answers.matching.open_names import SEVERAL, plain

if TYPE_CHECKING:
    import duckdb

MARKS: Final = (" (", " [", " +", " *", " -", " –", " /", " |", ",", ":")
ENOUGH: Final = 2
SOLD: Final = """
    SELECT d.till_item, sum(d.quantity) AS quantity, sum(d.net_amount) AS net_amount, any_value(m.meaning) AS meaning
    FROM till_item_day AS d
    JOIN till_meaning AS m ON m.item_key = d.item_key AND m.venue IS NOT DISTINCT FROM d.venue
    GROUP BY d.till_item ORDER BY d.till_item
"""
SOURCES: Final = """
    SELECT DISTINCT standing.source FROM current_sale JOIN standing USING (intake_id)
    WHERE position(? IN till_item) > 0 ORDER BY ALL
"""


@dataclass(frozen=True, kw_only=True)
class Modifiers:
    """A mark behind which names go on that begin as a drink or as another till name does."""

    mark: str
    names: tuple[str, ...]
    """Open names that would end at it."""
    sources: tuple[str, ...]
    """The sources whose files hold such names: their setting `names_end_at`."""


def modifiers(con: duckdb.DuckDBPyConnection) -> list[Modifiers]:
    """Marks at which modifiers seem to begin, that with most names first.

    A mark is none where what stands before it costs much less: 'Marsh Sour (jug)' is more than a Marsh Sour.
    """
    rows = con.execute(SOLD).fetchall()
    each = {plain(name): float(net) / float(quantity) for name, quantity, net, _ in rows if quantity > 0}
    known = set(each) | {
        plain(spec) for (spec,) in con.execute("SELECT spec FROM spelling WHERE kind = 'drink'").fetchall()
    }
    found = []
    for mark in MARKS:
        names = [
            (name, meaning) for name, _, _, meaning in rows if plain(name.partition(mark)[0]) in known - {plain(name)}
        ]
        dearer = [name for name, _ in names if _is_dearer(name, mark, each)]
        open_ones = tuple(name for name, meaning in names if meaning == "unmatched")
        if len(open_ones) >= ENOUGH and not dearer:
            sources = tuple(source for (source,) in con.execute(SOURCES, [mark]).fetchall())
            found.append(Modifiers(mark=mark, names=open_ones, sources=sources))
    return sorted(found, key=lambda one: -len(one.names))


def _is_dearer(name: str, mark: str, each: dict[str, float]) -> bool:
    head, whole = each.get(plain(name.partition(mark)[0])), each.get(plain(name))
    return bool(head and whole and whole / head >= SEVERAL)
