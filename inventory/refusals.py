"""Every code that a refusal may carry, each with the sentence that explains it, and what raises them.

A code is for programs and stable; what happened this time is the detail.  The OpenAPI document is made from
this register.  To add a code: a line here, in the fitting section, and a test that meets it.
"""

from collections.abc import Sequence
from enum import StrEnum
from typing import Any, Self


class Code(StrEnum):
    """The codes, by what is wrong.  `sentence` explains one to whoever writes a client."""

    sentence: str

    def __new__(cls, code: str, sentence: str) -> Self:
        member = str.__new__(cls, code)
        member._value_ = code
        member.sentence = sentence
        return member

    # --- what was sent
    INVALID = "invalid", "What was sent is not accepted; `errors` names each member, where and why."
    UNREADABLE = "unreadable", "It cannot be read as what it should be; the detail says what is."
    MALFORMED = (
        "malformed",
        "The marking or row of colours breaks the grammar; the detail says where.",
    )
    AMBIGUOUS = "ambiguous", "It can be read in several ways; the detail lists them: say which."
    REQUIRED = "required", "It is needed here and was not given."
    BLANK = "blank", "It is empty, and may not be."
    EMPTY = "empty", "The list or parameter is empty: leave it out, or give a value."
    NULL = "null", "It is null, and may not be."
    UNKNOWN = "unknown", "There is no such member, parameter or word; the detail lists the known ones."
    REPEATED = "repeated", "It is given twice, and may be given once."
    CONTRADICTION = "contradiction", "Two of the things given contradict each other."
    INVALID_CHOICE = "invalid_choice", "It is not one of the choices; the detail lists them."
    INCORRECT_TYPE = "incorrect_type", "It is of the wrong JSON type."
    NOT_A_LIST = "not_a_list", "A list is wanted."
    NOT_A_DICT = "not_a_dict", "An object is expected."
    DOES_NOT_EXIST = "does_not_exist", "No row has this id or reference."
    NOT_OF_KIND = "not_of_kind", "A part of this kind has no such property."
    OUT_OF_RANGE = "out_of_range", "The number, or the place on a picture, is outside the accepted range."
    MIN_VALUE = "min_value", "The number is below the minimum."
    MAX_VALUE = "max_value", "The number is above the maximum."
    MIN_LENGTH = "min_length", "It is too short."
    MAX_LENGTH = "max_length", "It is too long."
    MAX_DIGITS = "max_digits", "The number has too many digits."
    MAX_WHOLE_DIGITS = "max_whole_digits", "The number has too many digits before the decimal point."
    MAX_DECIMAL_PLACES = "max_decimal_places", "The number has too many digits after the decimal point."
    MAX_STRING_LENGTH = "max_string_length", "The number is written with too many characters."
    NULL_CHARACTERS_NOT_ALLOWED = "null_characters_not_allowed", "The text holds a NUL character."
    NO_NAME = "no_name", "The file was sent without a name."
    TOO_DEEP = "too_deep", "It would be nested too deep inside other places."
    TOO_MANY = "too_many", "Too many were given, or exist already."
    TOO_LARGE = "too_large", "The body, the file or the picture is too large."
    NOT_A_PICTURE = "not_a_picture", "The file is not a picture of an accepted kind."
    DAMAGED = "damaged", "The file is damaged: it cannot be read to its end."
    ANOTHER_KIND_OF_FILE = "another_kind_of_file", "The file is of a kind that is not accepted here."
    NEWER_FILE = (
        "newer_file",
        "A newer Rehome wrote the file: it is read there, or here once this one is newer.",
    )
    FALSE_SIGNATURE = (
        "false_signature",
        "The signature is not of this file: it was changed since, or another key signed it.",
    )
    NOT_SIGNED = (
        "not_signed",
        "The friend's key is kept, and the file is not signed by it.",
    )
    SIGNED_BY_ANOTHER = (
        "signed_by_another",
        "The file is signed by this bench, or by a friend other than the one who is named.",
    )
    PRIVATE_ADDRESS = (
        "private_address",
        "The address is in a private network, where webhooks are not sent unless it is allowed.",
    )
    BAD_CELLS = "bad_cells", "The sheet has bad cells; `errors` names each, and nothing was stored."
    KEY_REUSED = "key_reused", "The Idempotency-Key was used for another request: take a new one."

    # --- what changed meanwhile
    STALE = (
        "stale",
        "It was changed since it was read: read it again.",
    )
    GONE = "gone", "What it names was removed, or taken off that board, earlier."
    CURSOR_EXPIRED = (
        "cursor_expired",
        "The cursor is of before a restore or an update: read the list from the start.",
    )
    BUSY = "busy", "Others are writing: nothing was changed, try again."

    # --- what is on record already, or would be lost
    TAKEN = "taken", "Another row has this name, or this Spec, already."
    RECORDED_ALREADY = "recorded_already", "The same finding is on record already: change that one."
    RECEIVED_ALREADY = (
        "received_already",
        "The purchase was received: put right the lot that came.",
    )
    REVERSED_ALREADY = "reversed_already", "The movement was reversed before."
    WITHDRAWN_ALREADY = "withdrawn_already", "The exception was withdrawn before."
    LENT_ALREADY = "lent_already", "The piece of that position is out on loan already."
    KNOWN_PIECE = "known_piece", "The piece from that board position is on record: it is one lot for life."
    NEED_EXISTS = "need_exists", "The job has a need for that position already."
    IN_USE = "in_use", "It is kept because other records refer to it; the facts say which."
    KEPT_PLACE = "kept_place", "The bench itself needs this place: only its note can be changed."
    LOOP = "loop", "The place would be inside itself."
    BROKEN_RULE = "broken_rule", "A rule of the database refuses it; `rule` names the constraint."

    # --- pieces, and where they are
    NOT_ENOUGH = "not_enough", "More was asked for than is held or free there; `available` says how many are."
    NOT_PROMISED = "not_promised", "More was to be released than is reserved."
    NOT_HELD = "not_held", "The reservation was already fitted or released; `status` says which."
    PROMISED = "promised", "Pieces of it are reserved: release them first."
    POSITION_TAKEN = "position_taken", "The position on the board holds a piece already."
    EMPTY_POSITION = "empty_position", "Nothing is fitted at that position."
    UNKNOWN_POSITION = "unknown_position", "The board, or its design, has no such position."
    ONE_PIECE = "one_piece", "A position on a board takes, and gave, one piece."
    SEVERAL_PLACES = "several_places", "Each position of a board is a lot of its own: enter them one by one."
    SAME_PLACE = "same_place", "The pieces are there already."
    NOT_HERE = "not_here", "Places of this type are not made, or not put, here."
    OUTSIDE = "outside", "That is not a place to keep pieces in: scrap, lend or count them."
    A_BOARD = "a_board", "The place is a board: pieces come to it and from it by fit, lift and remove."
    NOT_A_BOARD = "not_a_board", "The place is not a board: it has no positions."
    NOT_A_PERSON = "not_a_person", "Pieces are lent to people, and that place is not a person."
    STILL_ON_A_BOARD = "still_on_a_board", "The piece is still on a board: lift it first."
    NOT_AT_HAND = "not_at_hand", "Pieces cannot be reserved from where these are."
    NOT_YOURS = (
        "not_yours",
        "It is somebody else's: ask them (`asks/`); `owner` says whom.",
    )
    NEEDS_NO_ASK = "needs_no_ask", "It is everybody's, or the job owner's own: it is reserved, not asked for."
    ASKED_ALREADY = "asked_already", "Its owner was asked for it and has not answered yet."
    ANSWERED_ALREADY = "answered_already", "It was answered or taken back before; `state` says which."
    FAULTY = "faulty", "The piece is faulty, or failed on a board: it is not reserved, fitted or given back."
    LOTS_DIFFER = "lots_differ", "Lots of another part, origin, condition or owner are not put together."
    BOUGHT = "bought", "The lot was bought as that part: reverse its receipt and enter what came."
    IS_A_REVERSAL = "is_a_reversal", "A reversal is not reversed: make the movement again."
    SCRAPPED_BOARD = "scrapped_board", "Nothing is fitted to a scrapped board."
    BLOCKED = "blocked", "Nothing is salvaged from such a thing: it can hurt or kill."

    # --- loans
    BORROW_NEEDED = "borrow_needed", "The board works: what is lifted from it is owed back; say `borrow`."
    NOT_A_WORKING_BOARD = "not_a_working_board", "Only a working board lends pieces or proves them."
    NOT_OWED = "not_owed", "More was returned than is owed; `available` says how many are."
    LOAN_CLOSED = (
        "loan_closed",
        "The loan was returned: nothing is owed on it.",
    )
    OPEN_LOAN = "open_loan", "A borrowed piece is still owed: return it, or one like it, first."
    LENDER_UNPROVEN = "lender_unproven", "The lender has not been shown to work since it got its piece back."

    # --- jobs, designs and plans
    JOB_CLOSED = "job_closed", "Only an open job is worked on."
    NO_DESIGN = "no_design", "There is no design, so what belongs where is unknown."
    NO_BOARD = "no_board", "It has no board, and one is needed."
    NEED_IS_MET = "need_is_met", "The need is met, or would have too many pieces; release or remove some."
    DOES_NOT_FIT = "does_not_fit", "The piece does not meet the requirement; `grade` and `reasons` say why."
    SAFETY_PART = "safety_part", "A safety part is replaced by its like, never by an ordinary one."
    SAME_BOARD = "same_board", "The donor is the board that is to be repaired."
    CAUSE_MISSING = "cause_missing", "A job is closed with its cause, or that none was found."
    SYMPTOM_MISSING = "symptom_missing", "A job is closed with what was wrong."
    TASKS_LEFT = "tasks_left", "Tasks of the job are still to do."
    NOT_A_TASK = "not_a_task", "Only a task is done or left; this is a note."
    NOT_ON_THE_LIST = "not_on_the_list", "It is no longer on the buy list: it may have been ordered."
    NO_DEMO = "no_demo", "The demo is not here: there is nothing to take out."
    NOT_EMPTY = "not_empty", "The demo comes into an empty bench only."

    # --- proving
    UNKNOWN_LINK = "unknown_link", "The design has no such link."
    UNKNOWN_SETTING = "unknown_setting", "The link has no such setting."
    UNKNOWN_RAIL = "unknown_rail", "The design has no such rail."
    NO_WAY_ROUND = "no_way_round", "The part there has no polarity and no notch: no way round is confirmed."
    NO_MAP = "no_map", "The design does not say where its memory is."
    NOTHING_TO_ACCEPT = "nothing_to_accept", "Nothing is open there."
    NOT_ACCEPTED = "not_accepted", "That is put right, not accepted as an exception."
    UNSETTLED = (
        "unsettled",
        "Something else may explain the result: it says nothing about this part.",
    )
    NOT_SOCKETED = "not_socketed", "The position has no socket: nothing is swapped in it."
    OWN_PART = "own_part", "That is the board's own part: it is the baseline."
    SWAP_CLOSED = "swap_closed", "The swap test is closed."
    BASELINE_FIRST = "baseline_first", "The board's own part is tried before a suspect."
    BASELINE_AFTER = "baseline_after", "The board's own part is tried again before the test is closed."
    BASELINE_FAILED = (
        "baseline_failed",
        "The board failed with its own part: it proves nothing.",
    )
    OHMS_FIRST = "ohms_first", "What may be shorted is measured before it goes into a good board."
    NOTHING_TO_UNDO = "nothing_to_undo", "There is nothing to put back."

    # --- people
    LAST_OWNER = "last_owner", "The bench needs an owner who can sign in, and this is the only one."
    SECOND_FACTOR = "second_factor", "A second factor is on already, or there is none to turn off."

    # --- the installation
    OCR_NOT_INSTALLED = (
        "ocr_not_installed",
        "Print is not read here; `install` says what would.",
    )
    NO_WORKSHOP = "no_workshop", "There is no workshop in the folder that REHOME_HOME names."
    NO_SECRET_KEY = "no_secret_key", "The file of the secret key is empty, or cannot be read."
    NO_DATABASE = "no_database", "The file of the database is gone, or holds nothing."
    NEWER_DATABASE = "newer_database", "A newer Rehome has changed the database."
    NOT_WRITTEN = "not_written", "The file could not be written; the detail says why."
    DISK_FULL = "disk_full", "The disk is full: nothing was changed."
    READ_ONLY = "read_only", "The database or its disk may only be read."
    DATABASE_AWAY = "database_away", "The database does not answer."
    DATABASE_DAMAGED = "database_damaged", "The database is damaged: put back a backup."
    DATABASE_NOT_READY = "database_not_ready", "The database is empty or not up to date."


class Refused(Exception):
    """The bench will not do it, and nothing was changed.  `facts` says what is available and why.

    `status` is that of the API's answer, `problems` the things amiss in what was sent, each with its pointer.
    """

    status = 409
    problems: Sequence[Any] = ()

    def __init__(self, code: Code, detail: str, **facts: Any) -> None:
        self.code, self.detail, self.facts = code, detail, facts
        super().__init__(detail)


class NotEnough(Refused):
    """More was asked for than is held or free there."""


class PositionTaken(Refused):
    """The position on the board holds a piece already."""


class KnownPiece(Refused):
    """The piece from that board position is on record already: it is one piece, and one lot, for life."""


class Gone(Refused):
    """The piece was taken off that board before."""
