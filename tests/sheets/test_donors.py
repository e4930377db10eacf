"""Surveys of boards that came in."""

import pytest

from inventory import boards, ledger
from inventory.ledger import Spot
from inventory.models import Board, Design, Lot, Movement, Place
from inventory.spec import Spec
from inventory.traces import trace_lot
from repairs import reservations
from tests.factories import BoardFactory, DesignFactory, NeedFactory, PlaceFactory, spec, stock
from tests.sheets.importing import book_of, counts, held, refused, take_in

pytestmark = pytest.mark.django_db

ONE = {"Board": "Plover donor 1", "Design": "Plover", "Revision": "A", "Purpose": "donor"}


@pytest.fixture(autouse=True)
def plover() -> Design:
    positions = {f"R{n}": spec("resistor", "4k7") for n in range(1, 5)} | {
        "IC1": Spec(kind="ic", number="2114")
    }
    return DesignFactory(name="Plover", revision="A", positions=positions)


def piece(ref: str) -> Lot:
    return Lot.objects.get(origin_board__name="Plover donor 1", origin_ref=ref)


def survey(*rows: dict[str, str]) -> object:
    return book_of(*(ONE | row for row in rows))


def test_pieces_that_are_there_come_in_at_their_positions() -> None:
    report = take_in(
        survey({"Ref": "R1-R3", "State": "there"}, {"Ref": "IC1", "Marking": "D2114", "Make": "Intel"}),
        "donor",
    )
    assert counts(report) == (2, 0, 0)
    assert report.notes[0] == "Board registered: Plover donor 1."
    assert held(piece("R2")) == {"Plover donor 1 R2": 1}
    chip = piece("IC1")
    assert (chip.marking, chip.part.spec.make, chip.part.spec.number) == ("D2114", "Intel", "2114")
    assert not Lot.objects.filter(origin_ref="R4").exists()


def test_a_lifted_piece_is_where_it_was_put_and_keeps_where_it_came_from() -> None:
    take_in(survey({"Ref": "R1, R2", "State": "lifted", "To": "Tray 1", "Condition": "good"}), "donor")
    lot = piece("R1")
    assert held(lot) == {"Tray 1": 1}
    assert lot.condition == "good"
    assert [line.kind for line in trace_lot(lot).movements] == ["receive", "lift"]


def test_a_piece_that_is_gone_is_on_record_with_none_left() -> None:
    take_in(survey({"Ref": "IC1", "State": "gone", "Note": "empty socket"}), "donor")
    lot = piece("IC1")
    assert held(lot) == {}
    assert lot.note == "empty socket"
    board = Board.objects.get()
    assert boards.survey(board, by=None) == 4  # nobody enters it again


def test_all_is_every_position_that_no_other_row_names() -> None:
    report = take_in(
        survey(
            {"Ref": "all"}, {"Ref": "IC1", "State": "gone"}, {"Ref": "R4", "State": "lifted", "To": "Tray 1"}
        ),
        "donor",
    )
    assert counts(report) == (3, 0, 0)
    assert held(piece("R3")) == {"Plover donor 1 R3": 1}
    assert held(piece("IC1")) == {}
    assert held(piece("R4")) == {"Tray 1": 1}


def test_a_row_without_references_registers_the_board_alone() -> None:
    report = take_in(
        book_of({"Board": "Works", "Design": "Plover", "Revision": "A", "Purpose": "working"}), "donor"
    )
    assert counts(report) == (1, 0, 0)
    assert (Board.objects.get().purpose, Lot.objects.count()) == ("working", 0)


def test_a_board_of_no_known_design_takes_rows_that_say_what_is_there() -> None:
    row = {"Board": "No drawing", "Ref": "C1, C2", "Kind": "capacitor", "Value": "100n", "Volts": "63"}
    assert counts(take_in(book_of(row), "donor")) == (1, 0, 0)
    assert Lot.objects.get(origin_ref="C2").part.spec.spec.text == "100n 63 V capacitor"
    assert counts(take_in(book_of(row), "donor")) == (0, 0, 1)


def test_the_same_survey_again_changes_nothing() -> None:
    file = survey(
        {"Ref": "R1, R2", "State": "there", "Condition": "good"},
        {"Ref": "R3", "State": "lifted", "To": "Tray 1"},
        {"Ref": "IC1", "State": "gone"},
    )
    take_in(file, "donor")
    movements = Movement.objects.count()
    assert counts(take_in(file, "donor")) == (0, 0, 3)
    assert Movement.objects.count() == movements


def test_a_preview_of_a_survey_keeps_nothing() -> None:
    report = take_in(survey({"Ref": "all"}), "donor", dry_run=True)
    assert counts(report) == (1, 0, 0)
    assert not Board.objects.exists()
    assert not Place.objects.filter(type="board").exists()


def test_pieces_that_were_lifted_or_lost_since_are_booked() -> None:
    take_in(survey({"Ref": "all"}), "donor")
    report = take_in(
        survey(
            {"Ref": "R1", "State": "lifted", "To": "Tray 1"}, {"Ref": "R2", "State": "gone"}, {"Ref": "R3"}
        ),
        "donor",
    )
    assert counts(report) == (0, 2, 1)
    assert (held(piece("R1")), held(piece("R2"))) == ({"Tray 1": 1}, {})


def test_a_piece_that_was_thought_gone_is_found_again() -> None:
    take_in(survey({"Ref": "R1", "State": "gone"}), "donor")
    assert counts(take_in(survey({"Ref": "R1", "State": "there"}), "donor")) == (0, 1, 0)
    assert held(piece("R1")) == {"Plover donor 1 R1": 1}


def test_a_survey_adds_to_what_is_known_and_overwrites_nothing() -> None:
    take_in(survey({"Ref": "R1, R2, IC1"}), "donor")
    Lot.objects.filter(origin_ref="R2").update(condition="faulty", marking="seen")
    report = take_in(
        survey(
            {"Ref": "R1, R2", "Condition": "good", "Marking": "yellow violet red gold"},
            {"Ref": "IC1", "Make": "Intel"},
        ),
        "donor",
    )
    assert counts(report) == (0, 2, 0)
    assert (piece("R1").condition, piece("R1").marking) == ("good", "yellow violet red gold")
    assert (piece("R2").condition, piece("R2").marking) == ("faulty", "seen")
    assert piece("IC1").part.spec.make == "Intel"
    assert any("1 piece is known otherwise" in note for note in report.notes)


def test_a_promise_on_a_donor_keeps_the_piece_from_being_called_faulty_by_a_survey() -> None:
    take_in(survey({"Ref": "R1"}), "donor")
    need = NeedFactory(of=spec("resistor", "4k7"))
    reservations.reserve(need, piece("R1").holdings.get(), 1, by=None)
    (bad,) = refused(survey({"Ref": "R1", "Condition": "faulty"}), "donor")
    assert "promised" in bad.detail


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ({"Board": "", "Ref": "R1"}, "Board"),
        ({"Board": "x" * 121, "Ref": "R1"}, "Board"),
        ({"Board": "Tray 9", "Ref": "R1"}, "Board"),
        ({"Design": "Plovr", "Ref": "R1"}, "Design"),
        ({"Design": "", "Ref": "R1"}, "Design"),
        ({"Revision": "Z", "Ref": "R1"}, "Design"),
        ({"Purpose": "hat stand", "Ref": "R1"}, "Purpose"),
        ({"Ref": "R99"}, "Ref"),
        ({"Ref": "R4-R1"}, "Ref"),
        ({"Ref": "", "State": "there"}, "Ref"),
        ({"Ref": "R1", "State": "asleep"}, "State"),
        ({"Ref": "R1", "Condition": "asleep"}, "Condition"),
        ({"Ref": "R1", "State": "lifted"}, "To"),
        ({"Ref": "R1", "State": "lifted", "To": "Plover donor 0"}, "To"),
        ({"Ref": "R1", "Marking": "x" * 201}, "Marking"),
        ({"Ref": "R1", "Value": "lots"}, "Value"),
    ],
)
def test_a_bad_cell_in_a_survey_is_named(row: dict[str, str], column: str) -> None:
    PlaceFactory(name="Tray 9")
    BoardFactory(name="Plover donor 0")
    (bad,) = refused(survey({"Ref": "IC1"}, row), "donor")
    assert (bad.row, bad.column) == (3, column)
    assert bad.detail


def test_a_reference_in_two_rows_of_one_board_is_refused() -> None:
    (bad,) = refused(survey({"Ref": "R1-R3"}, {"Ref": "R2"}), "donor")
    assert (bad.row, bad.column) == (3, "Ref")


def test_all_of_one_board_twice_is_refused() -> None:
    (bad,) = refused(survey({"Ref": "all"}, {"Ref": "ALL"}), "donor")
    assert (bad.row, bad.column) == (3, "Ref")


def test_two_designs_or_purposes_for_one_board_are_refused() -> None:
    DesignFactory(name="Curlew", revision="A", positions={"R9": spec("resistor", "1k")})
    errors = refused(survey({"Ref": "R1"}, {"Ref": "R2", "Design": "Curlew", "Purpose": "working"}), "donor")
    assert {(bad.row, bad.column) for bad in errors} == {(3, "Design"), (3, "Purpose")}


def test_a_piece_that_is_elsewhere_cannot_be_there() -> None:
    take_in(survey({"Ref": "R1", "State": "lifted", "To": "Tray 1"}), "donor")
    (bad,) = refused(survey({"Ref": "R1", "State": "there"}), "donor")
    assert bad.column == "State"
    assert "is in Tray 1 now" in bad.detail


def test_a_position_that_holds_another_piece_is_named() -> None:
    board = BoardFactory(name="Plover donor 1", design=Design.objects.get(), purpose="under_repair")
    new = stock()
    ledger.fit(new.lot, Spot(new.place_id), board, "R1", by=None)
    (bad,) = refused(book_of(ONE | {"Purpose": "", "Ref": "R1", "State": "there"}), "donor")
    assert "came from elsewhere" in bad.detail


def test_a_working_board_gives_nothing_away() -> None:
    (bad,) = refused(survey({"Ref": "R1", "State": "lifted", "To": "Tray 1", "Purpose": "working"}), "donor")
    assert bad.column == "State"
    assert "borrow" in bad.detail


def test_a_board_without_a_drawing_is_given_one() -> None:
    BoardFactory(name="Plover donor 1")
    assert counts(take_in(survey({"Ref": "R1"}), "donor")) == (1, 0, 0)
    assert Board.objects.get().design == Design.objects.get()
