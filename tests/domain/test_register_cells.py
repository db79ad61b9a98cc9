"""Text in spreadsheet cells: no formula gets out, every text comes back."""

from hypothesis import given, settings
from hypothesis import strategies as st

from seasonlog.domain.register_cells import as_typed, neutralised

_LIKE_FORMULAS = st.text(st.sampled_from("'=+-@\t\r\n\0\uff1d\uff0b\uff0d\uff20a\" ,;"), max_size=8)


@settings(max_examples=1000)
@given(st.one_of(st.text(), _LIKE_FORMULAS))
def test_every_text_comes_back(text):
    assert as_typed(neutralised(text)) == text


@settings(max_examples=500)
@given(_LIKE_FORMULAS)
def test_no_cell_begins_like_a_formula(text):
    """OWASP, CSV injection: none of = + - @, tab, carriage return, line feed, full-width forms at the start."""
    assert not neutralised(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n", "\0", "\uff1d", "\uff0b"))


def test_an_apostrophe_somebody_typed_stays():
    assert as_typed("'tis") == "'tis"
    assert as_typed("'=1") == "=1"
    assert neutralised("12 V") == "12 V"
