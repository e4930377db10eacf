"""Links against the chips that are fitted, on the demo workshop's drawings (invented boards)."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.design_facts import DesignFacts, read_design
from repairs.proving import links
from repairs.proving.fitted import FittedPiece, is_number, suffix_in
from repairs.proving.links import check_banks, check_links
from tests.proving.boards import chip, design

TERN = design("tern-tr6-c")
GANNET = design("gannet-ep2-b")
RAM = {ref: chip(ref, "2114", "Hitachi") for ref in ("IC12", "IC13", "IC14", "IC15")}
TI = {ref: chip(ref, "2716", "Texas Instruments", "TMS2716JL-45 8145") for ref in ("IC10", "IC11")}
INTEL = {ref: chip(ref, "2716", "Intel", "D2716 8211") for ref in ("IC10", "IC11")}


def link(
    name: str, fitted: dict[str, FittedPiece], *, on: DesignFacts = TERN, **settings: str
) -> links.LinkFinding:
    return next(each for each in check_links(on, fitted, settings) if each.link == name)


def test_the_drawings_of_the_demo_are_read_without_a_problem() -> None:
    for name in ("tern-tr6-a", "tern-tr6-c", "gannet-ep2-b", "petrel-sl3-a"):
        assert design(name).problems == ()


def test_a_link_set_for_another_make_is_a_conflict_and_names_the_evidence() -> None:
    found = link("LK1", {**TI, **RAM}, LK1="2-3")
    assert (found.state, found.required, found.present) == (links.CONFLICT, "1-2", "2-3")
    assert "IC10 is Texas Instruments 2716" in found.reason
    assert any("TMS2716JL-45 8145" in line for line in found.evidence)


def test_a_link_set_for_the_make_that_is_fitted_agrees() -> None:
    assert link("LK1", {**TI, **RAM}, LK1="1-2").state == links.AGREES
    assert link("LK1", {**INTEL, **RAM}, LK1="2-3").state == links.AGREES


def test_one_link_cannot_serve_two_makes() -> None:
    found = link("LK1", {"IC10": TI["IC10"], "IC11": INTEL["IC11"]}, LK1="1-2")
    assert found.state == links.CONTRADICTION
    assert "IC10" in found.reason
    assert "IC11" in found.reason


def test_an_unknown_make_leaves_the_link_undecided() -> None:
    found = link("LK1", {"IC10": chip("IC10", "2716"), "IC11": INTEL["IC11"]}, LK1="2-3")
    assert found.state == links.UNDECIDED
    assert "make of IC10 is not known" in found.reason


def test_a_make_that_no_rule_covers_leaves_the_link_undecided() -> None:
    found = link("LK1", {"IC10": chip("IC10", "2716", "Toshiba"), "IC11": INTEL["IC11"]}, LK1="2-3")
    assert found.state == links.UNDECIDED
    assert "Toshiba" in found.reason


def test_a_link_asks_nothing_of_a_type_that_its_rules_are_not_about() -> None:
    three_rails = {"IC6": chip("IC6", "2708", "Intel", "B2708 7939")}
    assert link("LK3", three_rails, on=GANNET, LK3="1-2").state == links.FREE
    assert link("LK1", three_rails, on=GANNET, LK1="1-2").state == links.AGREES


def test_a_bank_that_is_only_partly_of_the_rules_make_is_mixed() -> None:
    fitted = {**RAM, "IC13": chip("IC13", "2114", "Synertek")}
    assert link("LK5", fitted, LK5="1-2").state == links.CONTRADICTION


def test_how_many_are_fitted_decides_the_size_link() -> None:
    assert link("LK6", RAM, LK6="1-2").state == links.AGREES
    six = {**RAM, "IC29": chip("IC29", "2114", "Hitachi"), "IC30": chip("IC30", "2114", "Hitachi")}
    assert (link("LK6", six, LK6="1-2").state, link("LK6", six).required) == (links.CONFLICT, "2-3")


def test_a_setting_that_nobody_recorded_is_not_taken_for_right() -> None:
    assert link("LK1", {**TI, **RAM}).state == links.UNSAID


def test_the_suffix_is_read_from_the_marking_and_the_half_from_the_part() -> None:
    gates = {
        "IC4": chip("IC4", "4066", "RCA", "CD4066BE 8120"),
        "IC5": chip("IC5", "4066", "RCA", "CD4066BE"),
    }
    assert link("LK2", gates, on=GANNET, LK2="1-2").state == links.AGREES
    a_types = {ref: chip(ref, "4066", "RCA", "CD4066AE 7714") for ref in ("IC4", "IC5")}
    assert link("LK2", a_types, on=GANNET, LK2="1-2").state == links.CONFLICT
    upper = {"IC6": chip("IC6", "2758", "Intel", "D2758 S1865", half="upper")}
    assert (link("LK3", upper, on=GANNET, LK3="1-2").state, link("LK3", upper, on=GANNET).required) == (
        links.CONFLICT,
        "2-3",
    )


def test_a_link_without_rules_is_the_users_choice() -> None:
    assert check_links(design("petrel-sl3-a"), {}, {})[0].state == links.FREE


# --- banks


def bank(fitted: dict[str, FittedPiece], name: str = "RAM") -> links.BankFinding:
    return next(each for each in check_banks(TERN, fitted) if each.bank == name)


def test_a_mixed_bank_is_named_with_who_is_what() -> None:
    found = bank({**RAM, "IC14": chip("IC14", "2114", "NEC")})
    assert found.state == links.MIXED_BANK
    assert "Hitachi in IC12, IC13, IC15" in found.reason
    assert "NEC in IC14" in found.reason


def test_a_bank_with_an_unreadable_make_is_not_called_alike() -> None:
    assert bank({**RAM, "IC14": chip("IC14", "2114")}).state == links.UNKNOWN_PIECES


def test_a_bank_works_with_the_counts_that_the_drawing_says() -> None:
    assert bank(RAM).state == links.ALIKE
    five = {**RAM, "IC29": chip("IC29", "2114", "Hitachi")}
    assert bank(five).state == links.TOO_FEW


# --- what must hold whatever is fitted

MAKES = ["", "Intel", "Texas Instruments", "Hitachi", "NEC", "Synertek", "Toshiba"]
REFS = ("IC10", "IC11", "IC12", "IC13", "IC14", "IC15", "IC29", "IC30")


@st.composite
def boards(draw: Any) -> dict[str, FittedPiece]:
    fitted = {}
    for ref in REFS:
        if draw(st.booleans()):
            numbers = ["2716", "2516", ""] if ref in ("IC10", "IC11") else ["2114", "6514", ""]
            fitted[ref] = chip(ref, draw(st.sampled_from(numbers)), draw(st.sampled_from(MAKES)))
    return fitted


@given(boards(), st.data())
def test_learning_what_was_unknown_never_turns_agreement_into_a_conflict(
    fitted: dict[str, FittedPiece], data: Any
) -> None:
    """A link is only called right where nothing that is still unknown could ask for another setting."""
    settings = {each.name: data.draw(st.sampled_from(each.settings)) for each in TERN.links}
    learned = {
        ref: chip(
            ref,
            piece.spec.number or data.draw(st.sampled_from(["2716", "2516", "2114", "6514"])),
            piece.spec.make or data.draw(st.sampled_from(MAKES[1:])),
        )
        for ref, piece in fitted.items()
    }
    after = {each.link: each for each in check_links(TERN, learned, settings)}
    for before in check_links(TERN, fitted, settings):
        if before.state == links.AGREES:
            assert after[before.link].state == links.AGREES


@given(boards())
def test_a_link_never_agrees_with_two_settings(fitted: dict[str, FittedPiece]) -> None:
    for name, settings in ((each.name, each.settings) for each in TERN.links):
        agreeing = [
            setting for setting in settings if link(name, fitted, **{name: setting}).state == links.AGREES
        ]
        assert len(agreeing) <= 1


def test_type_numbers_are_compared_without_makers_letters_and_package() -> None:
    assert is_number("TMS2716JL", "2716")
    assert is_number("HM472114P", "472114")
    assert not is_number("27160", "2716")
    assert not is_number("2516", "2716")
    assert suffix_in("MC14066BCP", "4066") == "BCP"


# --- what cannot be read


def link_of(setting: str = "1-2", **when: object) -> dict[str, Any]:
    return {"name": "LK1", "settings": ["1-2"], "rules": [{"setting": setting, "when": when}]}


def rail_of(**fields: object) -> dict[str, Any]:
    return {"name": "+5V", "nominal": "5", "low": "4.75", "high": "5.25", **fields}


def span_of(start: str, end: str, **bits: str) -> dict[str, Any]:
    return {"name": "B", "refs": ["U1"], "map": [{"start": start, "end": end, "bits": bits}]}


@pytest.mark.parametrize(
    ("part", "entry", "pointer"),
    [
        ("links", link_of("9", ref="U1", make="X"), "/links/0/rules/0/setting"),
        ("links", link_of(ref="U9", make="X"), "/links/0/rules/0/when/ref"),
        ("links", link_of(ref="U1"), "/links/0/rules/0/when"),
        ("links", link_of(bank="B", ref="U1", count=2), "/links/0/rules/0/when"),
        ("links", link_of(ref="U1", colour="red"), "/links/0/rules/0/when/colour"),
        ("rails", rail_of(low="5.25", high="4.75"), "/rails/0/low"),
        ("rails", rail_of(nominal="five"), "/rails/0/nominal"),
        ("rails", rail_of(protects=["U9"]), "/rails/0/protects/0"),
        ("banks", {"name": "B", "refs": ["U1"], "equal": ["colour"]}, "/banks/0/equal/0"),
        ("banks", span_of("0400", "0000", D0="U1"), "/banks/0/map/0/end"),
        ("banks", span_of("0", "F", **{"D0-D3": "U1", "D3": "U1"}), "/banks/0/map/0/bits/D3"),
        ("hazards", 7, "/hazards"),
    ],
)
def test_each_fault_of_a_drawing_is_named_where_it_stands(part: str, entry: object, pointer: str) -> None:
    data: dict[str, Any] = {part: entry if part == "hazards" else [entry]}
    assert pointer in {problem.pointer for problem in read_design(data, ["U1", "U2"]).problems}


NAMES = [
    "name", "settings", "rules", "setting", "when", "ref", "bank", "make", "count", "map", "bits", "start",
    "end", "nominal", "low", "high", "order", "protects", "refs", "equal", "counts", "x",
]  # fmt: skip
JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(NAMES), inner, max_size=5),
    max_leaves=20,
)


@given(st.fixed_dictionaries({}, optional=dict.fromkeys(("links", "rails", "banks", "hazards"), JUNK)))
def test_no_drawing_data_breaks_the_reader(data: dict[str, Any]) -> None:
    found = read_design(data, ["U1"])
    check_links(found, {}, {})
    check_banks(found, {})
