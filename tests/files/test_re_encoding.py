"""Whatever is sent, what is kept is a JPEG of our own making, or nothing."""

import gzip
import resource
import struct
import time
import zipfile
import zlib
from contextlib import suppress
from io import BytesIO

import pytest
from PIL import Image

from shop.files.reads import NotAPhotograph, Picture, re_encoded
from shop.files.rules import HEIC
from tests.photographs import encoded, halves

NO_PHOTOGRAPH = "This is no photograph that can be kept: send a JPEG, PNG or WebP."
DAMAGED = "This photograph is damaged or cut short. Take it again, or send the file once more."
SCRIPT = b"<script>alert(1)</script>"
SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script><foreignObject/></svg>'


def opened(picture: Picture) -> Image.Image:
    return Image.open(BytesIO(picture.jpeg))


def colour(picture: Picture, x: int, y: int) -> str:
    """Red or blue, at a place where lossy coding has not smeared it."""
    pixel = opened(picture).getpixel((x, y))
    assert isinstance(pixel, tuple)
    return "red" if pixel[0] > pixel[2] else "blue"


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(width_px: int, height_px: int) -> bytes:
    """A PNG whose header claims a size that its few bytes do not hold."""
    header = chunk(b"IHDR", struct.pack(">IIBBBBB", width_px, height_px, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + header + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")


def zipped() -> bytes:
    written = BytesIO()
    with zipfile.ZipFile(written, "w") as archive:
        archive.writestr("index.html", SCRIPT)
    return written.getvalue()


def refusal(content: bytes) -> str:
    with pytest.raises(NotAPhotograph) as refused:
        re_encoded(content)
    return str(refused.value)


def test_it_works() -> None:
    picture = re_encoded(encoded())

    assert (picture.width_px, picture.height_px) == (60, 40)
    assert (opened(picture).format, opened(picture).size, opened(picture).mode) == ("JPEG", (60, 40), "RGB")


@pytest.mark.parametrize(
    ("kind", "mode"),
    [
        ("JPEG", "L"), ("JPEG", "CMYK"), ("PNG", "RGBA"), ("PNG", "P"), ("PNG", "1"), ("PNG", "I;16"),
        ("PNG", "LA"), ("WEBP", "RGB"), ("WEBP", "RGBA"),
    ],
)  # fmt: skip
def test_it_makes_a_jpeg_of_each_kind(kind: str, mode: str) -> None:
    picture = re_encoded(encoded(kind, mode=mode, colour=0))

    assert (opened(picture).format, opened(picture).mode) == ("JPEG", "RGB")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_it_keeps_nothing_of_place_and_camera(kind: str) -> None:
    content = halves(kind)
    sent = Image.open(BytesIO(content)).getexif()
    assert sent[271] == "Tarnwell Camera"
    assert sent.get_ifd(0x8825)[2] == (51.0, 28.0, 38.0)

    kept = re_encoded(content).jpeg

    assert dict(Image.open(BytesIO(kept)).getexif()) == {}
    assert b"Exif" not in kept
    assert b"Tarnwell" not in kept


def test_it_keeps_no_comment_profile_or_text() -> None:
    content = encoded("JPEG", comment=SCRIPT, icc_profile=b"a colour profile")
    assert SCRIPT in content

    kept = re_encoded(content).jpeg

    assert set(Image.open(BytesIO(kept)).info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert b"script" not in kept
    assert b"colour profile" not in kept


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize(
    ("orientation", "size", "red_at"),
    [
        (1, (64, 32), (8, 16)), (2, (64, 32), (56, 16)), (3, (64, 32), (56, 16)), (4, (64, 32), (8, 16)),
        (5, (32, 64), (16, 8)), (6, (32, 64), (16, 8)), (7, (32, 64), (16, 56)), (8, (32, 64), (16, 56)),
    ],
)  # fmt: skip
def test_it_stands_upright(
    kind: str, orientation: int, size: tuple[int, int], red_at: tuple[int, int]
) -> None:
    picture = re_encoded(halves(kind, orientation))

    x, y = red_at
    assert (picture.width_px, picture.height_px) == size
    assert colour(picture, x, y) == "red"
    assert colour(picture, size[0] - 1 - x, size[1] - 1 - y) == "blue"


@pytest.mark.parametrize(
    ("size", "kept"),
    [
        ((2000, 1500), (2000, 1500)),
        ((4000, 3000), (2000, 1500)),
        ((3000, 4001), (1500, 2000)),
        ((1, 3), (1, 3)),
        ((20_000, 1), (2000, 1)),
    ],
)
def test_it_is_no_longer_than_two_thousand_pixels(size: tuple[int, int], kept: tuple[int, int]) -> None:
    picture = re_encoded(encoded("JPEG", size))

    assert (picture.width_px, picture.height_px) == opened(picture).size == kept


def test_it_lies_on_white_where_nothing_was() -> None:
    assert opened(re_encoded(encoded("PNG", mode="RGBA", colour=(0, 0, 0, 0)))).getpixel((5, 5)) == (
        255,
        255,
        255,
    )


REFUSED = {
    "nothing": (b"", "The file is empty."),
    "svg": (SVG, NO_PHOTOGRAPH),
    "svg with a heading": (b'<?xml version="1.0"?>' + SVG, NO_PHOTOGRAPH),
    "html": (b"<!doctype html>" + SCRIPT, NO_PHOTOGRAPH),
    "html before a jpeg": (SCRIPT + encoded(), NO_PHOTOGRAPH),
    "html after the first bytes of a jpeg": (b"\xff\xd8\xff\xe0" + SCRIPT, NO_PHOTOGRAPH),
    "gif": (encoded("GIF"), NO_PHOTOGRAPH),
    "gif with script": (b"GIF89a/*" + encoded("GIF")[8:] + b"*/=1;alert(1)", NO_PHOTOGRAPH),
    "tiff": (encoded("TIFF"), NO_PHOTOGRAPH),
    "bmp": (encoded("BMP"), NO_PHOTOGRAPH),
    "ico": (encoded("ICO"), NO_PHOTOGRAPH),
    "pdf": (b"%PDF-1.7\n/JavaScript (alert(1))", NO_PHOTOGRAPH),
    "pdf with a jpeg in it": (b"%PDF-1.7\n" + encoded(), NO_PHOTOGRAPH),
    "pdf of 65 535 pages": (
        b"%PDF-1.7\n" + b"1 0 obj<</Type/Page/Parent 2 0 R>>endobj\n" * 65_535,
        NO_PHOTOGRAPH,
    ),
    "fits that unpacks to much more": (
        b"SIMPLE  =                    T".ljust(2880) + gzip.compress(bytes(50_000_000)),
        NO_PHOTOGRAPH,
    ),
    "zip": (zipped(), NO_PHOTOGRAPH),
    "heic": (b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(200), HEIC),
    "postscript": (b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 10 10\n", NO_PHOTOGRAPH),
    "zeros": (bytes(5000), NO_PHOTOGRAPH),
    "a jpeg's first two bytes": (b"\xff\xd8", NO_PHOTOGRAPH),
    "half a jpeg": (encoded("JPEG", (600, 400))[:1500], DAMAGED),
    "half a png": (encoded("PNG", (600, 400))[:100], DAMAGED),
    "half a webp": (halves("WEBP")[:60], NO_PHOTOGRAPH),
    "a png of no pixels": (png(0, 10), NO_PHOTOGRAPH),
    "a png that is not as large as it says": (png(1000, 1000), DAMAGED),
}


@pytest.mark.parametrize(("content", "said"), REFUSED.values(), ids=REFUSED.keys())
def test_it_refuses_what_is_no_photograph(content: bytes, said: str) -> None:
    assert refusal(content) == said


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("tail", [SCRIPT, zipped(), b"%PDF-1.7\n"], ids=["html", "zip", "pdf"])
def test_it_keeps_nothing_of_what_hangs_on_a_photograph(kind: str, tail: bytes) -> None:
    """Telephones hang a film on a photograph, so it is taken; what hangs on it is not kept."""
    content = encoded(kind) + tail

    kept = re_encoded(content)

    assert kept.jpeg == re_encoded(encoded(kind)).jpeg
    assert tail not in kept.jpeg


def memory_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000


@pytest.mark.parametrize(
    "content",
    [
        png(50_000, 50_000),
        png(13_377, 13_378),
        png(40_001, 1000),
        png(2**31 - 1, 2**31 - 1),
        png(20_000, 20_000) + bytes(9_000_000),
    ],
    ids=["fifty thousand square", "178 956 971", "a row too many", "the most a png may say", "ten megabytes"],
)
def test_it_refuses_a_bomb_by_its_header(content: bytes) -> None:
    before, start = memory_mb(), time.perf_counter()

    said = refusal(content)

    assert time.perf_counter() - start <= 0.3
    assert memory_mb() - before <= 100
    assert "pixels" in said


def test_it_takes_only_the_first_of_many_frames() -> None:
    written = BytesIO()
    frames = [Image.new("RGB", (20, 20), (n % 256, n // 256, 0)) for n in range(10_000)]
    frames[0].save(written, "PNG", save_all=True, append_images=frames[1:])
    start = time.perf_counter()

    picture = re_encoded(written.getvalue())

    assert time.perf_counter() - start <= 0.3
    assert (picture.width_px, picture.height_px) == (20, 20)


def test_it_refuses_text_that_unpacks_to_much_more() -> None:
    bomb = chunk(b"zTXt", b"Comment\0\0" + zlib.compress(bytes(200_000_000)))
    content = encoded("PNG")
    content = content[:33] + bomb + content[33:]
    before = memory_mb()

    assert refusal(content) == NO_PHOTOGRAPH
    assert memory_mb() - before <= 100


@pytest.mark.filterwarnings("ignore::UserWarning:PIL")
def test_it_never_faults_on_a_photograph_with_any_byte_changed() -> None:
    """Whatever the library makes of it, it is a photograph of ours or a sentence."""
    taken = 0
    for kind in ("JPEG", "PNG", "WEBP"):
        content = halves(kind, 6)
        for place in range(0, len(content), 3):
            broken = content[:place] + bytes([content[place] ^ 0xFF]) + content[place + 1 :]
            with suppress(NotAPhotograph):
                assert re_encoded(broken).jpeg.startswith(b"\xff\xd8\xff")
                taken += 1
    assert taken > 20
