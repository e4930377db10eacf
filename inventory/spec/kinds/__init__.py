"""The kinds of part, each in a file of its own: to add one, write its file and a line in REGISTERED.

What other layers keep by kind (reading its markings, testing it, drawing it) is listed in
`tests/test_kind_register.py`, which names what a new kind lacks.
"""

from inventory.spec.kinds.capacitor import CAPACITOR
from inventory.spec.kinds.connector import CONNECTOR
from inventory.spec.kinds.crystal import CRYSTAL
from inventory.spec.kinds.diode import DIODE
from inventory.spec.kinds.fuse import FUSE
from inventory.spec.kinds.ic import IC
from inventory.spec.kinds.inductor import INDUCTOR
from inventory.spec.kinds.kind import Kind
from inventory.spec.kinds.lamp import LAMP
from inventory.spec.kinds.other import OTHER
from inventory.spec.kinds.regulator import REGULATOR
from inventory.spec.kinds.resistor import RESISTOR
from inventory.spec.kinds.socket import SOCKET
from inventory.spec.kinds.switch import SWITCH
from inventory.spec.kinds.thermistor import THERMISTOR
from inventory.spec.kinds.transformer import TRANSFORMER
from inventory.spec.kinds.transistor import TRANSISTOR

REGISTERED = (
    RESISTOR,
    CAPACITOR,
    INDUCTOR,
    DIODE,
    TRANSISTOR,
    IC,
    CRYSTAL,
    REGULATOR,
    FUSE,
    CONNECTOR,
    SOCKET,
    SWITCH,
    TRANSFORMER,
    LAMP,
    THERMISTOR,
    OTHER,
)
"""In the order in which people are offered them."""

KINDS: dict[str, Kind] = {kind.name: kind for kind in REGISTERED}

__all__ = ["KINDS", "Kind"]
