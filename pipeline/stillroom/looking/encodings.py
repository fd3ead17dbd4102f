"""In which encoding a file of text is written, told from its bytes and from what its words then look like."""

from __future__ import annotations

import codecs
import re
from collections import Counter
from collections.abc import Iterator
from typing import Final

from stillroom.objects import SourceFile
from stillroom.reading.containers import opened

BLOCK_BYTES: Final = 2**20
START_BYTES: Final = 2**12
STRANGE: Final = re.compile("[\udc80-\udcff]")  # how Python hands over bytes that are no UTF-8
BEYOND_ASCII: Final = re.compile(r"[^\x00-\x7f]")
OF_ONE_BYTE: Final = ("cp1252", "cp1250", "mac_roman", "cp850")
"""Encodings of a byte a letter, the likeliest first: of Windows (west and middle of Europe), old Macintoshes, DOS."""
TO_BE_NAMED: Final = (*OF_ONE_BYTE, "utf-16-le", "utf-16-be")
"""Encodings that no mark in the file tells the reader."""
ALPHABETS: Final = tuple(
    frozenset(letters)
    for letters in (
        *("äöüß", "àâæçéèêëîïôœùûüÿ", "áéíñóúüçàèïò", "àèéìíîòóùú", "áâãàçéêíóôõúü", "éëïöüèêáóí", "æøåéäöü", "åäöéü"),
        *(
            "ąćęłńóśźż",
            "áčďéěíňóřšťúůýž",
            "áäčďéíĺľňóôŕšťúýž",
            "áéíóöőúüű",
            "ăâîșțşţ",
            "çğıöşüâîû",
            "čćđšž",
            "àçèéíïòóúü·",
        ),
    )
)
"""Small letters beyond ASCII of languages that are read, and of their neighbours: German, French, Spanish and so on."""
AFTER_LETTERS: Final = frozenset("’‘”»…™®©²³ºª°–—·½%")
BEFORE_LETTERS: Final = frozenset("’‘“„«¿¡–—€£§µ…½×·")
BETWEEN_LETTERS: Final = frozenset("’‘–—·")
ORDINALS: Final = "ªº"
WORD: Final = re.compile(r"[^\W\d_]*[^\W\d_a-zA-Zªº][^\W\d_]*")
"""A word with a letter beyond ASCII."""
MOST_ODD: Final = 0.5  # share of odd characters above which a text is none
MOST_OF_A_WORD: Final = 0.5  # share of letters beyond ASCII above which a text is of no such language


def encoding_of(file: SourceFile) -> str | None:
    """'utf-8', 'utf-16' (with its two orders, where no mark tells them) or one of `OF_ONE_BYTE`; None where none fits.

    A file with more letters in UTF-8 than bytes that are not is UTF-8 and damaged: no other reading is offered.

    Raises:
        FileRefused: the file cannot be opened or unpacked.
    """
    with opened(file) as stream:
        start = stream.read(START_BYTES)
    if start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    for encoding, empty, full in (("utf-16-le", start[1::2], start[::2]), ("utf-16-be", start[::2], start[1::2])):
        if empty.count(0) > len(empty) / 2 and min(full, default=0) >= ord("\t"):  # no smaller one stands in a text
            return encoding
    letters, strange = _letters_of_utf8(file)
    if letters >= strange:
        return "utf-8"
    odd = {encoding: how_odd for encoding in OF_ONE_BYTE if (how_odd := _how_odd(file, encoding)) is not None}
    return min(odd, key=lambda encoding: odd[encoding], default=None)


def _letters_of_utf8(file: SourceFile) -> tuple[int, int]:
    """How many letters beyond ASCII there are as UTF-8, and how many bytes that are none."""
    decoder = codecs.getincrementaldecoder("utf-8")("surrogateescape")
    letters = strange = 0
    for text in _decoded(file, decoder):
        if not text.isascii():
            some = len(STRANGE.findall(text))
            letters, strange = letters + len(BEYOND_ASCII.findall(text)) - some, strange + some
    return letters, strange


def _decoded(file: SourceFile, decoder: codecs.IncrementalDecoder) -> Iterator[str]:
    with opened(file) as stream:
        while block := stream.read(BLOCK_BYTES):
            yield decoder.decode(block)
        yield decoder.decode(b"", final=True)


def _how_odd(file: SourceFile, encoding: str) -> int | None:
    """How many characters look odd where they stand, read so; None where it cannot be read so, or is no such language.

    Odd are a sign inside a word, a capital after small letters, and letters that no one language has together.
    """
    odd = within = signs = 0
    beyond: Counter[str] = Counter()
    try:
        for text in _decoded(file, codecs.getincrementaldecoder(encoding)()):
            places = [found.start() for found in BEYOND_ASCII.finditer(text)]
            signs, odd = signs + len(places), odd + sum(_is_odd(text, place) for place in places)
            for word in WORD.findall(text):
                within += len(word)
                beyond.update(letter for letter in word.lower() if not letter.isascii())
    except UnicodeDecodeError:
        return None
    if beyond.total() > MOST_OF_A_WORD * within and beyond.total() > 1:
        return None
    odd += min(sum(n for letter, n in beyond.items() if letter not in letters) for letters in ALPHABETS)
    return odd if odd <= MOST_ODD * signs else None


def _is_odd(text: str, place: int) -> bool:
    """Whether a character beyond ASCII is one that no word has there.

    >>> [_is_odd(*one) for one in (("thé", 2), ("dm³", 2), ("thŽ", 2), ("go³b", 2), ("th‚", 2), ("kŠse", 1))]
    [False, False, True, True, True, True]
    """
    letter = text[place : place + 1]
    before, after = text[place - 1 : place] if place else "", text[place + 1 : place + 2]
    if letter.isalpha() and letter not in ORDINALS:
        if letter.isupper():
            return before.isalpha() and (before.islower() or after.islower())
        return letter != "ß" and before.isupper() and after.isupper()
    if before.isalpha() and after.isalpha():
        return letter not in BETWEEN_LETTERS
    if before.isalpha():
        return letter not in AFTER_LETTERS
    return after.isalpha() and letter not in BEFORE_LETTERS
