// The page of a logging asks for its drawing as it grows. Without this a reload shows the same.
"use strict";

const OFTEN_MS = 500; // while samples come
const SELDOM_MS = 2000; // once PATIENCE answers brought nothing new, or none came
const PATIENCE = 20;

function watch(place) {
  const said = document.querySelector("#live-said");
  const lost = document.querySelector("#live-lost");
  let idle = 0;
  let waiting = 0; // the timer of the next question
  let asking = false;

  async function ask() {
    if (document.hidden || asking) return; // it asks again once it is looked at
    asking = true;
    const began = performance.now();
    const have = place.firstElementChild.dataset.have;
    try {
      const answer = await fetch(`${place.dataset.live}?have=${encodeURIComponent(have)}`, {
        redirect: "manual", // whoever is signed out is led away: that is no drawing
        signal: AbortSignal.timeout(8000),
      });
      if (answer.status === 200) {
        place.innerHTML = await answer.text();
        if (said.textContent !== place.firstElementChild.dataset.said) said.textContent = place.firstElementChild.dataset.said;
      } else if (answer.status !== 204) throw new Error("no drawing");
      idle = answer.status === 200 ? 0 : idle + 1;
      lost.hidden = true;
      if (!place.firstElementChild.dataset.have.startsWith("open")) window.location.reload();
    } catch {
      idle = PATIENCE;
      lost.hidden = false;
    }
    asking = false;
    const every = idle < PATIENCE ? OFTEN_MS : SELDOM_MS;
    clearTimeout(waiting);
    waiting = setTimeout(ask, Math.max(0, every - (performance.now() - began)));
  }

  document.addEventListener("visibilitychange", ask);
  ask();
}

document.querySelectorAll("#live").forEach(watch);
