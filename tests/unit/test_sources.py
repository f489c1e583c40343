"""The table of sources is whole, and says so when it is not."""

from __future__ import annotations

import pytest

from steamwright.errors import SourceError
from steamwright.sources import HowKnown, load_sources, read_sources, source

ROW = 'kind = "standard"\ntitle = "t"\nedition = "1"\nhow_known = "text"\nnote = "n"\n'


def test_the_table_that_ships() -> None:
    assert len(load_sources()) > 50
    assert source("ASTM-E96").how_known is HowKnown.QUOTED


def test_unknown_key() -> None:
    with pytest.raises(SourceError, match="ASTM-X1"):
        source("ASTM-X1")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[a\n", "cannot be read"),
        ("[b]\n" + ROW + "[a]\n" + ROW, "alphabetical"),
        ("[a]\n" + ROW.replace('note = "n"\n', ""), "exactly"),
        ("[a]\n" + ROW + 'colour = "x"\n', "exactly"),
        ("[a]\n" + ROW.replace('"n"', '" "'), "exactly"),
        ("[a]\n" + ROW.replace('"text"', '"rumour"'), "how it is known"),
        ("[a]\n" + ROW.replace('"standard"', '"blog"'), "kind"),
        ("a = 1\n", "exactly"),
        ("[a]\n" + ROW + "[a]\n" + ROW, "cannot be read"),
    ],
)
def test_faults_of_a_table(text: str, words: str) -> None:
    with pytest.raises(SourceError, match=words):
        read_sources(text)
