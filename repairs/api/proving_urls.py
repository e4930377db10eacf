"""Addresses of what is proven: boards brought up, swap tests, lenders, checksums and the bench log."""

from django.urls import URLPattern, URLResolver, path, re_path
from rest_framework.routers import SimpleRouter

from repairs.answers.report.view import JobReport, JobReportPage
from repairs.api.benchlog import DesignSeen, DesignSeenElsewhere, EntryViewSet, JobClose, JobLog
from repairs.api.checksums import ChecksumsView
from repairs.api.chips import BoardChips
from repairs.api.fitting import BoardCautions, BoardFitting
from repairs.api.links import BoardLinks
from repairs.api.loan_proofs import LoanProofs
from repairs.api.memory import BoardMemory, BoardSuspects
from repairs.api.of_board import OfBoard
from repairs.api.orientation import BoardOrientation
from repairs.api.rails import BoardRails
from repairs.api.ready import BoardChecks, BoardExceptions, BoardReady
from repairs.api.swaps import SwapTestViewSet
from repairs.api.taking_back import FACTS, taken_back

router = SimpleRouter()
router.register("swaps", SwapTestViewSet, "swap")
router.register("log-entries", EntryViewSet, "log-entry")

_BOARD: dict[str, type[OfBoard]] = {
    "ready": BoardReady,
    "links": BoardLinks,
    "rails": BoardRails,
    "orientation": BoardOrientation,
    "checks": BoardChecks,
    "exceptions": BoardExceptions,
    "chips": BoardChips,
    "memory": BoardMemory,
    "suspects": BoardSuspects,
    "cautions": BoardCautions,
    "fitting": BoardFitting,
}
_ID = "[0-9]{1,18}"

urlpatterns: list[URLPattern | URLResolver] = [
    *router.urls,
    *(
        re_path(rf"^boards/(?P<pk>{_ID})/{name}/\Z", view.as_view(), name=f"board-{name}")
        for name, view in _BOARD.items()
    ),
    *(
        re_path(
            rf"^boards/(?P<pk>{_ID})/{name}/(?P<fact>{_ID})/\Z",
            taken_back(name).as_view(),
            name=f"board-{name}-fact",
        )
        for name in FACTS
    ),
    re_path(rf"^loans/(?P<pk>{_ID})/proofs/\Z", LoanProofs.as_view(), name="loan-proofs"),
    re_path(rf"^jobs/(?P<pk>{_ID})/log/\Z", JobLog.as_view(), name="job-log"),
    re_path(rf"^jobs/(?P<pk>{_ID})/close/\Z", JobClose.as_view(), name="job-close"),
    re_path(rf"^jobs/(?P<pk>{_ID})/report/\Z", JobReport.as_view(), name="job-report"),
    re_path(rf"^jobs/(?P<pk>{_ID})/report\.html\Z", JobReportPage.as_view(), name="job-report-page"),
    re_path(rf"^designs/(?P<pk>{_ID})/seen/\Z", DesignSeen.as_view(), name="design-seen"),
    re_path(
        rf"^designs/(?P<pk>{_ID})/seen/elsewhere/\Z", DesignSeenElsewhere.as_view(), name="design-elsewhere"
    ),
    path("checksums/", ChecksumsView.as_view(), name="checksums"),
]
