"""The README's pictures show what the program shows, and say it to those who can't see them."""

from __future__ import annotations

import re

from tests.pictures import FOLDER, drawn

README = (FOLDER.parent / "README.md").read_text(encoding="utf-8")


def test_the_pictures_are_what_the_program_draws():
    """Drawn anew they are the same to the byte; ``python -m tests.pictures`` writes them."""
    kept = {path.name: path.read_text(encoding="utf-8") for path in FOLDER.glob("*.svg")}
    assert drawn() == kept


def test_nothing_in_a_picture_comes_from_the_network():
    """No font, script or image is fetched by whoever looks at the README."""
    for path in FOLDER.glob("*.svg"):
        places = re.findall(r"https?://[^\"\s)]+", path.read_text(encoding="utf-8"))
        assert set(places) == {"http://www.w3.org/2000/svg"}


def test_each_picture_stands_in_the_readme_in_words_too():
    """Both grounds are named, and the alternative text is a sentence."""
    for path in FOLDER.glob("*.svg"):
        assert f".pictures/{path.name}" in README
    texts = re.findall(r"<img [^>]*alt=\"([^\"]*)\"", README)
    assert len(texts) == len(list(FOLDER.glob("*-light.svg")))
    assert all(len(text) > 60 for text in texts)
