"""What the cookies of a workshop are called."""

import hashlib


def cookie_names(secret_key: str) -> tuple[str, str]:
    """Of the cookie of who is signed in, and of that of forms.

    Cookies know hosts, not ports: by one name two workshops on a machine would sign out each other's people.
    """
    workshop = hashlib.sha256(secret_key.encode()).hexdigest()[:8]
    return f"rehome-session-{workshop}", f"rehome-forms-{workshop}"
