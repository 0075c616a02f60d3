"""A photograph from a telephone is made smaller by the browser, and carries no place."""

from io import BytesIO

import pytest
from PIL import ExifTags, Image

from shop.files.models import Photograph, Spot
from shop.files.reads import stored
from tests.browser.test_two_at_once import Windows, press
from tests.browser.test_two_at_once import window as window
from tests.conftest import House
from tests.photographs import GPS, encoded

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
# What would be sent: how many bytes, and whether the camera's notes are among them.
HELD = """async () => {
  const bytes = new Uint8Array(await document.querySelector("input[type=file]").files[0].arrayBuffer());
  return [bytes.length, new TextDecoder("latin1").decode(bytes).includes("Exif")];
}"""


def taken() -> bytes:
    """What a telephone gives: many pixels, lying on its side, with the place in it."""
    picture = Image.effect_noise((3000, 2000), 60).convert("RGB")
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    exif.get_ifd(ExifTags.IFD.GPSInfo).update({1: "N", 2: GPS, 3: "W", 4: GPS})
    written = BytesIO()
    picture.save(written, "JPEG", exif=exif, quality=95)
    return written.getvalue()


def test_it_works(house: House, window: Windows) -> None:
    page, content = window("counter"), taken()
    page.goto(f"/items/{house.item().uid}/photographs/new")

    page.locator("input[type=file]").set_input_files(
        {"name": "IMG_0001.jpg", "mimeType": "image/jpeg", "buffer": content}
    )
    while (held := page.evaluate(HELD))[0] == len(content):
        page.wait_for_timeout(50)
    assert held[0] < len(content) / 2
    assert (b"Exif" in content, held[1]) == (True, False)
    assert press(page, "Keep the photograph") == 200

    file = Photograph.objects.get().file
    assert (file.width_px, file.height_px) == (1333, 2000)
    assert b"Exif" not in stored(file)


def test_it_waits_for_it_to_be_smaller(house: House, window: Windows) -> None:
    """Whoever presses at once sends the small one too."""
    page, content = window("counter"), taken()
    page.goto(f"/items/{house.item().uid}/photographs/new")

    page.locator("input[type=file]").set_input_files(
        {"name": "IMG_0001.jpg", "mimeType": "image/jpeg", "buffer": content}
    )
    with page.expect_navigation(), page.expect_request(lambda asked: asked.method == "POST") as sent:
        page.get_by_role("button", name="Keep the photograph").click()

    assert int(sent.value.all_headers()["content-length"]) < len(content) / 2


def test_it_leaves_alone_what_the_browser_cannot_read(house: House, window: Windows) -> None:
    page = window("counter")
    page.goto(f"/items/{house.item().uid}/photographs/new")

    page.locator("input[type=file]").set_input_files(
        {"name": "IMG_0001.jpg", "mimeType": "image/jpeg", "buffer": b"no photograph"}
    )
    assert press(page, "Keep the photograph") == 400

    assert "This is no photograph that can be kept" in page.inner_text("main")


def test_it_fills_in_where_the_picture_was_pressed(house: House, window: Windows) -> None:
    page = window("counter")
    page.goto(f"/items/{house.item().uid}/photographs/new")
    page.locator("input[type=file]").set_input_files(
        {"name": "IMG_0001.png", "mimeType": "image/png", "buffer": encoded("PNG", size=(400, 200))}
    )
    press(page, "Keep the photograph")
    with page.expect_navigation():  # the script that takes the press has run by then
        page.get_by_role("link", name="point something out").click()

    box = page.locator("[data-spots]").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] * 0.25, box["y"] + box["height"] * 0.75)
    page.get_by_label("What is there").fill("The yoke is bent.")
    assert press(page, "Keep it") == 200

    row = Spot.objects.get()
    assert (abs(row.x - 0.25) < 0.01, abs(row.y - 0.75) < 0.01, row.shape) == (True, True, "circle")
    assert "The yoke is bent." in page.inner_text("figure")
