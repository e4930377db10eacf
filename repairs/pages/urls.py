"""Addresses of the pages about work: now, reading, jobs, boards, shortages."""

from django.urls import path

<<<<<<< HEAD
from repairs.pages import (
    boards,
    designs,
    harvest,
    jobs,
    more,
    now,
    pictures,
    pieces,
    read,
    safe,
    shortages,
    undo,
)  # fmt: skip
=======
from repairs.pages import boards, buying, harvest, jobs, more, now, pieces, read, safe, shortages, undo
>>>>>>> f5f6551 (Order from the buy list line by line, and take in what came)

urlpatterns = [
    path("", now.now, name="now"),
    path("read/", read.read, name="read"),
    path("read/put-away/", read.put_away, name="put-away"),
    path("photos/new/", pictures.add_photo, name="add-photo"),
    path("photos/<int:pk>/", pictures.look, name="look"),
    path("photos/<int:pk>/detach/", pictures.detach, name="detach-photo"),
    path("photos/<int:pk>/attach/", pictures.attach, name="attach-photo"),
    path("holdings/<int:pk>/change/", pieces.change, name="move-pieces"),
    path("boards/", boards.boards, name="boards"),
    path("boards/<int:pk>/", boards.board, name="board"),
    path("boards/<int:pk>/strip/", boards.strip, name="strip"),
    path("boards/<int:pk>/fit/", boards.fit, name="fit"),
    path("boards/<int:pk>/remove/", boards.remove, name="remove"),
    path("boards/<int:pk>/safe/", safe.safe, name="safe"),
    path("boards/<int:pk>/safe/link/", safe.link, name="safe-link"),
    path("boards/<int:pk>/safe/orientation/", safe.orientation, name="safe-orientation"),
    path("boards/<int:pk>/safe/check/", safe.check, name="safe-check"),
    path("boards/<int:pk>/safe/rail/", safe.rail, name="safe-rail"),
    path("boards/<int:pk>/safe/accept/", safe.accept, name="safe-accept"),
    path("designs/<int:pk>/", designs.pins, name="pins"),
    path("jobs/", jobs.jobs, name="jobs"),
    path("jobs/<int:pk>/", jobs.job, name="job"),
    path("jobs/<int:pk>/promise/", jobs.promise_plan, name="promise-plan"),
    path("jobs/<int:pk>/status/", jobs.status, name="job-status"),
    path("promises/new/", jobs.promise_one, name="promise-one"),
    path("promises/<int:pk>/fit/", jobs.fit_promised, name="fit-promised"),
    path("promises/<int:pk>/release/", jobs.release, name="release"),
    path("shortages/", shortages.table, name="shortages"),
    path("shortages/<int:pk>/", shortages.line, name="shortage"),
    path("shortages/<int:pk>/promise/", shortages.promise, name="promise-line"),
    path("shortages/lift/", harvest.harvest, name="harvest"),
    path("shortages/buy/", buying.table, name="buy"),
    path("shortages/buy/order/", buying.order, name="buy-order"),
    path("purchases/<int:pk>/receive/", buying.receive, name="buy-receive"),
    path("purchases/<int:pk>/call-off/", buying.call_off, name="buy-call-off"),
    path("more/", more.more, name="more"),
    path("undo/", undo.undo, name="undo"),
]
