"""What a reader of PDF, a library that is not ours, finds in a print."""

from __future__ import annotations

import io
from collections import Counter
from typing import Any

from pypdf import PdfReader


def reader(pdf: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(pdf))


def texts(pdf: bytes) -> list[str]:
    """The text of each page as it is selected, with single spaces."""
    return [" ".join(page.extract_text().split()) for page in reader(pdf).pages]


def tags(pdf: bytes) -> Counter[str]:
    """How often each kind of structure element stands in the tree that a screen reader walks (ISO 32000-1, 14.7)."""
    found: Counter[str] = Counter()
    seen: set[tuple[int, int]] = set()

    def walk(element: Any) -> None:
        if reference := getattr(element, "indirect_reference", None):
            if (reference.idnum, reference.generation) in seen:
                return
            seen.add((reference.idnum, reference.generation))
        element = element.get_object()
        if isinstance(element, list):
            for one in element:
                walk(one)
        elif isinstance(element, dict):
            if "/S" in element:
                found[element["/S"].removeprefix("/")] += 1
            if "/K" in element:
                walk(element["/K"])

    walk(reader(pdf).trailer["/Root"]["/StructTreeRoot"])
    return found
