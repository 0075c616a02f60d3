// The find box of every page: the key / goes to it, and what a scanner reads while no field has focus is looked up, or goes
// into the page's own field for it.
// A scanner types like a person, only faster than any: a code, then Enter. Pages work without this.
"use strict";

const FASTEST_MS = 35; // between two signs of a scanner
const PAUSE_MS = 300; // before a scanner's first sign; without one it may be the rest of something, and no code
const SHORTEST = 4; // signs of a code

function findBox(box) {
  let scanned = null; // the signs of a burst so far; null once a sign came at a person's pace
  let last = -Infinity;

  // Into a tick or a choice nobody types: a scanner's Enter there would send the form.
  const inField = (place) =>
    place.isContentEditable || (["INPUT", "SELECT", "TEXTAREA"].includes(place.tagName) && !["radio", "checkbox"].includes(place.type));

  document.addEventListener("keydown", (event) => {
    if (event.key.length > 1 && event.key !== "Enter") return; // Shift and its like come between the signs of a code
    const gap = event.timeStamp - last;
    const fast = gap < FASTEST_MS;
    last = event.timeStamp;
    if (inField(event.target) || event.ctrlKey || event.altKey || event.metaKey || event.repeat || event.isComposing) {
      scanned = null;
    } else if (event.key === "Enter") {
      if (fast && scanned !== null && scanned.length >= SHORTEST) {
        event.preventDefault(); // or it would press the button or link that has focus
        const own = document.querySelector("[data-scans]"); // the page's field for codes that begin so
        const place = own && scanned.toUpperCase().startsWith(own.dataset.scans) ? own : box;
        place.value = scanned;
        place.form.requestSubmit();
      }
      scanned = null;
    } else if (fast) {
      event.preventDefault(); // a space within a code presses no button and scrolls no page
      if (scanned !== null) scanned += event.key;
    } else if (event.key === "/") {
      event.preventDefault();
      box.focus();
      box.select();
    } else {
      scanned = gap > PAUSE_MS ? event.key : null;
    }
  });
}

document.querySelectorAll("#find-anything").forEach(findBox);
