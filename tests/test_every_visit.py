"""Every shipped checklist on every sample tower: a healthy one can be signed off, nothing asked cannot be proven."""

from pathlib import Path

import pytest

from seasonlog.services import checklists, closing
from tests.builders import a_book, a_visit, answered, sample_register

UNKNOWABLE = {("ULV-2", "float_lead_a_volts"), ("ULV-2", "float_lead_b_volts")}
"""The register does not say which leg ULV-2's float breaks: nothing can be judged by it until somebody finds out."""


@pytest.mark.parametrize("checklist", sorted(checklists.shipped()))
def test_a_healthy_tower_passes(tmp_path: Path, checklist: str) -> None:
    with a_book(tmp_path) as book:
        for tower in sample_register().towers:
            at = answered(book, a_visit(book, tower, checklist))
            weak = [i for i in at.instances if i.step.required and not at.answers[i.key].is_good]
            weak = [i for i in weak if not at.answers[i.key].is_skipped]
            assert {(tower, i.step.id) for i in weak} <= UNKNOWABLE, at.answers[weak[0].key]
            assert closing.sign_off(book, at, closing.NOT_AVAILABLE).visit.state == "complete"
