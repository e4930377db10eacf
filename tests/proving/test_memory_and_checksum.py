"""Memory faults to positions, and checksums of an image against zlib and the published check value."""

import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.proving.checksum import (
    KnownImage,
    UnreadableChecksum,
    checksums,
    compare,
    looked_through,
    matches,
    read_checksums,
)
from repairs.proving.memory import UnreadableFault, locate, read_faults
from tests.proving.boards import design

BANKS = design("tern-tr6-a").banks


def refs(text: str) -> list[str]:
    return [each.ref for each in locate(read_faults(text), BANKS).pointed]


def test_a_wrong_bit_is_found_at_its_position() -> None:
    """Bit 2 at 01C0 is in IC12 (0000 to 03FF, D0 to D3) on the demo's design."""
    found = locate(read_faults("01C0: wrote 00, read 04"), BANKS)
    assert [each.text for each in found.pointed] == ["IC12: D2 wrong at 1 address, first 01C0"]
    assert not found.suspect_a_rail


@pytest.mark.parametrize(
    "line", ["01C0: wrote 00, read 04", "01c0 00 04", "$01C0 wrote $00 read back $04", "0x1C0: w 0 r 4"]
)
def test_faults_are_read_as_testers_print_them(line: str) -> None:
    fault = read_faults(line)[0]
    assert (fault.address, fault.wrong_bits) == (0x1C0, (2,))


def test_the_high_half_of_a_byte_and_another_span_are_other_chips() -> None:
    assert refs("01C0 00 10") == ["IC13"]
    assert refs("0400 FF FE\n0401 FF 7F\n0402 FF 7F") == ["IC15", "IC14"]


def test_all_bits_at_once_suspect_a_rail() -> None:
    """Eight bad chips at once: suspect a rail (common practice, no source)."""
    found = locate(read_faults("0000 00 FF\n0400 FF 00"), BANKS[:1])
    assert found.suspect_a_rail
    assert "suspect a rail, not the chips" in found.reasons[0].detail


def test_all_bits_of_one_span_suspect_what_it_shares() -> None:
    found = locate(read_faults("0000 00 FF"), BANKS[:1])
    assert found.suspect_a_rail
    assert "select line" in found.reasons[0].detail


def test_a_fault_outside_every_map_is_reported() -> None:
    found = locate(read_faults("9000 00 01"), BANKS)
    assert found.pointed == ()
    assert found.unmapped
    assert found.reasons[-1].code == "unmapped"


@pytest.mark.parametrize(
    "text", ["", "hello", "01C0 00 00", "XYZ: wrote 00, read 04", "\n".join(["0 0 1"] * 501)]
)
def test_what_is_no_fault_is_refused_by_line(text: str) -> None:
    with pytest.raises(UnreadableFault):
        read_faults(text)


@given(st.integers(0, 0x7FF), st.integers(0, 7))
def test_every_address_and_bit_points_to_exactly_one_position(address: int, bit: int) -> None:
    expected = {(0, 0): "IC12", (0, 1): "IC13", (1, 0): "IC14", (1, 1): "IC15"}[address >> 10, bit >> 2]
    assert refs(f"{address:04X} 00 {1 << bit:02X}") == [expected]


@given(st.text(max_size=80))
def test_no_text_breaks_the_fault_reader(text: str) -> None:
    try:
        assert read_faults(text)
    except UnreadableFault:
        return


# --- checksums


def bitwise_crc(data: bytes) -> int:
    """CRC-32 from its polynomial, bit by bit (ISO 3309, reflected 0xEDB88320)."""
    crc = 0xFFFFFFFF
    for byte in data:
        crc ^= byte
        for _bit in range(8):
            crc = crc >> 1 ^ (0xEDB88320 if crc & 1 else 0)
    return crc ^ 0xFFFFFFFF


def test_the_published_check_value_of_crc_32() -> None:
    """CBF43926 for "123456789": the check value of every published CRC-32 catalogue."""
    assert checksums(b"123456789").crc32 == 0xCBF43926


@given(st.binary(max_size=600))
def test_checksums_match_zlib_and_plain_arithmetic(image: bytes) -> None:
    found = checksums(image)
    assert found.crc32 == zlib.crc32(image) == bitwise_crc(image)
    assert found.sum == sum(image) % 65536
    folded = 0
    for byte in image:
        folded ^= byte
    assert found.xor == folded


@given(st.binary(min_size=1, max_size=300), st.integers(0, 299), st.integers(0, 7))
def test_one_wrong_bit_never_matches(image: bytes, at: int, bit: int) -> None:
    spoilt = bytearray(image)
    spoilt[at % len(image)] ^= 1 << bit
    expected = read_checksums(checksums(image).text)
    found = read_checksums(checksums(bytes(spoilt)).text)
    assert compare(found, expected).verdict == "faulty"


def test_a_label_is_read_in_its_usual_writings() -> None:
    assert read_checksums("sum 9C41") == {"sum": 0x9C41}
    assert read_checksums("Checksum: $9C41, CRC-32 = 0x1a2b3c4d") == {"sum": 0x9C41, "crc32": 0x1A2B3C4D}
    for text in ("", "as on the label", "xor 1234", "sum 123456"):
        with pytest.raises(UnreadableChecksum):
            read_checksums(text)


def test_without_a_list_nothing_is_judged() -> None:
    assert compare({"sum": 1}, {}).verdict == "inconclusive"
    assert compare({"sum": 1}, {"crc32": 1}).verdict == "inconclusive"


def test_an_image_is_found_in_a_list_of_known_ones() -> None:
    image = bytes(range(256)) * 8
    known = [
        KnownImage("monitor", read_checksums(checksums(image).text)),
        KnownImage("other", {"sum": 0x1234}),
        KnownImage("none", {}),
    ]
    assert matches(checksums(image), known) == ("monitor",)


@pytest.mark.parametrize(
    ("image", "code"),
    [
        (b"\xff" * 2048, "blank"),
        (b"\x00" * 2048, "all_low"),
        (bytes(range(256)) * 8, "halves_alike"),
        (bytes(each & 0xFE for each in range(250)) + b"\x06" * 6, "stuck_bits"),
        (bytes(range(200)), "odd_size"),
    ],
)
def test_what_an_image_says_of_itself(image: bytes, code: str) -> None:
    assert code in {reason.code for reason in looked_through(image)}
