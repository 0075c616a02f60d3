"""Plain decimals read by columns: the same numbers as `float` gives, and None for all that is left to the careful reader."""

import pytest

from jobs.bench.methods.decimals import read_decimals


@pytest.mark.parametrize(
    ("body", "values", "places"),
    [
        ("1,2\n", [[1.0], [2.0]], (0, 0)),
        ("0.5,-9.51\n10.25,-0.001\n", [[0.5, 10.25], [-9.51, -0.001]], (2, 3)),
        ("7.,-3\n-7.0,123456\n", [[7.0, -7.0], [-3.0, 123456.0]], (1, 0)),
        ("123456789012345,0.12345678901234\n", [[123456789012345.0], [0.12345678901234]], (0, 14)),
        ("12345678901234.5,-99999999999999.9\n", [[12345678901234.5], [-99999999999999.9]], (1, 1)),
    ],
)
def test_it_works(body: str, values: list[list[float]], places: tuple[int, ...]) -> None:
    found = read_decimals(body.encode(), 2)
    assert found is not None
    assert (found[0].tolist(), found[1]) == (values, places)


@pytest.mark.parametrize(
    "body",
    [
        "",
        "1,2",
        "1\n2,3\n",
        "1,2,3\n",
        "1,2\n3\n4\n",
        "1,\n",
        ",1\n",
        "-,1\n",
        "1,.5\n",
        "1,-.5\n",
        "1,1.2.3\n",
        "1,.\n",
        "1,1e5\n",
        "1,+5\n",
        "1, 5\n",
        "1,5-\n",
        "1,--5\n",
        "1,5/2\n",
        "1,5:2\n",
        "1,1234567890123456\n",
        "1,123456789012345.6\n",
        "1,12345678901234567\n",
        "1,nan\n",
        "1,٣\n",
    ],
)
def test_it_leaves_the_rest_to_the_careful_reader(body: str) -> None:
    assert read_decimals(body.encode(), 2) is None
    # Not even where every other line is plain, longer or shorter.
    assert read_decimals(f"1,2\n{body}12345.678,0.5\n".encode(), 2) is None or body == ""
