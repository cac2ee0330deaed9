"""Order of characters on paper, against an independent implementation of the Unicode algorithm."""

from __future__ import annotations

import unicodedata

from bidi import get_display
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.bidi_text import visual

# letters, figures, signs and brackets of every class that a name may hold; no Arabic letter, which we join
MIXED = st.text(alphabet="ab 12()[]-+.,:/%\u05d0\u05d1\u05d2\u0661\u0662\u07d0", min_size=1, max_size=16)
MIRRORED = str.maketrans(")]", "([")


@settings(max_examples=1500)
@given(MIXED)
def test_order_is_that_of_the_unicode_algorithm(text: str):
    # python-bidi wraps the Rust crate unicode-bidi, which passes BidiCharacterTest of UAX 9; it mirrors nothing
    expected = get_display(text, base_dir="L")
    assert visual(text).translate(MIRRORED) == expected.translate(MIRRORED)


def test_brackets_of_a_right_to_left_run_are_mirrored():
    # UAX 9, rule L4
    assert visual("\u05d0 (\u05d1) \u05d2") == "\u05d2 (\u05d1) \u05d0"


def test_arabic_letters_are_joined():
    # seen, lam and alef (a ligature), meem: Unicode core specification, 9.2, tables 9-5 to 9-8
    assert visual("\u0633\u0644\u0627\u0645") == "\ufee1\ufefc\ufeb3"
    # a letter that joins to the right alone leaves the next one in its initial or isolated form
    assert visual("\u062f\u0627\u0631") == "\ufead\ufe8d\ufea9"


@given(st.text(alphabet="\u0628\u0633\u0644\u0627\u0645\u0631\u062f\u0647 ", max_size=12))
def test_joined_letters_are_the_letters_that_were_typed(text: str):
    # NFKC takes presentation forms back to plain letters (UAX 15)
    back = unicodedata.normalize("NFKC", visual(text)[::-1])
    assert sorted(back) == sorted(text)


def test_marks_stay_behind_their_letters():
    assert visual("\u05d1\u05bc\u05d0") == "\u05d0\u05d1\u05bc"
