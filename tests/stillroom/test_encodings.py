"""In which encoding a file is written: the same words in each that has their letters, against Python's own codecs."""

from __future__ import annotations

from pathlib import Path

import pytest

from stillroom.looking.encodings import OF_ONE_BYTE, encoding_of
from stillroom.objects import SourceFile

WORDS = {
    "French": "Cocktail;Ingrédient;Quantité\nAigre d'été;crème brûlée;1\nÀ côté;CAFÉ;2\n",
    "German": "Menge;Stück;Käse\nGrüner Süßstoff;Öl;5 %\nÜbel;GRÖSSE\n",
    "Polish": "Składnik;Ilość\nżółć;gołąb\nśliwka;świeża\nŁosoś;ćma\n",
    "Czech": "Příprava;Množství\nšípkový;čaj\nŘasa\n",
    "Danish": "Mængde;Ærø\nØl;smørrebrød;å\n",
    "Spanish": "Piña;¿Qué?;año 2ª\nñora;1º\n",
    "Portuguese": "Preço;açúcar\nlimão;nº 5\n",
    "one word": "Preis;Käse\n",
}


def _written(folder: Path, content: bytes) -> SourceFile:
    path = folder / "t.csv"
    path.write_bytes(content)
    return SourceFile(path=path, name="t.csv")


@pytest.mark.parametrize("language", WORDS)
def test_words_are_read_as_they_were_written(tmp_path: Path, language: str) -> None:
    text = WORDS[language]
    tried = 0
    for encoding in OF_ONE_BYTE:
        try:
            content = text.encode(encoding)
        except UnicodeEncodeError:
            continue
        found = encoding_of(_written(tmp_path, content))
        assert found is not None, encoding
        assert content.decode(found) == text, encoding
        tried += 1
    assert tried > 0


@pytest.mark.parametrize(("text", "encoding"), [("Продукт;Цена\nджин;20\n", "cp1251"), ("Προϊόν;Τιμή\n", "cp1253")])
def test_letters_of_other_alphabets_are_none_that_is_told(tmp_path: Path, text: str, encoding: str) -> None:
    assert encoding_of(_written(tmp_path, text.encode(encoding))) is None
