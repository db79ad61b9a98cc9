"""How a visit ends is never guessed from a file: what is typed wrong or contradicts itself is refused."""

import pytest

from seasonlog.errors import InputRefusedError
from seasonlog.intake.answers_file import read_answers


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[sign_off]\nrecieved_by = "Oren"', "line 2, recieved_by: is not known in [sign_off]"),
        ('[close]\nas = "incomplete"\nbecuase = "x"', "is not known in [close]"),
        ('[close]\nbecause = "gate locked"', '"" is not an ending'),
        ("[close]", '"" is not an ending'),
        ('[close]\nas = "not_possible"', "needs a reason"),
        ('[sign_off]\n[close]\nas = "incomplete"\nbecause = "x"', "not both"),
        ('[sign_off]\nreceived_by = "declined"', "words"),
        ('[sign_off]\nreceived_by = " "', "is empty"),
        ('[answers]\nx = {skip = "  "}', "not both and not neither"),
        (f'[answers]\nx = {{value = "1", note = "{"n" * 2001}"}}', "2000 is the most"),
        (f'[answers]\nx = {{skip = "{"n" * 2001}"}}', "2000 is the most"),
        ('close = "x"', "must be a table"),
    ],
)
def test_an_ending_typed_wrong_is_refused(text: str, says: str) -> None:
    """Refused before anything is saved: exit code 3 says that nothing was written."""
    with pytest.raises(InputRefusedError) as refused:
        read_answers(text.encode(), "a.toml")
    assert any(says in str(problem) for problem in refused.value.problems)


def test_endings_as_they_should_be() -> None:
    signed = read_answers(b'[sign_off]\nreceived_by = "declined"\nwords = "no time"', "a.toml")
    assert (signed.received_by, signed.words, signed.close_as) == ("declined", "no time", "")
    assert read_answers(b"[sign_off]", "a.toml").received_by == "not available"
    closed = read_answers(b'[close]\nas = "not_possible"\nbecause = "gate locked"', "a.toml")
    assert (closed.received_by, closed.close_as, closed.close_because) == (None, "not_possible", "gate locked")
    kept = read_answers(b'[answers]\nbasin_clean = "yes"', "a.toml")
    assert (kept.received_by, kept.close_as, list(kept.answers)) == (None, "", ["basin_clean"])
