"""The short form of the voice bench: 150 utterances in synthetic voices, clean and in noise. A command has the long."""

import shutil
from contextlib import closing
from pathlib import Path

import pytest

from tests.voice.spoken_files import need_speech

COUNT = 150


def test_nothing_wrong_is_taken_unasked_and_most_is_right_on_first_saying(tmp_path: Path) -> None:
    """The floors of `python -m tests.bench.voice`, where 150 utterances can tell; the shares a few points lower, since
    one utterance in thirty is three per cent."""
    need_speech()
    for program in ("espeak-ng", "flite", "text2wave"):
        if not shutil.which(program):
            pytest.skip(f"{program} is not installed (Debian: espeak-ng flite festival festvox-us-slt-hts)")
    from seasonlog.voice.engines import ready
    from tests.bench.voice import report
    from tests.bench.voice.__main__ import sayings, spread
    from tests.bench.voice.trial import Bench

    with closing(Bench(ready.recogniser({}), tmp_path)) as bench:
        results = [bench.once(each)[0] for each in sayings(bench, spread(steady=True), COUNT, "short")]
    table = "\n".join(report.tables(results))
    wrong = [(r.saying, r.heard) for r in results if r.tier == "taken" and not r.is_right]
    assert wrong == [], table
    said = [r for r in results if r.saying.utterance.raw is not None]
    natural = [r for r in said if r.saying.voice.family == "piper" and r.saying.snr_db in (None, 20, 10)]
    assert len(natural) > 20
    assert sum(r.is_right for r in natural) / len(natural) >= 0.88, table
    clean = [r for r in said if r.saying.snr_db is None]
    assert sum(r.is_right for r in clean) / len(clean) >= 0.84, table
    quiet = [r for r in natural if r.saying.snr_db != 10]
    assert sum(r.tier == "taken" for r in quiet) / len(quiet) >= 0.45, table
