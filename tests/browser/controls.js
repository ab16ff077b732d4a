// Gives what is wrong with a page's controls: each needs an accessible name and a target of `least` px
// (a box to tick counts with its label); ids once, drawings named, one h1, nothing scrolling sideways.
(least) => {
  const faults = [];
  const shown = (e) => e.checkVisibility() && e.getClientRects().length && !e.closest(".skip, .unseen");
  for (const e of document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")) {
    if (!shown(e)) continue;
    const label = e.labels?.[0] ?? e.closest("label");
    const name = e.getAttribute("aria-label") || label?.textContent.trim() || e.textContent.trim();
    if (!name) faults.push(`no name: ${e.outerHTML}`);
    const box = (["radio", "checkbox"].includes(e.type) ? label : e).getBoundingClientRect();
    if (box.height < least || box.width < 24) faults.push(`${box.width} x ${box.height} px: ${name}`);
  }
  const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
  for (const id of ids) if (ids.indexOf(id) !== ids.lastIndexOf(id)) faults.push(`id twice: ${id}`);
  for (const svg of document.querySelectorAll("svg:not(#chart svg, #js-plotly-tester)")) {
    const named = svg.getAttribute("aria-label") || svg.getAttribute("aria-hidden") === "true";
    if (!named) faults.push(`svg without a name: ${svg.outerHTML.slice(0, 80)}`);
  }
  if (document.querySelectorAll("h1").length !== 1) faults.push("not exactly one h1");
  const wide = document.documentElement.scrollWidth;
  if (wide > innerWidth) faults.push(`scrolls sideways: ${wide} px`);
  return faults;
}
