"""What a photograph may be, as a table."""

import pytest

from shop.files.rules import pixel_fault, place, size_fault


def test_it_works() -> None:
    assert place("ab" + "c" * 62) == ("ab", "c" * 62)


@pytest.mark.parametrize(
    ("size_bytes", "said"),
    [
        (0, "The file is empty."),
        (1, ""),
        (10_000_000, ""),
        (10_000_001, "The file has 10.0 MB; at most 10 MB are taken."),
        (25_000_000, "The file has 25.0 MB; at most 10 MB are taken."),
    ],
)
def test_it_says_which_sizes_are_not_taken(size_bytes: int, said: str) -> None:
    assert size_fault(size_bytes) == said


@pytest.mark.parametrize(
    ("width_px", "height_px", "said"),
    [
        (8000, 5000, ""),
        (8000, 5001, "The picture is 8000 by 5001 pixels; at most 40 million are taken."),
        (50_000, 50_000, "The picture is 50000 by 50000 pixels; at most 40 million are taken."),
    ],
)
def test_it_says_how_many_pixels_are_too_many(width_px: int, height_px: int, said: str) -> None:
    assert pixel_fault(width_px, height_px) == said
