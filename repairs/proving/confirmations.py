"""What a person looks at and confirms: the board as a whole, which way round parts are, how links are set.

A confirmation is out of date once a part that it is about was moved, or the design asks something else.
"""

from collections.abc import Iterable, Mapping

from inventory.design_facts import DesignFacts
from repairs.proving import links, orientation
from repairs.proving.board import BoardFacts, BoardPosition
from repairs.proving.items import Item
from repairs.proving.orientation import Expected
from repairs.proving.positions import heatsinks
from repairs.proving.rails import OPEN, PASS, STOP


def basis_of(facts: BoardFacts, check: str) -> str:
    """What a confirmation of the whole board is against: where that changes, it is confirmed again."""
    if check == "supply" and facts.design is not None:
        return "; ".join(f"{rail.name} {rail.nominal} V" for rail in facts.design.rails)
    if check == "heatsink":
        return " ".join(heatsinks(facts))
    return ""


def _concerned(facts: BoardFacts, check: str) -> Iterable[str]:
    """The references whose movement puts a confirmation of the whole board out of date."""
    if check == "supply":
        return ()
    if check == "heatsink":
        return heatsinks(facts)
    if check == "first_power":
        return facts.moved.keys() - (facts.protected - facts.soldered)
    return facts.moved_for_good


def check_board(facts: BoardFacts, check: str, to_do: str) -> Item:
    """A check of the whole board, as it was last confirmed."""
    basis = basis_of(facts, check)
    seen = next(
        (each for each in reversed(facts.confirmations) if each.check == check and not each.ref), None
    )
    if seen is None:
        return Item(check, "", OPEN, to_do, basis=basis)
    by = seen.by or "someone"
    if not seen.right:
        return Item(check, "", STOP, f"{by} found it wrong{f': {seen.note}' if seen.note else ''}")
    if facts.moved_since(seen.stamp, _concerned(facts, check)):
        return Item(check, "", OPEN, f"a part was changed since {by} confirmed it: {to_do}", basis=basis)
    if seen.basis != basis:
        return Item(check, "", OPEN, f"the design was changed since {by} confirmed it: {to_do}", basis=basis)
    return Item(check, "", PASS, f"confirmed by {by}")


def expectations(facts: BoardFacts) -> Mapping[str, Expected]:
    """For each filled position that has a way round, which."""
    known = {
        position.ref: orientation.expected(
            position.required,
            position.piece.spec,
            position.note,
            facts.recorded_of(position, position.piece),
        )
        for position in facts.positions
        if position.piece is not None
    }
    return {ref: expected for ref, expected in known.items() if expected is not None}


def basis_of_orientation(position: BoardPosition, expected: Expected) -> str:
    """What a confirmation is against: what must be seen, of which sort, and the design's own note."""
    sorts = (position.required.dielectric, position.piece.spec.dielectric if position.piece else "")
    way = expected.way or "look it up"
    return "; ".join((expected.mark, expected.text, way, *sorts, position.note.strip()))


def check_orientations(facts: BoardFacts) -> Iterable[Item]:
    """Which way round each part is that has a way, as last confirmed."""
    expected = expectations(facts)
    seen = {each.ref: each for each in facts.confirmations if each.check == "orientation"}
    for position in facts.positions:
        ref = position.ref
        if ref in expected and position.piece is not None:
            basis = basis_of_orientation(position, expected[ref])
            confirmed = seen.get(ref)
            state, reason = OPEN, f"{expected[ref].mark}: {expected[ref].text}"
            if confirmed is not None:
                by = confirmed.by or "someone"
                if facts.moved_since(confirmed.stamp, [ref]):
                    reason = f"changed since {by} confirmed it. {reason}"
                elif confirmed.basis != basis:
                    reason = f"the design was changed since {by} looked. {reason}"
                elif not confirmed.right:
                    state, reason = STOP, f"{by} found it the wrong way round: {expected[ref].text}"
                elif expected[ref].way not in (None, confirmed.way):
                    way = confirmed.way.replace("_", " ")
                    state, reason = STOP, f"confirmed {way}, but {expected[ref].text}"
                else:
                    state, reason = PASS, f"confirmed by {by}: {expected[ref].mark}"
            yield Item("orientation", ref, state, reason, (ref,), basis=basis)


_LINK_STATE = {
    links.AGREES: PASS, links.FREE: PASS, links.CONFLICT: STOP, links.CONTRADICTION: STOP,
    links.UNDECIDED: OPEN, links.UNSAID: OPEN,
}  # fmt: skip


def link_findings(facts: BoardFacts) -> tuple[links.LinkFinding, ...]:
    """Required and present setting of each link, with the evidence."""
    if facts.design is None:
        return ()
    return links.check_links(facts.design, facts.fitted, {each.link: each.setting for each in facts.settings})


def basis_of_link(design: DesignFacts, name: str) -> str:
    """What a setting was seen against: the settings that the link has."""
    link = next((link for link in design.links if link.name == name), None)
    return ", ".join(link.settings) if link is not None else ""


def check_link_settings(facts: BoardFacts, design: DesignFacts) -> Iterable[Item]:
    """How each link is set, as last seen, against what the design requires."""
    latest = {each.link: each for each in facts.settings}
    for finding in link_findings(facts):
        state, reason = _LINK_STATE[finding.state], finding.reason
        seen = latest.get(finding.link)
        if finding.state == links.AGREES and seen is not None:
            if facts.moved_since(seen.stamp, finding.refs):
                state, reason = OPEN, f"a part was changed since the link was looked at; {reason}"
            elif seen.basis != basis_of_link(design, finding.link):
                state, reason = OPEN, f"the design's settings were changed since it was looked at; {reason}"
        basis = "; ".join((finding.state, finding.required, finding.present, *finding.evidence))
        yield Item("link", finding.link, state, reason, finding.refs, evidence=finding.evidence, basis=basis)
