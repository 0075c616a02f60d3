// The find box of every page: the key / goes to it, and what a scanner reads while no field has focus is looked up.
// A scanner types like a person, only faster than any: a code, then Enter. Pages work without this.
"use strict";

const FASTEST_MS = 35; // between two signs of a scanner; a held key repeats no faster, and is left out anyway
const SHORTEST = 4; // signs of a code

function findBox(box) {
  let scanned = "";
  let last = -Infinity;

  const inField = (place) => place.isContentEditable || ["INPUT", "SELECT", "TEXTAREA"].includes(place.tagName);

  document.addEventListener("keydown", (event) => {
    const chord = event.ctrlKey || event.altKey || event.metaKey;
    if (inField(event.target) || chord || event.repeat || event.isComposing) {
      scanned = "";
      return;
    }
    const fast = event.timeStamp - last < FASTEST_MS;
    if (event.key === "Enter") {
      if (fast && scanned.length >= SHORTEST) {
        event.preventDefault(); // or it would press the button or link that has focus
        box.value = scanned;
        box.form.requestSubmit();
      }
      scanned = "";
    } else if (event.key.length === 1) {
      if (fast) event.preventDefault(); // a space within a code presses no button and scrolls no page
      else if (event.key === "/") {
        event.preventDefault();
        box.focus();
        box.select();
      }
      scanned = fast ? scanned + event.key : event.key;
      last = event.timeStamp;
    } // Shift and its like come between the signs of a code
  });
}

document.querySelectorAll("#find-anything").forEach(findBox);
