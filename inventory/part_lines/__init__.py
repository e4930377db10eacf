"""One reader of a line of parts, for every box, paste and sheet.  Pure: no Django.

`read_line("R1, R3 47k 5% 0.25W")` answers references, how many, the parts it may mean, and every word of it:
understood, with the property it is a word for, or not, with the reason.  Nothing that was typed is dropped.
"""

from inventory.part_lines.cores import MAX_READINGS
from inventory.part_lines.corrected import with_unsaid
from inventory.part_lines.line import LONGEST, read_line
from inventory.part_lines.parsing import PartLine, PartReading, read_quantity
from inventory.part_lines.words import LineWord

__all__ = [
    "LONGEST",
    "MAX_READINGS",
    "PartLine",
    "PartReading",
    "LineWord",
    "read_line",
    "read_quantity",
    "with_unsaid",
]
