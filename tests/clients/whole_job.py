"""One repair from an empty bench to a finished job by the Python client: ADDRESS and KEY as arguments."""

import sys
from typing import Any, TypeVar

from rehome_client import AuthenticatedClient
from rehome_client.api.boards import boards_create
from rehome_client.api.designs import designs_create
from rehome_client.api.jobs import jobs_create, jobs_partial_update, jobs_reserve_create, jobs_retrieve
from rehome_client.api.lots import lots_trace_retrieve
from rehome_client.api.movements import movements_create
from rehome_client.api.places import places_create
from rehome_client.models import (
    BoardRequest,
    DesignRequest,
    FitBodyRequest,
    JobRequest,
    LiftBodyRequest,
    PatchedJobChangeRequest,
    PlaceRequest,
    Problem,
    ReceiveBodyRequest,
)

T = TypeVar("T")


def answered(answer: T | Problem | None) -> T:
    assert answer is not None
    assert not isinstance(answer, Problem), answer
    return answer


def body(model: Any, **members: Any) -> Any:
    return model.from_dict(members)


def main(address: str, key: str) -> None:
    bench = AuthenticatedClient(base_url=address, token=key, prefix="Token")

    def do(operation: Any, *path: Any, **sent: Any) -> Any:
        return answered(operation.sync(*path, client=bench, **sent))

    positions = [
        {"ref": "R1", "kind": "resistor", "value": "4k7", "tolerance_percent": "5", "watts": "0.25"},
        {"ref": "D1", "kind": "diode", "number": "1N4148"},
    ]
    design = do(
        designs_create, body=body(DesignRequest, name="Knot chime", revision="P", positions=positions)
    )
    tray = do(places_create, body=body(PlaceRequest, name="Python tray", type="tray"))
    donor = do(
        boards_create,
        body=body(BoardRequest, name="Knot, drowned", design=design.id, purpose="donor", survey=True),
    )
    mended = do(
        boards_create, body=body(BoardRequest, name="Knot, silent", design=design.id, purpose="under_repair")
    )
    do(
        movements_create,
        body=body(
            LiftBodyRequest, kind="lift", board=donor.id, refs=["R1"], to=tray.id, condition="untested"
        ),
    )
    diode = {"kind": "diode", "number": "1N4148"}
    do(
        movements_create,
        body=body(
            ReceiveBodyRequest,
            kind="receive", part=diode, quantity=5, to=tray.id, condition="good", origin={"source": "bought"},
        ),
    )  # fmt: skip
    job = do(jobs_create, body=body(JobRequest, name="Knot rebuild", board=mended.id, refs="all"))
    assert job.needed == 2
    promised = do(jobs_reserve_create, job.id)
    assert len(promised.promised) == 2
    assert promised.short == []
    lot = next(each.lot for each in promised.promised if each.need_ref == "R1")
    for each in promised.promised:
        do(movements_create, body=body(FitBodyRequest, kind="fit", reservation=each.id))
    job = do(jobs_retrieve, job.id)
    assert job.fitted == 2
    change = body(
        PatchedJobChangeRequest, status="done", symptom="no chime", cause="the resistor was corroded through"
    )
    assert do(jobs_partial_update, job.id, body=change).status == "done"
    trace = str(do(lots_trace_retrieve, lot).to_dict())
    assert "Knot, drowned" in trace
    assert "Knot, silent" in trace
    refused = places_create.sync(client=bench, body=body(PlaceRequest, name="Python tray", type="tray"))
    assert isinstance(refused, Problem)
    assert refused.status in (400, 409)


if __name__ == "__main__":
    main(*sys.argv[1:])
