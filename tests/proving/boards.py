"""Small boards for the checks, built from trade text."""

import csv
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

from inventory.design_facts import DesignFacts, read_design
from inventory.refs import parse_refs
from inventory.spec import Spec
from repairs.proving.fitted import FittedPiece

DESIGNS = Path(__file__).resolve().parents[2] / "fixtures" / "designs"


def design(name: str) -> DesignFacts:
    """A design of the demo workshop."""
    rows = csv.DictReader((DESIGNS / f"{name}.csv").open(encoding="utf-8"))
    refs = [ref for row in rows for ref in parse_refs(row["Ref"])]
    return read_design(json.loads((DESIGNS / f"{name}.json").read_text(encoding="utf-8")), refs)


def chip(
    ref: str, number: str, make: str = "", marking: str = "", lot: int = 1, **traits: Any
) -> FittedPiece:
    spec = Spec(kind="ic", number=number, make=make, package="dip24", lead_style="dip", traits=traits)
    return FittedPiece(ref, lot, spec, marking, "good")


def part(kind: str, **fields: Any) -> Spec:
    return Spec.from_dict({"kind": kind, **fields})


def volts(text: str) -> Decimal:
    return Decimal(text)
