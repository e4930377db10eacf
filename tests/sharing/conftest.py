"""What the tests of sharing share."""

from tests.api.conftest import _own_pictures, _unhurried  # noqa: F401
from tests.pages.conftest import sign_in  # noqa: F401
