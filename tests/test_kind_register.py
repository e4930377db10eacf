"""What each layer keeps by kind of part, in one list: a kind that lacks an entry is named here.

A layer that rightly knows nothing of a kind says so beside it; an excuse that is no longer true fails too.
"""

from collections.abc import Callable
from typing import NamedTuple

import pytest

from inventory.decoding.scoring import KIND_PRIOR
from inventory.pages.part_drawing import OTHER, shape
from inventory.sheets.specs import kind_of
from inventory.spec import KINDS, UNITS, Spec
from inventory.spec.kinds import KINDS as ENTRIES
from inventory.type_numbers.facts import _READERS as FACTS_BY_NUMBER
from inventory.type_numbers.normaliser import _READERS as NUMBERS
from repairs.planning.combination import RATINGS
from repairs.proving.methods import methods_for
from tests.planning.test_candidates import FACTS

KEYED = frozenset(("connector", "socket", "switch", "lamp", "transformer", "crystal", "inductor", "other"))


class Layer(NamedTuple):
    """Where a layer keeps its entry, how to tell that a kind has one, and the kinds that need none."""

    where: str
    has: Callable[[str], bool]
    without: frozenset[str] = frozenset()


LAYERS = (
    Layer("inventory/spec/kinds/ (rules)", lambda kind: bool(ENTRIES[kind].rules)),
    Layer("inventory/spec/kinds/ (noun)", lambda kind: bool(ENTRIES[kind].noun), frozenset(("other",))),
    Layer("inventory/part_words/kind_words.py", lambda kind: kind_of(kind.upper()) == kind),
    Layer(
        "inventory/type_numbers/normaliser.py _READERS",
        lambda kind: kind in NUMBERS,
        KEYED | {"resistor", "capacitor", "fuse", "thermistor"},
    ),
    Layer(
        "inventory/type_numbers/facts.py _READERS",
        lambda kind: kind in FACTS_BY_NUMBER,
        KEYED | {"resistor", "capacitor", "thermistor"},
    ),
    Layer(
        "inventory/decoding/scoring.py KIND_PRIOR",
        lambda kind: kind in KIND_PRIOR,
        frozenset(KINDS) - (UNITS.keys() - {"thermistor"}),  # read by a type number, or not at all
    ),
    Layer(
        "inventory/pages/part_drawing.py _BY_KIND",
        lambda kind: shape(Spec(kind)) != OTHER,
        frozenset(("other",)),
    ),
    Layer(
        "repairs/planning/combination.py RATINGS",
        lambda kind: kind in RATINGS,
        frozenset(KINDS) - {"resistor", "capacitor", "inductor"},  # of what else is nothing made up
    ),
    Layer("repairs/proving/methods.py METHODS", lambda kind: bool(methods_for(Spec(kind)))),
    Layer("tests/planning/test_candidates.py FACTS", lambda kind: kind in FACTS),
)


@pytest.mark.parametrize("layer", LAYERS, ids=lambda layer: layer.where)
def test_every_layer_knows_every_kind_or_says_why_not(layer: Layer) -> None:
    missing = [kind for kind in KINDS if not layer.has(kind) and kind not in layer.without]
    assert not missing, f"{layer.where} lacks {', '.join(missing)}"
    known = [kind for kind in layer.without if layer.has(kind)]
    assert not known, f"{layer.where} knows {', '.join(known)}: take them out of the excuses"
