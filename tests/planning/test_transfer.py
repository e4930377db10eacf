"""From a donor to a target of another revision: like for like, and what is left to find."""

import random
import time
from dataclasses import replace
from decimal import Decimal

import pytest

from inventory.spec import GRADES, Recorded, Spec, SubstitutionRecord, fits
from repairs.planning.lifting import Piece
from repairs.planning.network import Arc, Stock
from repairs.planning.transfer import PlannedTransfer, PositionToFill, transfer
from tests.examples import examples
from tests.planning.benches import FAMILIES
from tests.planning.referees import by_programming, objective

R = Spec(
    "resistor", value=4700 * 10**6, watts=Decimal("0.25"), tolerance_percent=Decimal(5), lead_style="axial"
)
R_ONE_WATT = replace(R, watts=Decimal(1))
R_OTHER = replace(R, value=5600 * 10**6)
CHIP = Spec("ic", number="74LS04", lead_style="dip")


def piece(ref: str, spec: Spec = R, condition: str = "untested") -> Piece:
    return Piece(ref, ref, "donor", ref, spec, condition)


def moves(found: PlannedTransfer) -> dict[str, str]:
    return {move.piece.ref: move.ref for move in found.moves}


def test_like_stays_at_its_reference_wherever_it_may() -> None:
    found = transfer([piece(f"R{n}") for n in (1, 2, 3)], [PositionToFill(f"R{n}", R) for n in (1, 2, 3)])
    assert moves(found) == {"R1": "R1", "R2": "R2", "R3": "R3"}
    assert all(move.same_reference and not move.substitute for move in found.moves)


def test_a_piece_whose_position_is_gone_moves_to_the_new_reference() -> None:
    found = transfer([piece("R1"), piece("R2")], [PositionToFill("R2", R), PositionToFill("R60", R)])
    assert moves(found) == {"R1": "R60", "R2": "R2"}


def test_a_piece_leaves_its_reference_where_another_position_would_stay_empty() -> None:
    found = transfer(
        [piece("R1", R_ONE_WATT), piece("R2")], [PositionToFill("R1", R), PositionToFill("R9", R_ONE_WATT)]
    )
    assert moves(found) == {"R1": "R9", "R2": "R1"}


def test_a_substitute_is_marked_with_its_note() -> None:
    found = transfer([piece("R1", R_ONE_WATT)], [PositionToFill("R1", R)])
    (move,) = found.moves
    assert move.substitute
    assert move.fit.grade == "with_note"


def test_what_the_donor_does_not_hold_must_be_found() -> None:
    found = transfer([piece("R1")], [PositionToFill("R1", R), PositionToFill("R2", R_ONE_WATT)])
    assert [(missing.ref, missing.spec) for missing in found.missing] == [("R2", R_ONE_WATT)]


def test_the_nearest_left_over_piece_is_named_at_the_empty_position() -> None:
    found = transfer([piece("R1")], [PositionToFill("R2", R_ONE_WATT)])
    assert [(miss.ref, fit.grade) for miss, fit in found.missing[0].refused] == [("R1", "no")]


def test_a_position_that_is_left_out_on_purpose_takes_nothing() -> None:
    found = transfer([piece("R1")], [PositionToFill("R1", R, empty="only where the later chip is fitted")])
    assert found.moves == ()
    assert found.missing == ()
    assert [target.ref for target in found.empty] == ["R1"]
    assert [left.ref for left in found.left_over] == ["R1"]


def test_a_faulty_piece_stays_and_a_suspect_one_is_named_for_a_test() -> None:
    found = transfer(
        [piece("R1", condition="faulty"), piece("R2", condition="suspect")], [PositionToFill("R1", R)]
    )
    assert found.moves == ()
    assert [(miss.ref, fit.grade) for miss, fit in found.missing[0].refused] == [("R2", "ask")]
    assert [left.ref for left in found.left_over] == ["R1", "R2"]


def test_the_work_list_is_in_lifting_order() -> None:
    found = transfer([piece("U1", CHIP), piece("R1")], [PositionToFill("U1", CHIP), PositionToFill("R1", R)])
    assert [move.piece.ref for move in found.moves] == ["R1", "U1"]


def test_a_substitution_refuted_at_a_position_is_not_planned_there() -> None:
    refuted = Recorded([SubstitutionRecord(1, R, R, "C", "R1", "refuted")])
    targets = [PositionToFill("R1", R, at=("C", "R1")), PositionToFill("R2", R, at=("C", "R2"))]
    found = transfer([piece("R1")], targets, recorded=refuted)
    assert moves(found) == {"R1": "R2"}


def test_one_reference_twice_is_refused() -> None:
    with pytest.raises(ValueError, match="R1: given twice"):
        transfer([piece("R1"), piece("R1")], [])


@pytest.mark.parametrize("seed", range(examples(50, 150)))
def test_no_transfer_found_by_programming_is_better_in_any_aim(seed: int) -> None:
    dice = random.Random(seed)
    pool = dice.sample(FAMILIES[0], 5) + dice.sample(FAMILIES[1], 3)
    pieces = [piece(f"X{n}", dice.choice(pool)) for n in dice.sample(range(14), 9)]
    targets = [PositionToFill(f"X{n}", dice.choice(pool)) for n in dice.sample(range(14), 9)]
    found = transfer(pieces, targets)

    place = {piece.ref: index for index, piece in enumerate(pieces)}
    drawn = [
        {place[move.piece.ref]: 1 for move in found.moves if move.ref == target.ref} for target in targets
    ]
    arcs = [
        [
            Arc(index, GRADES.index(fit.grade), fit.closeness + (10**5 if each.ref != target.ref else 0))
            for index, each in enumerate(pieces)
            for fit in [fits(target.spec, each.spec)]
            if fit.grade in GRADES[:3]
        ]
        for target in targets
    ]
    bench = [[(0, 1)] for _ in targets], [Stock(1, 0) for _ in pieces], arcs
    assert objective(*bench, drawn) == by_programming(*bench)


def test_three_hundred_positions_are_planned_within_half_a_second() -> None:
    dice = random.Random(5)
    pool = [replace(R, value=value * 10**6) for value in range(1000, 9000, 200)] + FAMILIES[0] + FAMILIES[1]
    pieces = [piece(f"X{n}", dice.choice(pool)) for n in range(300)]
    changed = {n: dice.choice(pool) for n in dice.sample(range(300), 60)}
    targets = [PositionToFill(f"X{n}", changed.get(n, piece.spec)) for n, piece in enumerate(pieces)]
    start = time.process_time()
    found = transfer(pieces, targets)
    assert time.process_time() - start < 0.5
    assert sum(move.same_reference for move in found.moves) > 200
