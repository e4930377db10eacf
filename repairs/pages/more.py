"""More: what is not wanted every day, and what to take care of."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.backups import last_good
from inventory.pages.frame import page
from inventory.roles import OWNER, may_act_as, role_of
from repairs import demo_removal
from repairs.proving.cautions import DEFER


@page()
def more(request: HttpRequest) -> HttpResponse:
    return render(
        request,
        "bench/more.html",
        {
            "demo": demo_removal.is_loaded(),
            "role": role_of(request.user),
            "owner": may_act_as(request.user, OWNER),
            "last_backup": last_good(),
            "defer": DEFER,
        },
    )
