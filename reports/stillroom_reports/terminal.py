"""The season at a glance and the sheet of a thing, for a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from stillroom.answers.review.objects import DrinkRow, Figure, Item, Review
from stillroom.answers.review.sheet_objects import Course, Sheet
from stillroom.naming import harmless
from stillroom.words import NO_BREAK, THIN_SPACE, WIDTH, day_text, percent, short_amount, short_day, wrapped
from stillroom_reports.document import Document
from stillroom_reports.figures import grouped
from stillroom_reports.glance import change_text
from stillroom_reports.sheet_texts import lever_texts, place_text, size_texts

BARS: Final = 16
"""Columns of the longest bar."""
NAME: Final = 22
MENDED: Final = 4
SPARKS: Final = "▁▂▃▄▅▆▇█"
MOST_DRINKS: Final = 20
RED, TEAL, DIM, BOLD, PLAIN = COLOURS = ("\x1b[31m", "\x1b[36m", "\x1b[2m", "\x1b[1m", "\x1b[0m")


class Ink:
    """Colours where they are wanted; nothing where a file or a program reads."""

    def __init__(self, colour: bool) -> None:
        self._colour = colour
        self.codes = COLOURS if colour else ()

    def __call__(self, text: str, code: str) -> str:
        """The text in a colour or weight."""
        return f"{code}{text}{PLAIN}" if self._colour and text else text


def season_text(document: Document, review: Review, *, colour: bool = False) -> str:
    """The sentence, four figures, every drink as a bar, and the three lists."""
    ink, currency = Ink(colour), document.house.currency
    lines = [ink(f"{document.house.name}: {document.period.label}", BOLD), ""]
    lines += _wrap(f"{review.sentence} {review.unknown}".strip())
    lines += ["", *(_figure(figure, currency, ink) for figure in review.figures), ""]
    lines += _drinks(review, currency, ink)
    if review.today:
        lines += ["", ink(f"Next making, {review.today.day:%A} {day_text(review.today.day)}", BOLD)]
        for pour in review.today.pour:
            until = f", past its use-by {short_day(pour.use_by)}" if pour.use_by else ""
            lines += _wrap(
                f"Pour away {pour.preparation} {pour.batch}, {short_amount(pour.amount, pour.unit)}{until}", "  "
            )
        made = [f"{one.preparation} {short_amount(one.amount, one.unit)}" for one in review.today.make]
        lines += _wrap(f"Make {', '.join(made)}" if made else "Nothing has to be made", "  ")
    lines += _list("This week", review.decide[:3], currency, ink)
    lines += _list("To mend in the data", review.mend[:MENDED], currency, ink)
    if len(review.mend) > MENDED:
        lines.append(f"  and {len(review.mend) - MENDED} more: 'stillroom doubts'")
    if document.faults:
        lines += ["", "Not done", *(line for fault in document.faults for line in _wrap(fault, "  ! "))]
    return _laid_out(lines, ink)


def _laid_out(lines: Sequence[str], ink: Ink) -> str:
    """Plain spaces alone, and nothing that steers a terminal but our own colours, where they are wanted."""
    text = "\n".join([*lines, ""]).replace(THIN_SPACE, " ").replace(NO_BREAK, " ")
    return harmless(text, ink.codes)


def _wrap(text: str, first: str = "", then: str | None = None, width: int = WIDTH) -> list[str]:
    return wrapped(harmless(text), first, " " * len(first) if then is None else then, width)


def _figure(figure: Figure, currency: str, ink: Ink) -> str:
    value = "not known" if figure.value is None else f"{currency} {plain(figure.value)}"
    told = []
    if figure.change is not None:
        told.append(
            f"{change_text(figure.change.share, figure.change.low, figure.change.high)} beside {figure.against}"
        )
    elif figure.low is not None and figure.high is not None:
        told.append(f"{plain(figure.low)} to {plain(figure.high)}")
    if figure.share is not None:
        told.append(f"{100 * figure.share:.0f} % {figure.share_of}")
    shown = ink(f"{value:>12}", RED) if figure.is_loss and figure.value else f"{value:>12}"
    label = {"contribution": "Left over", "lost": "Poured away, spoiled"}.get(figure.name, figure.label)
    line = f"  {label:<22}{shown}  {sparks(figure.weeks)}"
    rest = f"  {'; '.join(told)}" if told else ""
    return (line + rest if len(f"  {label:<22}{value:>12}  {sparks(figure.weeks)}{rest}") <= WIDTH else line).rstrip()


def plain(value: float) -> str:
    """A number for a terminal: plain spaces between thousands."""
    return grouped(value).replace(THIN_SPACE, " ")


def sparks(weeks: Sequence[float | None]) -> str:
    """Weeks as a line of small bars from zero, a space where nothing is known.

    >>> sparks([0.0, None, 4.0])
    '▁ █'
    """
    top = max((value for value in weeks if value is not None), default=0.0)
    return "".join(
        " " if value is None else SPARKS[min(7, int(8 * max(value, 0.0) / top))] if top > 0 else SPARKS[0]
        for value in weeks
    )


def _drinks(review: Review, currency: str, ink: Ink) -> list[str]:
    if not review.drinks:
        return []
    most = max((row.contribution or 0.0 for row in review.drinks), default=0.0) or 1.0
    shown = review.drinks[:MOST_DRINKS]
    lines = [ink(f"What each drink left over, {currency}", BOLD), *(_drink(row, most, ink) for row in shown)]
    return lines + ([f"  and {len(review.drinks) - len(shown)} more"] if len(review.drinks) > len(shown) else [])


def _drink(row: DrinkRow, most: float, ink: Ink) -> str:
    name = row.name if len(row.name) < NAME else f"{row.name[: NAME - 2]}…"
    if row.contribution is None:
        return f"  {name:<{NAME}}{'not known':>9}"
    size = max(0, round(BARS * row.contribution / most))
    mark = ("█" if row.whole else "░") * size
    money = plain(row.contribution)
    words = row.words[0].text if row.words else ""
    room = WIDTH - 2 - NAME - 9 - 1 - BARS - 1
    words = words if len(words) <= room else f"{words[: room - 1]}…"
    bar = f"{mark:<{BARS}}"
    return f"  {name:<{NAME}}{money:>9} {ink(bar, RED) if row.decide else bar} {words}".rstrip()


def _list(title: str, items: Sequence[Item], currency: str, ink: Ink) -> list[str]:
    if not items:
        return []
    lines = ["", ink(title, BOLD)]
    for item in items:
        do = f"{item.subject}: {item.do or item.why}" if item.subject else _capital(item.do or item.why)
        money = f"{currency} {plain(item.money)}" if item.money and item.money >= 0.5 else ""
        money += f", {percent(item.share, 1)}" if money and item.share is not None else ""
        told = _wrap(do, "  ", width=WIDTH - len(money) - 2)
        told[0] = f"{told[0]:<{WIDTH - len(money)}}{money}".rstrip()
        lines += told
        rest = item.mend or item.sureness
        if item.do:
            lines += [ink(line, DIM) for line in _wrap(f"{item.why} [{rest}]", "    ")]
    return lines


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"


def sheet_text(sheet: Sheet, currency: str, *, colour: bool = False) -> str:
    """The sheet of a thing: its figures, its course, versions side by side, who takes it, its last batches."""
    ink = Ink(colour)
    lines = [ink(_wrap(f"{sheet.name}{sheet.says}")[0], BOLD), *_wrap(f"{sheet.name}{sheet.says}")[1:]]
    lines += _wrap("; ".join(sheet.facts)) + _wrap(sheet.source)
    for title, text in sheet.careful:
        lines += _wrap(f"{title}: {text}", "  ! ", "    ")
    lines.append("")
    for note in sheet.notes:
        value = f"{note.value} {note.unit}".strip().replace(THIN_SPACE, " ").replace("\u2009", " ")
        shown = ink(f"{value:>14}", RED) if note.is_loss else f"{value:>14}"
        lines.append(f"  {note.label:<24}{shown}  {note.small}".rstrip()[: WIDTH + (9 if colour else 0)])
    if sheet.course:
        lines += ["", f"{sheet.course.label}, {short_day(sheet.course.first)} to {short_day(sheet.course.last)}"]
        lines += [f"  {_course(sheet.course)}"]
        lines += [f"  {ink(f'{short_day(mark.day)}: {mark.text}', TEAL)}" for mark in sheet.course.marks]
    lines += _table("Versions side by side", ("", *sheet.versions.versions), sheet.versions.rows, ink)
    lines += _bearings(sheet, currency)
    if sheet.users:
        lines += ["", "Goes into"]
        for user in sheet.users:
            share = "" if user.share is None else f"{100 * user.share:>6.0f} % of all used"
            lines.append(f"  {user.name:<28.28}{user.takes:>18}{share}")
    if sheet.batches:
        lines += ["", "Batches, newest first", f"  {'batch':<10}{'made':>8}{'amount':>9}{'used':>9}{'lost':>9}  from"]
        for batch in sheet.batches[:8]:
            lines.append(
                f"  {batch.batch:<10.10}{short_day(batch.made_on):>8}{batch.made:>9.0f}{batch.used:>9.0f}"
                f"{batch.lost:>9.0f}  {batch.source[-31:]}"
            )
    return _laid_out(lines, ink)


def _bearings(sheet: Sheet, currency: str) -> list[str]:
    """Where a drink lies on the menu map and what would move it; how much of a preparation to make at a time."""
    lines: list[str] = []
    if sheet.place:
        lines += ["", f"On the menu map: {sheet.place.does}", *_wrap(place_text(sheet.place, currency), "  ")]
    if sheet.levers:
        lines += ["", f"What would move it, {currency} left over in such a period, all else as it was"]
        for what, money, rests_on in lever_texts(sheet):
            lines += _wrap(f"{what}: {money} ({rests_on})", "  ", "    ")
    if sheet.sizes:
        lines += ["", f"How much to make at a time, on an empty shelf on {short_day(sheet.sizes[0].made_on)}"]
        for one in size_texts(sheet):
            what = f" ({one.what})" if one.what else ""
            lines += _wrap(f"{one.size}: some lost {one.lost}; short {one.short}{what}", "  ", "    ")
    return lines


def _course(course: Course) -> str:
    """The line squeezed into what the width allows: the mean of each stretch."""
    values = [value for _, value in course.line]
    columns = min(WIDTH - 4, len(values)) or 1
    stretches = [values[n * len(values) // columns : (n + 1) * len(values) // columns] for n in range(columns)]
    means = [
        sum(known) / len(known) if (known := [v for v in stretch if v is not None]) else None for stretch in stretches
    ]
    return sparks(means)


def _table(
    title: str, headings: Sequence[str], rows: Sequence[tuple[str, tuple[str, ...], bool]], ink: Ink
) -> list[str]:
    """Rows with their cells at the right; `*` before what changed."""
    cells = [[what, *texts] for what, texts, _ in rows]
    room = (WIDTH - 26) // max(len(headings) - 1, 1)

    def cut(text: str) -> str:
        return text if len(text) < room else f"{text[: room - 2]}…"

    lines = ["", title, "  " + f"{'':<24}" + "".join(f"{cut(one):>{room}}" for one in headings[1:])]
    for row, (_, _, changed) in zip(cells, rows, strict=True):
        mark = "*" if changed and len(headings) > 2 else " "
        lines.append(f"{mark} {row[0]:<24.24}" + "".join(f"{cut(one):>{room}}" for one in row[1:]))
    return [line.rstrip() for line in lines]
