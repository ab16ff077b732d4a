// Asks what a limit would have said over the period of the page, and keeps its marks for the chart.

import { write } from "./times.js";

const form = document.getElementById("ask-limit");
const told = document.getElementById("asked-answer");
const list = document.getElementById("asked-rows");
let marks = [];
let of = "";
let turn = 0;

// shapes in UTC ms for a chart of this query; none where the question was asked of another
export const marksOf = (query) => (query.toString() === of ? structuredClone(marks) : []);

function paragraph(text, className = "") {
  return Object.assign(document.createElement("p"), { textContent: text, className });
}

function line(row) {
  const item = document.createElement("li");
  const time = Object.assign(document.createElement("time"), { textContent: write(row.at_ms, "dated") });
  time.dateTime = new Date(row.at_ms).toISOString();
  item.append(time, Object.assign(document.createElement("span"), { textContent: row.text }));
  return item;
}

function show(paragraphs, rows = []) {
  told.replaceChildren(...paragraphs);
  list.replaceChildren(...rows);
  list.hidden = !rows.length;
}

function units() {
  const unit = form.elements.channel.selectedOptions[0]?.dataset.unit ?? "";
  for (const place of form.querySelectorAll("[data-unit]:not(option)")) place.textContent = unit;
}

function begin({ dataset }) {
  for (const name of ["side", "at", "deadband", "on_s", "off_s"]) form.elements[name].value = dataset[name];
  const channel = form.elements.channel;
  const fits = (value) => value.endsWith(`.${dataset.quantity}`);
  const first = [...channel.options].find((one) => (dataset.channel ? one.value === dataset.channel : fits(one.value)));
  if (!dataset.channel && fits(channel.value)) return;
  if (first) channel.value = first.value;
  else show([paragraph(`No probe here measures ${dataset.quantity.replaceAll("_", " ")}.`)]);
}

async function ask(query, redraw) {
  const mine = ++turn;
  const asked = new URLSearchParams(query);
  for (const channel of asked.getAll("channel")) asked.append("drawn", channel);
  asked.delete("channel");
  for (const [name, value] of new FormData(form)) asked.set(name, value);
  show([paragraph("Working it out …", "soft")]);
  const response = await fetch(`/look-back/limit?${asked}`).catch(() => null);
  const answer = response ? await response.json() : { sentence: "The dashboard does not answer." };
  if (mine !== turn) return;
  if (!response?.ok) {
    forget(redraw);
    show([paragraph(answer.sentence, "notice near")]);
    return;
  }
  const [first, ...others] = answer.told;
  if (answer.rows.length && !answer.marks.length) others.push("Choose this probe above to see it on the chart.");
  const rows = answer.rows.map(line);
  if (answer.more > 0) rows.push(Object.assign(document.createElement("li"), { textContent: `and ${answer.more} more` }));
  show([paragraph(first, "first"), ...others.map((text) => paragraph(text))], rows);
  [marks, of] = [answer.marks, query.toString()];
  redraw();
}

function forget(redraw) {
  const had = marks.length > 0;
  [marks, of] = [[], ""];
  if (had) redraw();
}

// `query` gives what the chart shows now; `redraw` draws it again
export function listen(query, redraw) {
  if (!form) return;
  form.addEventListener("submit", (event) => { event.preventDefault(); ask(query(), redraw); });
  form.addEventListener("change", units);
  document.getElementById("asked-start").addEventListener("change", (event) => {
    const chosen = event.target.selectedOptions[0];
    if (chosen.dataset.quantity) begin(chosen);
    units();
  });
  document.getElementById("wish").addEventListener("change", () => {
    turn++;
    forget(() => {});
    if (told.childElementCount) show([paragraph("The period or the probes have changed; ask again.", "soft")]);
  });
  units();
}
