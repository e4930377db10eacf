"""From a faint, partial or ambiguous marking to ranked, explained readings. Pure: no Django, no files, no
clock.

>>> answer = decode(Question(marking="104K 100V", kind="capacitor"))
>>> [(reading.value, str(reading.tolerance_percent), str(reading.volts)) for reading in answer.readings[:1]]
[(100000000, '10', '100')]
"""

from .decoder import decode
from .reading import MalformedMarking, Question, Reading, Readings
from .stated import spec_of

__all__ = ["Readings", "MalformedMarking", "Question", "Reading", "decode", "spec_of"]
