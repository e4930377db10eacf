"""The rules know nothing of Django: they can be read, tested and used by themselves."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_the_rules_import_without_django() -> None:
    names = sorted(
        path.stem for path in (ROOT / "repairs" / "proving").glob("*.py") if path.stem != "__init__"
    )
    modules = [*(f"repairs.proving.{name}" for name in names), "inventory.design_facts"]
    lines = "; ".join(f"import {name}" for name in modules)
    code = f"{lines}; import sys; print(sorted(m for m in sys.modules if m.partition('.')[0] == 'django'))"
    answer = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert len(names) > 15
    assert answer.stdout.strip() == "[]"
