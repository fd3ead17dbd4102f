"""Commands for tasting panels: `stillroom panel plan`."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stillroom.cli.common import HouseOption, open_house
from stillroom.cli.speaking import filled, say, show
from stillroom.errors import StillroomError, UsageError

if TYPE_CHECKING:
    import polars as pl

    from stillroom.answers.panel_plan.drawing import Attribute, Session
    from stillroom.answers.panel_plan.files import Written
    from stillroom.api import OpenHouse

app = typer.Typer(help="Draw up blind tasting sessions.", no_args_is_help=True, rich_markup_mode=None)


@app.callback()
def panel() -> None:
    """Draw up blind tasting sessions."""


@app.command("plan")
def plan(
    spec: Annotated[str, typer.Argument(help="The spec to taste.")],
    versions: Annotated[list[str], typer.Argument(help="Its versions: v2 v3, or 2 3.")],
    panelists: Annotated[str, typer.Option(help="How many, or a text file with a name on each line.")],
    replicates: Annotated[int, typer.Option(help="How often everybody tastes everything.")] = 1,
    method: Annotated[
        str,
        typer.Option(
            help="scores, triangle, duo-trio, paired-preference, two-out-of-five, 2-AFC, 3-AFC, tetrad or A-not-A."
        ),
    ] = "scores",
    attributes: Annotated[
        str, typer.Option(help="What is scored, with commas; 'sweetness=just-about-right' sets a scale.")
    ] = "liking,sweetness,sourness,aroma,balance",
    looks: Annotated[
        int | None, typer.Option(help="Sittings planned for this comparison, this one too; said before the first.")
    ] = None,
    session: Annotated[str, typer.Option(help="The session's name; else the spec and the day.")] = "",
    on: Annotated[
        datetime | None,
        typer.Option(formats=["%Y-%m-%d"], metavar="<day>", help="Day of the session, like 2026-03-01; else today."),
    ] = None,
    seed: Annotated[
        int | None, typer.Option(min=0, metavar="<int>", help="Draw the session of this number again.")
    ] = None,
    out: Annotated[Path | None, typer.Option(help="Folder to write to; else 'panels' in the house.")] = None,
    sheet: Annotated[str, typer.Option(help="The sheet to type into: csv or xlsx.")] = "csv",
    ballots: Annotated[str, typer.Option(help="Ballots to print: html or pdf.")] = "html",
    difference: Annotated[float | None, typer.Option(help="Scores: the difference to see, in points.")] = None,
    noticing: Annotated[float, typer.Option(help="Tests: the share of people who notice to show.")] = 0.3,
    alpha: Annotated[float, typer.Option(help="Risk of seeing a difference that is none.")] = 0.05,
    beta: Annotated[float, typer.Option(help="Risk of missing one that is there.")] = 0.2,
    house: HouseOption = Path(),
) -> None:
    """Write ballots, a sheet to type into, and the key of a blind session."""
    from stillroom.answers.panel_plan.advice import Aim, advice, not_in_the_book
    from stillroom.answers.panel_plan.drawing import Request, checked, draw_up
    from stillroom.answers.panel_plan.files import write_session
    from stillroom.answers.panel_plan.resolving import PANEL_FOLDER
    from stillroom.house.report_settings import PanelSettings

    aim = Aim(
        difference=_above_zero("--difference", difference),
        noticing=_share("--noticing", noticing),
        alpha=_share("--alpha", alpha),
        beta=_share("--beta", beta),
    )
    home = open_house(house)
    day = on.date() if on else date.today()
    request = checked(
        Request(
            session=" ".join(session.split()) or f"{spec} {day}",
            tasted_on=day,
            spec=" ".join(spec.split()),
            versions=tuple(_version(version) for version in versions),
            panelists=_panelists(panelists),
            method=method,
            replicates=replicates,
            attributes=tuple(_attribute(one) for one in attributes.split(",") if one.strip()),
            looks=looks,
            samples_at_most=home.settings.facts.settings(PanelSettings).samples_at_most,
            seed=seed if seed is not None else _fresh_seed(),
        )
    )
    drawn = draw_up(request)
    folder = out if out is not None else home.settings.folder / PANEL_FOLDER
    written = write_session(drawn, folder, sheet, ballots, home.settings.paper)
    for fault in written.faults:
        say(fault, err=True)
    _say(drawn, written)
    known = _views(home, "panel_scores", "current_spec")
    told = [advice(request, aim, known.get("panel_scores"))]
    if "current_spec" in known:
        told += not_in_the_book(request.spec, request.versions, known["current_spec"])
    for sentence in told:
        show(filled(sentence))


def _say(drawn: Session, written: Written) -> None:
    from stillroom.answers.panel_plan.drawing import DIRECTED

    request = drawn.request
    tasters = f"{len(request.panelists)} panelists, {request.method}, seed {request.seed}"
    say(f"Session '{request.session}': {request.spec}, {len(request.versions)} versions, {tasters}.")
    for what, (least, most) in drawn.evenness.items():
        often = f"{least}" if least == most else f"{least} to {most}"
        say(
            {
                "position": f"  Each version stands in each position {often} times.",
                "after": f"  Each version comes right after each other one {often} times.",
                "together": f"  Each two versions are tasted by the same person {often} times.",
            }[what]
        )
    if request.looks is not None:
        say(f"  Sittings planned: {request.looks}; a look after each has its share of the risk of a false alarm.")
    if request.method in DIRECTED:
        more = f"version {request.versions[-1]} has more {request.attributes[0].name}"
        say(f"  The right answer is the one named last: that {more}.")
    show(f"Ballots to print: {written.ballots}")
    show(f"Sheet to type into, then 'stillroom intake' it: {written.sheet}")
    show(f"Key, not for tasters: {written.key}")


def _version(text: str) -> int:
    digits = text.strip().casefold().removeprefix("v")
    if not digits.isascii() or not digits.isdigit() or int(digits) < 1:
        raise UsageError(f"'{text}' is no version: write v2, or 2.")
    return int(digits)


def _attribute(text: str) -> Attribute:
    from stillroom.answers.panel_plan.drawing import Attribute

    name, _, kind = (" ".join(part.split()) for part in text.partition("="))
    return Attribute(name=name, kind=kind.casefold() or ("liking" if name.casefold() == "liking" else "intensity"))


def _panelists(text: str) -> tuple[str, ...]:
    """Codes P01, P02 ... for a number; the first cell of each line of a file."""
    if text.isascii() and text.isdigit():
        count = int(text)
        if not 1 <= count <= 900:
            raise UsageError(f"--panelists must be 1 to 900, or a file, not {count}.")
        return tuple(f"P{number:0{max(2, len(text))}}" for number in range(1, count + 1))
    path = Path(text)
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except FileNotFoundError:
        raise UsageError(f"--panelists: '{text}' is neither a number nor a file that is there.") from None
    except (OSError, UnicodeDecodeError) as error:
        raise UsageError(f"--panelists: {path} cannot be read ({error}).") from None
    names = [" ".join(line.split(",")[0].strip().strip('"').split()) for line in lines]
    names = [name for name in names if name]
    return tuple(names[1:] if names and names[0].casefold() == "panelist" else names)


def _share(option: str, value: float) -> float:
    if not 0 < value < 1:
        raise UsageError(f"{option} must lie between 0 and 1, not {value:g}.")
    return value


def _above_zero(option: str, value: float | None) -> float | None:
    if value is not None and not 0 < value < float("inf"):
        raise UsageError(f"{option} must be above 0, not {value:g}.")
    return value


def _fresh_seed() -> int:
    import secrets

    return secrets.randbelow(1_000_000)


def _views(home: OpenHouse, *names: str) -> dict[str, pl.DataFrame]:
    """Views of the store by name; none where there is no store, or it is in use."""
    try:
        return {name: home.view(name) for name in names}
    except StillroomError:
        return {}
