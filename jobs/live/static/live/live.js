// The page of a logging asks for its drawing as it grows. Without this a reload shows the same.
"use strict";

// The server says when the next samples are due (data-ask). What comes late is asked for again, less and less often.
const SOON_MS = 120;
const SELDOM_MS = 1000;

function watch(place) {
  const said = document.querySelector("#live-said");
  const lost = document.querySelector("#live-lost");
  let again = SOON_MS; // how long after an answer without anything new
  let waiting = 0; // the timer of the next question
  let asking = false;

  async function ask() {
    if (document.hidden || asking) return; // it asks again once it is looked at
    asking = true;
    clearTimeout(waiting);
    let wait = again;
    again = Math.min(2 * again, SELDOM_MS);
    try {
      const have = place.firstElementChild.dataset.have;
      const answer = await fetch(`${place.dataset.live}?have=${encodeURIComponent(have)}`, {
        redirect: "manual", // whoever is signed out is led away: that is no drawing
        signal: AbortSignal.timeout(8000),
      });
      if (answer.status === 200) {
        place.innerHTML = await answer.text();
        const drawn = place.firstElementChild.dataset;
        if (!drawn.have.startsWith("open")) return window.location.reload();
        if (said.textContent !== drawn.said) said.textContent = drawn.said;
        wait = Number(drawn.ask);
        again = SOON_MS;
      } else if (answer.status !== 204) throw new Error("no drawing");
      lost.hidden = true;
    } catch {
      wait = SELDOM_MS;
      lost.hidden = false;
    }
    asking = false;
    waiting = setTimeout(ask, wait);
  }

  document.addEventListener("visibilitychange", ask);
  ask();
}

document.querySelectorAll("#live").forEach(watch);
