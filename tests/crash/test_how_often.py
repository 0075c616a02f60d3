"""How many kills the other tests count before they are content."""

from tests.crash import test_check_in, test_letters, test_sign_off
from tests.crash.rig import KILLS


def test_it_works() -> None:
    points = 3 * (test_check_in.AT_A_POINT + test_sign_off.AT_A_POINT)
    at_random = sum(each.AT_RANDOM for each in (test_check_in, test_sign_off, test_letters))

    letters = len(test_letters.TURNS) * (test_letters.LOTS + test_letters.BEFORE)

    assert points + at_random + letters >= KILLS >= 60
