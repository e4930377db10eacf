"""Which rows of the repairs count as changed with which others: what `inventory.changes` is told of them."""

from inventory.changes import FOLLOWED, LISTED, Followed

RETURNED = (
    "SELECT id FROM repairs_loan WHERE ({row}.settles_id IS NOT NULL OR {row}.reverses_id IS NOT NULL) "
    "AND (movement_id IN ({row}.settles_id, {row}.reverses_id) "
    "OR movement_id = (SELECT settles_id FROM inventory_movement WHERE id = {row}.reverses_id))"
)
LENT = (
    "SELECT id FROM inventory_board WHERE place_id IN ({row}.from_place_id, {row}.to_place_id) "
    "AND ({row}.borrow OR {row}.settles_id IS NOT NULL OR {row}.reverses_id IS NOT NULL)"
)


def offer() -> None:
    """Add the lists of the repairs, and what their rows consist of."""
    LISTED.update(
        f"repairs_{name}"
        for name in (
            "job", "need", "reservation", "pieceask", "purchase", "loan", "trial", "substitution", "swaptest",
            "benchentry", "webhook", "webhookdelivery", "friendask",
        )
    )  # fmt: skip
    FOLLOWED.extend(
        (
            Followed("repairs_need", "repairs_job", "SELECT {row}.job_id"),
            Followed("repairs_trialrecord", "repairs_trial", "SELECT {row}.trial_id"),
            Followed("repairs_swapstep", "repairs_swaptest", "SELECT {row}.test_id"),
            Followed("repairs_webhookdelivery", "repairs_webhook", "SELECT {row}.webhook_id"),
            Followed("repairs_loan", "inventory_movement", "SELECT {row}.movement_id"),
            Followed("inventory_movement", "repairs_loan", RETURNED, on=("INSERT",)),
            Followed("inventory_movement", "inventory_board", LENT, on=("INSERT",)),
            *(
                Followed(
                    "inventory_photo", table, f"SELECT {{row}}.subject_id WHERE {{row}}.subject = '{subject}'"
                )
                for subject, table in (("trial", "repairs_trial"), ("log_entry", "repairs_benchentry"))
            ),
        )
    )
