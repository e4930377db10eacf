"""Checksums of an uploaded image: against zlib, a label and a list."""

import zlib
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from inventory.models import Lot
from tests.api.test_problems import pointers, refused
from tests.factories import PartFactory, spec, stock

ADDRESS = "/api/v1/checksums/"
IMAGE = bytes((each * 7 + 3) & 0xFF for each in range(2048))


def send(client: Any, image: bytes = IMAGE, **more: Any) -> Any:
    return client.post(ADDRESS, {"file": SimpleUploadedFile("rom.bin", image), **more}, format="multipart")


def rom() -> int:
    part = PartFactory(of=spec("ic", None, number="2716", traits={"function": "eprom"}))
    return int(stock(part=part, condition="untested").lot_id)


def test_the_checksums_are_zlibs_and_plain_arithmetic(bench: Any) -> None:
    answer = send(bench).json()
    assert answer["crc32"] == f"{zlib.crc32(IMAGE):08X}"
    assert answer["sum"] == f"{sum(IMAGE) & 0xFFFF:04X}"
    assert (answer["size"], answer["verdict"], answer["trial"]) == (2048, "inconclusive", None)


def test_an_image_as_on_its_label_makes_the_rom_good(bench: Any) -> None:
    lot = rom()
    answer = send(bench, expected=f"crc32 {zlib.crc32(IMAGE):08X}", lot=lot).json()
    assert answer["verdict"] == "good"
    assert Lot.objects.get(pk=lot).condition == "good"
    trial = bench.get(f"/api/v1/trials/{answer['trial']}/").json()
    assert (trial["method"], trial["lot"]) == ("checksum", lot)


def test_one_wrong_bit_is_found(bench: Any) -> None:
    lot = rom()
    wrong = bytearray(IMAGE)
    wrong[100] ^= 4
    answer = send(bench, bytes(wrong), expected=f"crc32 {zlib.crc32(IMAGE):08X}", lot=lot).json()
    assert answer["verdict"] == "faulty"
    assert Lot.objects.get(pk=lot).condition == "faulty"


def test_an_image_is_found_in_a_list(bench: Any) -> None:
    known = f"tide tables: sum 27F0\nmonitor 1.2: crc32 {zlib.crc32(IMAGE):08X}"
    answer = send(bench, list=known).json()
    assert (answer["verdict"], answer["matches"]) == ("good", ["monitor 1.2"])
    answer = send(bench, b"\xff" * 2048, list=known).json()
    assert answer["verdict"] == "faulty"
    assert "blank" in {reason["code"] for reason in answer["reasons"]}


@pytest.mark.parametrize(
    ("more", "wrong"),
    [
        ({"expected": "as on the label"}, {"#/expected"}),
        ({"list": "no colon here"}, {"#/list"}),
        ({"list": "\n".join(["a: sum 1"] * 501)}, {"#/list"}),
        ({"lot": "999999"}, {"#/lot"}),
        ({"fixture_ref": "IC1"}, {"#/fixture"}),
        ({"colour": "red"}, {"#/colour"}),
    ],
)
def test_what_cannot_be_read_is_named(bench: Any, more: dict[str, Any], wrong: set[str]) -> None:
    assert wrong <= pointers(refused(send(bench, **more), 400))


def test_no_file_an_empty_one_and_a_large_one_are_refused(bench: Any) -> None:
    refused(bench.post(ADDRESS, {}, format="multipart"), 400)
    refused(send(bench, b""), 400)
    refused(send(bench, bytes(4 * 1024 * 1024 + 1)), 413)
    refused(bench.post(ADDRESS, {"file": "x"}), 415)
