"""Takers of a load, each a process that asks the API of a real server; how much is tried, and the command that tries it.

`python -m tests.stock.load --seeds 20` tries it in full on the engine that the environment names; the suite tries a little.
"""

import argparse
import json
import os
import sys
import time
from contextlib import suppress
from dataclasses import asdict, dataclass
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from random import Random
from typing import Any

import pytest

PATIENCE_S = 120


@dataclass(frozen=True)
class Size:
    """How much is tried: so many takes of each taker from so many pieces, anew with each seed."""

    seeds: int = 1
    takers: int = 4
    takes: int = 12
    pieces: int = 30

    @classmethod
    def asked(cls) -> "Size":
        """The small one, unless somebody asks for more by hand."""
        return cls(**json.loads(os.environ.get("EBBWRIGHT_LOAD", "{}")))


def take(port: int, token: str, path: str, bins: list[str], log: Path, seed: str, takes: int) -> None:
    """One taker: each take stands in the log before it is sent and again once it is answered."""
    rng = Random(seed)
    with log.open("a", buffering=1) as out:
        for n in range(takes):
            mark, pieces = f"{seed}-{n}", rng.choice((1, 1, 1, 2))
            body = {"quantity": pieces, "subject": mark, "bin": rng.choice([None, None, *bins])}
            out.write(json.dumps([mark, pieces, 0, ""]) + "\n")
            # Half give up when nobody answers; the others ask again under the same key.
            for _ in range(rng.choice((1, 20))):
                with suppress(OSError, HTTPException):
                    out.write(json.dumps([mark, pieces, *_answer(port, token, path, mark, body)]) + "\n")
                    break
                time.sleep(0.05)


def _answer(port: int, token: str, path: str, key: str, body: dict[str, Any]) -> tuple[int, str]:
    """Status and text."""
    line = HTTPConnection("127.0.0.1", port, timeout=PATIENCE_S)
    headers = {"Authorization": f"Token {token}", "Content-Type": "application/json"}
    line.request("POST", path, json.dumps(body), headers | {"Idempotency-Key": f'"{key}"'})
    answer = line.getresponse()
    return answer.status, answer.read().decode()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    # Fewer takers, fewer pieces: they must run out.
    full = Size(20, 16, 200, 1000) if os.environ.get("EBBWRIGHT_DATABASE_URL") else Size(20, 4, 200, 500)
    for name, value in asdict(full).items():
        parser.add_argument(f"--{name}", type=int, default=value)
    os.environ["EBBWRIGHT_LOAD"] = json.dumps(vars(parser.parse_args()))
    sys.exit(pytest.main(["-q", "-s", "-p", "no:xdist", "tests/stock/test_load.py"]))
