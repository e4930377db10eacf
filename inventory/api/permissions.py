"""Who may use an address: everybody signed in reads, unless the view says otherwise; it says who writes and
who deletes.
"""

from typing import Any

from rest_framework.permissions import SAFE_METHODS, BasePermission
from rest_framework.request import Request

from inventory.roles import BENCH, OWNER, may_act_as, role_of


class RoleMay(BasePermission):
    """Reads the view's `read_role` (default none), `write_role` (bench) and `delete_role` (owner)."""

    def has_permission(self, request: Request, view: Any) -> bool:
        if not request.user.is_authenticated:
            return False
        least = needed_role(view, str(request.method))
        if least is None or may_act_as(request.user, least):
            return True
        self.message = f"{request.method} here is for the {least}; {request.user} is {role_of(request.user)}"
        return False


def needed_role(view: Any, method: str) -> str | None:
    """The least role that may use this method; None where everybody signed in may."""
    if method in SAFE_METHODS:
        least: str | None = getattr(view, "read_role", None)
        return least
    if method == "DELETE":
        return str(getattr(view, "delete_role", OWNER))
    return str(getattr(view, "write_role", BENCH))
