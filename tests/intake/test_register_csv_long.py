"""A million rows: read one by one, under 200 MB. Measured in a process of its own.

The peak is `VmHWM` of Linux, which begins anew with a program; `ru_maxrss` does not (getrusage(2)): it would start at
what the test run itself holds, and 256 MB of it were once taken for the reader's.
"""

import subprocess
import sys

import pytest

_READ = """
import io, sys
from seasonlog.intake.register_csv import records_of_csv
from seasonlog.intake.register_gathering import Gathering
sheet = io.BytesIO()
sheet.write(b"record,id,tower,what,point\\n")
for number in range(1_000_000):
    sheet.write(b"source,S%d,T1,%b,breaker 1\\n" % (number, sys.argv[1].encode()))
gathering, ticks = Gathering("r.csv"), []
found = sum(1 for _ in records_of_csv(sheet.getvalue(), gathering, lambda row, part: ticks.append(row)))
peak_kb = next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(found, len(gathering.problems()), len(ticks), peak_kb // 1024)
"""


@pytest.mark.long
@pytest.mark.parametrize(("word", "found", "problems"), [("fan", 1_000_000, 0), ("fun", 0, 1001)])
def test_a_million_rows_stay_under_200_megabytes(word, found, problems):
    done = subprocess.run([sys.executable, "-c", _READ, word], capture_output=True, text=True, check=True)
    told = [int(each) for each in done.stdout.split()]
    assert told[:3] == [found, problems, 1000]
    assert told[3] < 200
