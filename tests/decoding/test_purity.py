"""The decoder is a library: it needs no Django, no settings, no file and no clock."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from inventory.decoding import Question, decode

ROOT = Path(__file__).parents[2]
PROGRAM = """
import sys
from inventory.decoding import Question, decode
assert decode(Question(marking="104K 100V 8213")).readings
print(sorted(name for name in sys.modules if name.split(".")[0] in ("django", "rest_framework", "config")))
"""


def test_the_decoder_runs_without_django() -> None:
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM], cwd=ROOT, capture_output=True, text=True, check=False, timeout=60
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "[]"


def test_the_same_question_always_gets_the_same_answer() -> None:
    question = Question(marking="4?7", body="0805")
    assert decode(question) == decode(question)
