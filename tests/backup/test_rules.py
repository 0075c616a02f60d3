"""What a backup states: read back as it was written, and each difference named."""

import json
from typing import Any

import pytest

from shop.backup.rules import (
    Manifest,
    Table,
    byte_faults,
    manifest_text,
    migration_faults,
    read_manifest,
    read_sums,
    sums_text,
    table_faults,
)

A, B = "a" * 64, "b" * 64
MANIFEST = Manifest(
    "1", "2026-11-25T12:00:00+00:00", "sqlite", ["gear.0001"], {"t": Table(3, A)}, [A, B], [B]
)
SUMS = {"manifest.json": A, "files/bb/b": B}


def test_it_works() -> None:
    assert read_manifest(manifest_text(MANIFEST)) == MANIFEST
    assert read_sums(sums_text(SUMS)) == SUMS
    assert sums_text(SUMS).splitlines()[1] == f"{A}  manifest.json"


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"format": 2}, "The backup has format 2; this version reads format 1."),
        ({"engine": "oracle"}, "manifest.json names the engine 'oracle', which is not known here."),
        ({"more": 1}, "manifest.json is not a manifest that this version can read."),
        ({"tables": [1]}, "manifest.json is not a manifest that this version can read."),
        ({"tables": {"t": {"rows": 1}}}, "manifest.json is not a manifest that this version can read."),
    ],
)
def test_it_refuses_a_manifest_that_is_none(change: dict[str, Any], sentence: str) -> None:
    with pytest.raises(ValueError, match="manifest|format") as refused:
        read_manifest(json.dumps(json.loads(manifest_text(MANIFEST)) | change))

    assert str(refused.value) == sentence


def test_it_refuses_sums_that_were_cut_anywhere() -> None:
    text = sums_text(SUMS)
    between = text.index("\n") + 1

    for at in {*range(len(text))} - {between}:
        with pytest.raises(ValueError, match="cut short or damaged"):
            read_sums(text[:at])
    assert byte_faults(read_sums(text[:between]), SUMS) == ["manifest.json is not named in SHA256SUMS."]


@pytest.mark.parametrize(
    ("found", "sentences"),
    [
        (SUMS, []),
        ({"manifest.json": A}, ["files/bb/b is missing."]),
        (SUMS | {"more": A}, ["more is not named in SHA256SUMS."]),
        (
            SUMS | {"manifest.json": B},
            ["manifest.json was altered or cut short: its bytes are not those that were written."],
        ),
    ],
)
def test_it_names_each_file_that_differs(found: dict[str, str], sentences: list[str]) -> None:
    assert byte_faults(SUMS, found) == sentences


@pytest.mark.parametrize(
    ("found", "sentences"),
    [
        ({"t": Table(3, A)}, []),
        ({}, ["Table t is missing."]),
        ({"t": Table(3, A), "u": Table(0, A)}, ["Table u is not named in manifest.json."]),
        ({"t": Table(2, B)}, ["Table t has 2 rows; the backup states 3."]),
        ({"t": Table(3, B)}, ["Table t has rows that are not those the backup states."]),
    ],
)
def test_it_names_each_table_that_differs(found: dict[str, Table], sentences: list[str]) -> None:
    assert table_faults(MANIFEST.tables, found) == sentences


@pytest.mark.parametrize(
    ("known", "told"),
    [
        (["a.1"], "it lacks nothing"),
        (["a.1", "b.1"], "it lacks b.1"),
        ([], "it has a.1"),
        (["b.1"], "it has a.1; it lacks b.1"),
    ],
)
def test_it_wants_the_version_that_made_the_backup(known: list[str], told: str) -> None:
    found = migration_faults(["a.1"], known)

    assert found == [] if known == ["a.1"] else told in found[0]
