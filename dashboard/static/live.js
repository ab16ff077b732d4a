// Listens to the page's stream: changed parts are put in, a missing beat is told.

import { morph } from "./morph.js";
import { localise, write } from "./times.js";

const LOST_AFTER_MS = 2500; // the beat comes every second
let heardAt = performance.now();
let nowMs = null;

function listen() {
  const source = new EventSource(`/live?${document.body.dataset.live}`);
  const heard = () => { heardAt = performance.now(); };
  source.addEventListener("parts", (event) => {
    heard();
    for (const [name, html] of Object.entries(JSON.parse(event.data))) {
      const part = document.getElementById(`part-${name}`);
      if (part) morph(part, html);
    }
  });
  source.addEventListener("beat", (event) => {
    heard();
    nowMs = JSON.parse(event.data).now_ms;
  });
  source.addEventListener("row", (event) => {
    heard();
    document.dispatchEvent(new CustomEvent("blotter:row", { detail: JSON.parse(event.data) }));
  });
  source.addEventListener("error", () => {
    // the browser connects again by itself, except after an answer that was no stream
    if (source.readyState === EventSource.CLOSED) setTimeout(listen, 1000);
  });
  window.addEventListener("pagehide", () => source.close(), { once: true });
}

function tellLoss() {
  const silent = performance.now() - heardAt > LOST_AFTER_MS;
  const told = document.getElementById("lost");
  if (silent && told.hidden) {
    document.getElementById("lost-from").textContent = nowMs === null ? "before" : write(nowMs);
  }
  told.hidden = !silent;
}

document.getElementById("part-warnings").addEventListener("click", (event) => {
  const line = event.target.closest("[data-unfolds]");
  if (line) line.setAttribute("aria-expanded", String(event.currentTarget.classList.toggle("opened")));
});

localise(document);
listen();
setInterval(tellLoss, 250);
window.addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
