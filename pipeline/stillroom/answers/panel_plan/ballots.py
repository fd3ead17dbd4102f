"""Ballots to print: a page for each panelist, nothing on it that tells a version; here as one HTML file."""

from __future__ import annotations

import base64
import hashlib
from typing import Any, Final

from stillroom.answers.panel_plan.drawing import A_NOT_A, PREFERENCE, SCORES, Session

QUESTIONS: Final = {
    "triangle": "Two of these three are the same. Taste them in this order and circle the code of the odd one.",
    "duo-trio": "Taste the first glass, the reference, then the others in this order. Circle the code of the one that "
    "is the same as the reference.",
    PREFERENCE: "Taste both in this order and circle the code of the one you prefer.",
    "2-AFC": "Taste both in this order and circle the code of the one that has more {attribute}.",
    "3-AFC": "One of these three has more {attribute}. Taste them in this order and circle its code.",
    "tetrad": "Two of these four are of one kind, two of another. Taste them in this order and circle two codes that "
    "belong together.",
    A_NOT_A: "Taste the first glass: it is A. Then taste the other. Is it A too? Write 'A' or 'not A' beside its code.",
    "two-out-of-five": "Two of these five are of one kind, three of another. Taste them in this order and circle the "
    "two codes that belong together.",
}
SCORED: Final = "Taste the samples in the order they are printed. Mark one box on every line."
CARE: Final = (
    "Samples may hold alcohol and allergens. Tell the lead before you taste if there is anything you must not have. "
    "You may spit. Do not drive after tasting."
)
PAGE: Final = 940
"""Height of a printed page between its margins, in CSS pixels: US letter, the shorter paper, and a little less."""
LARGEST: Final = 16.0
SMALLEST: Final = 11.0
"""Sizes of type in CSS pixels: what would need a smaller one to stand on a page runs on to another."""


def render_ballots(session: Session) -> str:
    """The HTML of all ballots, names escaped, no request anywhere."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    loader = PackageLoader("stillroom.answers.panel_plan", "look")
    pages = Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True)
    size = type_size(session) if session.request.method == SCORES else LARGEST
    style = loader.get_source(pages, "ballot.css")[0] + f"@media print {{ html {{ font-size: {size:.1f}px; }} }}\n"
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return pages.get_template("ballots.html").render(
        style=style, style_hash=f"sha256-{digest}", **ballot_values(session)
    )


def ballot_values(session: Session) -> dict[str, Any]:
    """What stands on the ballots of a session."""
    request = session.request
    asked = QUESTIONS.get(request.method, SCORED).format(
        attribute=request.attributes[0].name if request.attributes else ""
    )
    none = " If you have no preference, write 'none' below." if request.method == PREFERENCE else ""
    return {
        "session": request.session,
        "tasted_on": request.tasted_on.isoformat(),
        "scored": request.method == SCORES,
        "rounds": request.replicates,
        "question": f"{asked} Rinse with water in between.{none}",
        "care": CARE,
        "attributes": [_attribute(one.name, one.kind, one.scale) for one in request.attributes],
        "ballots": _ballots(session),
    }


def type_size(session: Session) -> float:
    """Size of type at which a ballot of scales stands on one printed page, or else on the fewest, in CSS pixels."""
    glasses = max(len(ballot["glasses"]) for ballot in _ballots(session))
    # Heights in ballot.css, in sizes of type: a name of more than one line, a glass's heading, all around them.
    glass = 3 + sum(2.3 + 1.45 * (len(attribute.name) // 18) for attribute in session.request.attributes)
    # No glass is parted, so every page but the last may lack one.
    sizes = (PAGE * pages / (glasses * glass + 16.5 + (pages - 1) * glass) for pages in range(1, glasses + 1))
    return min(LARGEST, next((size for size in sizes if size >= SMALLEST), LARGEST))


def _attribute(name: str, kind: str, scale: tuple[int, int]) -> dict[str, Any]:
    if kind == "intensity" and name.casefold() == "balance":
        kind = "balance"
    low, high = {
        "balance": ("off balance", "well balanced"),
        "liking": ("dislike a lot", "like a lot"),
        "just-about-right": ("far too little", "far too much"),
    }.get(kind, ("none", "very strong"))
    return {"name": name, "points": list(range(scale[0], scale[1] + 1)), "low": low, "high": high}


def _ballots(session: Session) -> list[dict[str, Any]]:
    rounds = session.key.partition_by("replicate", "panelist", maintain_order=True)
    return [
        {
            "panelist": glasses["panelist"][0],
            "round": glasses["replicate"][0],
            "glasses": [
                {"code": code, "reference": part == "reference"} for code, part in glasses.select("code", "part").rows()
            ],
        }
        for glasses in rounds
    ]
