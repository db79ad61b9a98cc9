"""Words of the register and the log, held against how the shipped checklists' own titles write them."""

import pytest

from seasonlog.domain.plain_words import counted, entries, photos, plain
from seasonlog.services import checklists


@pytest.mark.parametrize("name", checklists.shipped())
def test_a_checklist_is_called_as_its_title_writes_it(name):
    assert checklists.shipped()[name].title.lower().startswith(plain(name))


def test_words_of_the_register_lose_their_underscores():
    assert [plain(word) for word in ("heated_basin", "cut_in", "run_wet")] == ["heated basin", "cut-in", "run wet"]


def test_one_is_not_several():
    counts = [counted(n, "entry", "entries") for n in (0, 1, 2)]
    assert counts == ["0 entries", "1 entry", "2 entries"]


def test_what_a_log_holds_is_counted_as_people_say_it():
    assert [entries(1), entries(12), photos(1), photos(2)] == [
        "1 entry", "12 entries", "1 photo or clip", "2 photos and clips",
    ]  # fmt: skip
