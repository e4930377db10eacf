"""The fewest lifts, on few boards, in the order of the trade."""

import random
from collections.abc import Collection
from dataclasses import replace
from decimal import Decimal
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.spec import Fit, Spec
from repairs.planning import Allocation, Demand, Supply, Tier, plan
from repairs.planning.few_boards import few_boards
from repairs.planning.harvest import harvest
from repairs.planning.lifting import LiftStage, Piece, lifting_order, stage_of, worth_of
from repairs.planning.stocking import MAX_KEPT, OFTEN, Use, Wish, below_level, popular

R = Spec("resistor", value=4700 * 10**6, watts=Decimal("0.25"))
CHIP = Spec("ic", number="74LS04", lead_style="dip")
COIL = Spec("inductor", value=10**8)
BULK = Spec("capacitor", value=1000 * 10**9, volts=Decimal(25), dielectric="aluminium")
SAME = Fit("same", (), 0)


def on(board: str, *refs: str, spec: Spec = R, supply: object = "R") -> list[Piece]:
    return [Piece(f"{board} {ref}", supply, board, ref, spec) for ref in refs]


def takes(*wanted: tuple[object, object, int]) -> list[Allocation]:
    return [Allocation(demand, supply, quantity, Tier.DONOR, SAME) for demand, supply, quantity in wanted]


def wish(supply: str, pieces: int) -> Wish:
    return Wish(supply, pieces, "reorder", "")


def test_all_pieces_come_from_one_board_where_one_board_has_them_all() -> None:
    pieces = on("A", "R1", "R2") + on("B", "R1", "R2", "R3") + on("C", "R9")
    found = harvest(takes(("need", "R", 3)), pieces)
    assert [(work.board, [lift.piece.ref for lift in work.lifts]) for work in found.boards] == [
        ("B", ["R1", "R2", "R3"])
    ]


def test_a_board_that_the_others_make_needless_is_not_opened() -> None:
    # The greedy first choice, B with four, is covered by A and C together.
    pieces = [
        *on("B", "1", supply="p"), *on("B", "2", supply="q"),
        *on("B", "3", supply="r"), *on("B", "4", supply="s"),
        *on("A", "1", supply="p"), *on("A", "2", supply="q"), *on("A", "3", supply="t"),
        *on("C", "1", supply="r"), *on("C", "2", supply="s"), *on("C", "3", supply="u"),
    ]  # fmt: skip
    found = harvest(takes(*((supply, supply, 1) for supply in "pqrstu")), pieces)
    assert {work.board for work in found.boards} == {"A", "C"}


@given(
    st.dictionaries(st.sampled_from("pqrs"), st.integers(1, 3), min_size=1),
    st.dictionaries(
        st.sampled_from("ABCDE"), st.dictionaries(st.sampled_from("pqrs"), st.integers(1, 3), min_size=1)
    ),
)
@settings(max_examples=200, deadline=None)
def test_every_reachable_piece_is_lifted_once_and_no_board_is_needless(
    wanted: dict[str, int], boards: dict[str, dict[str, int]]
) -> None:
    pieces = [
        Piece((board, supply, n), supply, board, f"{supply}{n}", R)
        for board, held in boards.items()
        for supply, count in held.items()
        for n in range(count)
    ]
    found = harvest(takes(*((supply, supply, count) for supply, count in wanted.items())), pieces)
    lifted = [lift.piece for work in found.boards for lift in work.lifts]
    assert len({piece.id for piece in lifted}) == len(lifted)
    for supply, count in wanted.items():
        there = sum(held.get(supply, 0) for held in boards.values())
        got = sum(piece.supply == supply for piece in lifted)
        assert got == min(count, there)
        assert found.out_of_reach.get(supply, 0) == count - got
    opened = [work.board for work in found.boards]
    for fewer in combinations(opened, len(opened) - 1) if opened else ():
        assert any(
            sum(boards[board].get(supply, 0) for board in fewer)
            < sum(piece.supply == supply for piece in lifted)
            for supply in wanted
        )


@pytest.mark.parametrize("seed", range(300))
def test_no_fewer_boards_would_do(seed: int) -> None:
    """The referee tries every set of boards, the smaller first."""
    dice = random.Random(seed)
    supplies = [f"s{number}" for number in range(dice.randint(2, 10))]
    wanted = {supply: dice.randint(1, 4) for supply in supplies}
    boards = {
        board: {
            supply: dice.randint(1, 3)
            for supply in dice.sample(supplies, dice.randint(1, min(5, len(supplies))))
        }
        for board in range(dice.randint(2, 10))
    }
    there = {supply: sum(held.get(supply, 0) for held in boards.values()) for supply in supplies}

    def suffice(some: Collection[int]) -> bool:
        return all(
            sum(boards[board].get(supply, 0) for board in some) >= min(count, there[supply])
            for supply, count in wanted.items()
        )

    fewest = next(size for size in range(len(boards) + 1) if any(map(suffice, combinations(boards, size))))
    chosen = few_boards(wanted, boards)
    assert suffice(chosen)
    assert len(chosen) == fewest


def test_very_many_boards_are_answered_in_bounded_work() -> None:
    dice = random.Random(1)
    supplies = [f"s{number}" for number in range(300)]
    boards = {board: dict.fromkeys(dice.sample(supplies, 20), 1) for board in range(400)}
    chosen = few_boards(dict.fromkeys(supplies, 1), boards)
    assert {supply for board in chosen for supply in boards[board]} == {
        supply for held in boards.values() for supply in held
    }


def test_a_harvest_lifts_no_piece_that_a_drawer_can_spare() -> None:
    supplies = [Supply("drawer", R, 2, Tier.DRAWER), Supply("R", R, 5, Tier.DONOR)]
    result = plan([Demand("need", R, 3, "A")], supplies)
    found = harvest(result.takes, on("A", "R1", "R2", "R3", "R4", "R5"))
    assert [len(work.lifts) for work in found.boards] == [1]


def test_sockets_are_emptied_first_then_large_then_small_and_soldered_chips_last() -> None:
    pieces = [
        Piece(1, "s", "A", "U2", CHIP),
        Piece(2, "s", "A", "R1", R),
        Piece(3, "s", "A", "C1", BULK),
        Piece(4, "s", "A", "U1", CHIP, socketed=True),
    ]
    found = harvest(takes(("need", "s", 4)), pieces)
    assert [(lift.piece.ref, lift.stage) for lift in found.boards[0].lifts] == [
        ("U1", LiftStage.PULL),
        ("C1", LiftStage.LARGE),
        ("R1", LiftStage.SMALL),
        ("U2", LiftStage.CHIP),
    ]


def test_within_a_stage_one_works_down_and_across_the_board() -> None:
    at = {"R1": ("0.9", "0.9"), "R2": ("0.9", "0.1"), "R10": ("0.1", "0.1")}
    pieces = [Piece(ref, "R", "A", ref, R, x=Decimal(x), y=Decimal(y)) for ref, (x, y) in at.items()]
    pieces += on("A", "R12", "R3")
    assert [piece.ref for piece in sorted(pieces, key=lifting_order)] == ["R10", "R2", "R1", "R3", "R12"]


def test_what_the_drawers_lack_is_taken_along_where_the_iron_is_hot_anyway() -> None:
    pieces = on("A", "R1", "R2", "R3") + on("B", "R1") + on("A", "L1", spec=COIL, supply="coil")
    found = harvest(takes(("need", "R", 1)), pieces, wishes=[wish("R", 1), wish("coil", 5)])
    (work,) = found.boards
    assert [lift.piece.ref for lift in work.lifts] == ["R1"]
    assert [lift.piece.ref for lift in work.extras] == ["L1", "R2"]


def test_a_suspect_piece_is_not_taken_along() -> None:
    doubtful = Piece("doubtful", "R", "A", "R2", R, "suspect")
    found = harvest(takes(("need", "R", 1)), [*on("A", "R1"), doubtful], wishes=[wish("R", 1)])
    assert found.boards[0].extras == ()


def test_what_drawings_ask_for_often_and_the_drawers_lack_is_wished_for() -> None:
    coil = replace(COIL, value=10**9)
    left = [
        Supply("coil", COIL, 9, Tier.DONOR), Supply("other coil", coil, 9, Tier.DONOR),
        Supply("R", R, 9, Tier.DONOR), Supply("R here", R, 2, Tier.DRAWER),
    ]  # fmt: skip
    uses = [Use(COIL, OFTEN, 1), Use(R, OFTEN + 5, 20), Use(coil, OFTEN - 1, 3)]
    assert [(each.supply, each.pieces, each.because) for each in popular(uses, left)] == [
        ("R", MAX_KEPT - 2, "popular"),  # asked for at more positions; two of a handful are in a drawer
        ("coil", 1, "popular"),  # no board takes more than one
    ]
    assert "at 9 positions, 2 left" in next(popular(uses, left)).text


def test_of_like_pieces_the_better_grade_then_the_tested_are_wished_for() -> None:
    better = replace(R, watts=Decimal("0.5"))
    left = [
        Supply("a", better, 1, Tier.DONOR, "good"), Supply("b", R, 1, Tier.DONOR),
        Supply("c", R, 1, Tier.DONOR, "good"), Supply("d", R, 1, Tier.DONOR, "suspect"),
        Supply("e", R, 1, Tier.DONOR, blocked=True), Supply("f", R, 1, Tier.ON_ORDER),
    ]  # fmt: skip
    wished = [each.supply for each in popular([Use(R, OFTEN, 5)], left)]
    assert wished == ["c", "b", "a"]
    assert [each.supply for each in popular([Use(R, OFTEN, 5)], reversed(left))] == wished


def test_what_is_wished_for_already_counts() -> None:
    left = [Supply("R", R, 9, Tier.DONOR)]
    (reorder,) = below_level({"part": 3}, [("part", left[0])])
    assert (reorder.pieces, reorder.because, reorder.text) == (
        3,
        "reorder",
        "reorder at 3, 0 left in the drawers",
    )
    (more,) = popular([Use(R, OFTEN, 4)], left, [reorder])
    assert more.pieces == 1
    found = harvest(takes(("need", "R", 1)), on("A", *"123456"), wishes=[reorder, more])
    assert [lift.wish.because for lift in found.boards[0].extras if lift.wish] == ["reorder"] * 3 + [
        "popular"
    ]


def test_a_board_that_must_not_be_worked_on_is_left_alone() -> None:
    found = harvest(
        takes(("need", "R", 2)), on("oven", "R1", "R2") + on("A", "R1"), hazards={"oven": ["microwave"]}
    )
    assert [work.board for work in found.boards] == ["A"]
    assert {(piece.ref, caution.step) for piece, caution in found.blocked} == {
        ("R1", "microwave"),
        ("R2", "microwave"),
    }
    assert found.out_of_reach == {"R": 1}


def test_the_cautions_stand_at_the_board_where_they_matter() -> None:
    found = harvest(
        takes(("a", "R", 1), ("b", "bulk", 1)),
        on("A", "R1") + on("B", "C1", spec=BULK, supply="bulk"),
        hazards={"A": ["mains"]},
    )
    steps = {work.board: {caution.step for caution in work.cautions} for work in found.boards}
    assert steps == {
        "A": {"mains", "unsoldering", "soldering"},
        "B": {"stored_charge", "unsoldering", "soldering"},
    }


def test_boards_come_in_the_order_of_the_jobs_that_they_serve() -> None:
    pieces = on("A", "R1", supply="later") + on("B", "R1", supply="urgent")
    found = harvest(takes(("first", "urgent", 1), ("second", "later", 1)), pieces)
    assert [work.board for work in found.boards] == ["B", "A"]


def test_what_repays_the_heat_and_what_does_not() -> None:
    # Common practice, no source: coils, chips and power parts yes; small resistors and ceramics contested.
    def verdict(spec: Spec, condition: str = "untested") -> str:
        return worth_of(Piece(1, 1, "A", "X1", spec, condition)).verdict

    assert verdict(COIL) == verdict(CHIP) == verdict(Spec("crystal", value=4 * 10**9)) == "worth"
    assert verdict(Spec("resistor", value=10**7, watts=Decimal(5))) == "worth"
    assert verdict(R) == verdict(Spec("capacitor", value=10**8, dielectric="class2")) == "contested"
    assert verdict(BULK) == "usual"
    assert verdict(COIL, "faulty") == "no"
    assert (
        stage_of(Piece(1, 1, "A", "R1", Spec("resistor", value=10**7, watts=Decimal(5)))) == LiftStage.LARGE
    )
