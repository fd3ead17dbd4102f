"""What odd cells cost: till exports with one odd cell in a hundred lines, taken in beside the same lines without.

Run as `python -m benchmarks.odd_cells [--rows N]`. All intakes run in one process, in turn; processor time is compared,
since odd cells in few lines are to cost no more than themselves. The table is written to docs/benchmarks.md.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import stillroom
from benchmarks.intake import SETTINGS
from benchmarks.measuring import keep
from benchmarks.till_lines import write_lines_nearer_to_life

ODD_EVERY = 100
SOLD_AT, ITEM, QUANTITY, NET_AMOUNT, CHECK = range(5)


def _cell(place: int, change: Callable[[str], str]) -> Callable[[list[str]], list[str]]:
    return lambda cells: [*cells[:place], change(cells[place]), *cells[place + 1 :]]


KINDS: dict[str, Callable[[list[str]], list[str]]] = {
    "a cell of blanks": _cell(CHECK, lambda _: "   "),
    "a blank before and behind": _cell(ITEM, lambda cell: f" {cell} "),
    "two blanks inside": _cell(ITEM, lambda cell: cell.replace(" ", "  ")),
    "a tab inside": _cell(ITEM, lambda cell: cell.replace(" ", "\t")),
    "a no-break space inside": _cell(ITEM, lambda cell: cell.replace(" ", "\xa0")),
    "an accent beside its letter (not composed)": _cell(ITEM, lambda cell: cell + " cre\u0300me"),
    "a quoted end of line": _cell(ITEM, lambda cell: f'"{cell}\nlarge"'),
    "an inch mark": _cell(ITEM, lambda cell: f'5" {cell}'),
    "a row that ends early": lambda cells: cells[:3],
    "a blank line": lambda cells: [],
    "empty cells beyond the headings": lambda cells: [*cells, "", ""],
    "a blank beside a number": _cell(NET_AMOUNT, lambda cell: f" {cell}"),
    "a currency sign": _cell(NET_AMOUNT, lambda cell: f"€ {cell}"),
    "a number in words": _cell(QUANTITY, lambda _: "two"),
    "a quantity of 0": _cell(QUANTITY, lambda _: "0"),
    "a moment with a T": _cell(SOLD_AT, lambda cell: cell.replace(" ", "T")),
    "a moment without seconds": _cell(SOLD_AT, lambda cell: cell[:-3]),
    "a moment with an offset": _cell(SOLD_AT, lambda cell: cell.replace(" ", "T") + "+00:00"),
}


def processor_seconds(file: Path, folder: Path) -> float:
    """Of an intake of the file into an empty house."""
    with tempfile.TemporaryDirectory(dir=folder) as name:
        (Path(name) / "stillroom.toml").write_text(SETTINGS)
        began = time.process_time()
        stillroom.open(name).intake([str(file)])
        return time.process_time() - began


def compare(rows: int, rounds: int) -> list[str]:
    """The lines of the table."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        plain = folder / "plain.csv"
        write_lines_nearer_to_life(plain, rows)
        heading, *lines = plain.read_text(encoding="utf-8").splitlines()
        odd = {words: folder / f"odd-{place}.csv" for place, words in enumerate(KINDS)}
        for words, file in odd.items():
            changed = list(lines)
            # Not the first row, by which polars counts columns: a piece that begins with a short one is parsed anew.
            for place in range(ODD_EVERY // 2, rows, ODD_EVERY):
                if '"' not in lines[place]:
                    changed[place] = ",".join(KINDS[words](lines[place].split(",")))
            file.write_text("\n".join([heading, *changed, ""]), encoding="utf-8")
        processor_seconds(plain, folder)  # what is only done once is done
        least: dict[str, list[float]] = {}
        for words, file in odd.items():
            # In turn, and the least of each: whatever else the machine does can only add to it.
            pairs = [(processor_seconds(plain, folder), processor_seconds(file, folder)) for _ in range(rounds)]
            least[words] = [min(several) for several in zip(*pairs, strict=True)]
    return [
        f"{rows:,} till lines, one in a hundred of them odd; the least of each, rounds: {rounds}.",
        "",
        "| odd | processor time, against the same lines without |",
        "|---|---|",
        *(f"| {words} | {here / without:.2f} |" for words, (without, here) in least.items()),
    ]


def main() -> None:
    """Measure, print, and keep the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=500_000)
    parser.add_argument("--rounds", type=int, default=5)
    given = parser.parse_args()
    keep("odd cells", compare(given.rows, given.rounds))


if __name__ == "__main__":
    main()
