// While a batch is worked on, its page is asked anew every two seconds and the bar replaced; at the end the page itself.
"use strict";

const progress = document.querySelector("[data-progress]");
async function look() {
  try {
    const answer = await fetch(location.href);
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("[data-progress]");
    if (!answer.ok || !fresh) return location.reload();
    progress.replaceChildren(...fresh.childNodes);
  } catch {
    // The server does not answer just now; ask again.
  }
  setTimeout(look, 2000);
}
if (progress) setTimeout(look, 2000);
