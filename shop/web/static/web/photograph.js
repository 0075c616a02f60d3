// A photograph is made smaller before it is sent, so that a telephone's many megabytes go over a weak line: no longer than
// the server keeps it, upright, and without what a camera writes beside the picture. Without this it is sent as it is.
"use strict";

const LONGEST_PX = 2000;
const SMALL_BYTES = 600_000; // what is smaller than this and no longer is sent as it is

async function reduced(file) {
  const picture = await createImageBitmap(file);
  const scale = Math.min(1, LONGEST_PX / Math.max(picture.width, picture.height));
  if (scale === 1 && file.size < SMALL_BYTES) return file;
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(picture.width * scale);
  canvas.height = Math.round(picture.height * scale);
  const pen = canvas.getContext("2d");
  pen.fillStyle = "white"; // under what is see-through, as the server does it
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
  const made = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
  return made && made.size < file.size ? new File([made], "photograph.jpg", { type: "image/jpeg" }) : file;
}

function reduceIn(input) {
  let working = null;
  input.addEventListener("change", () => {
    const file = input.files[0];
    if (!file?.type.startsWith("image/")) return;
    working = reduced(file)
      .then((smaller) => {
        if (input.files[0] !== file || smaller === file) return;
        const taken = new DataTransfer();
        taken.items.add(smaller);
        input.files = taken.files;
      })
      .catch(() => {}) // what the browser cannot read the server looks at
      .finally(() => (working = null));
  });
  input.form.addEventListener(
    "submit",
    (event) => {
      if (!working) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      working.then(() => input.form.requestSubmit());
    },
    { capture: true },
  );
}

document.querySelectorAll('input[type="file"][accept*="image/"]').forEach(reduceIn);
