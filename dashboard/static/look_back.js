// Draws what was asked for; a period that ends now is asked again as time goes on.

import { listen, marksOf } from "./limit_asked.js";
import { timeAxis } from "./time_axis.js";
import { write, zone } from "./times.js";

const AGAIN_MS = 10000;
const wish = document.getElementById("wish");
const chart = document.getElementById("chart");
const told = document.getElementById("look-answer");
let turn = 0;

function query() {
  const data = new FormData(wish);
  const asked = new URLSearchParams();
  asked.set("period", data.get("period"));
  for (const channel of data.getAll("channel")) asked.append("channel", channel);
  if (data.get("period") === "step") asked.set("step", data.get("step"));
  if (data.get("period") === "custom") {
    for (const [id, name] of [["from", "from_ms"], ["to", "to_ms"]]) {
      const ms = new Date(document.getElementById(id).value).getTime();
      if (Number.isFinite(ms)) asked.set(name, ms);
    }
  }
  return asked;
}

// the chart library shows instants as UTC: move them so that it shows the browser's time
const local = (ms) => (typeof ms === "number" ? ms - new Date(ms).getTimezoneOffset() * 60000 : ms);

function toLocal({ data, layout }) {
  for (const trace of data) trace.x = trace.x.map(local);
  layout.xaxis.range = layout.xaxis.range.map(local);
  for (const shape of layout.shapes) [shape.x0, shape.x1] = [local(shape.x0), local(shape.x1)];
  for (const note of layout.annotations) if (note.xref === "x") note.x = local(note.x);
  if (chart.clientWidth < 560) {
    layout.margin = { ...layout.margin, l: 34, r: 74 };
    for (const note of layout.annotations) { // a step's name needs the whole width
      if (note.xref === "x" && note.yref === "paper") Object.assign(note, { xref: "paper", x: 0, xanchor: "left" });
    }
  }
  Object.assign(layout.xaxis, timeAxis(layout.xaxis.range, chart.clientWidth - layout.margin.l - layout.margin.r));
  layout.annotations = apart(layout.annotations, layout.xaxis.range, chart.clientWidth);
  return { data, layout };
}

// numbers of places stand above their passes only where they stay apart
function apart(notes, [from, to], width) {
  let last = -Infinity;
  return notes.filter((note) => {
    if (!String(note.yref).endsWith("domain")) return true;
    if (note.x - last < (22 / width) * (to - from)) return false;
    last = note.x;
    return true;
  });
}

function line(row) {
  const item = document.createElement("li");
  const time = document.createElement("time");
  time.dateTime = new Date(row.at_ms).toISOString();
  time.textContent = write(row.at_ms, "dated");
  const text = document.createElement("span");
  text.textContent = row.text;
  const by = document.createElement("span");
  by.className = "by";
  by.textContent = row.by;
  item.append(time, text, by);
  return item;
}

function origin(what, { whose, told, entry }) {
  const says = document.createElement("dd");
  says.append(Object.assign(document.createElement("span"), { className: "soft", textContent: `${whose}. ` }), told);
  if (entry) {
    const link = Object.assign(document.createElement("a"), { className: "follow", textContent: "what was read of it" });
    link.href = `/sources#${entry}`;
    link.setAttribute("aria-label", `What was read of it: ${what}`);
    says.append(" ", link);
  }
  return says;
}

function limit(one) {
  const term = Object.assign(document.createElement("dt"), { textContent: one.what });
  return [term, ...one.from.map((from) => origin(one.what, from))];
}

async function look() {
  const mine = ++turn;
  const asked = query();
  const response = await fetch(`/look-back/seen?${asked}`).catch(() => null);
  const seen = response ? await response.json() : { sentence: "The dashboard does not answer." };
  if (mine !== turn) return;
  if (!response?.ok) {
    told.textContent = seen.sentence;
    return;
  }
  document.getElementById("zone").textContent = zone(seen.spec.layout.xaxis.range[1]);
  told.textContent = seen.empty ? "Nothing was measured in this period by the probes chosen." : "";
  seen.spec.layout.shapes.push(...marksOf(asked));
  const { data, layout } = toLocal(seen.spec);
  await Plotly.react(chart, data, layout, { displayModeBar: false, responsive: true });
  const limits = document.getElementById("limits");
  limits.querySelector("dl").replaceChildren(...seen.limits.flatMap(limit));
  limits.hidden = !seen.limits.length;
  const rows = seen.rows.map(line);
  if (!rows.length) rows.push(Object.assign(document.createElement("li"), { textContent: "Nothing was written in this period." }));
  if (seen.more) rows.unshift(Object.assign(document.createElement("li"), { textContent: "Only the newest are listed; choose a shorter period for what was before." }));
  document.getElementById("book").replaceChildren(...rows);
}

function shownFields() {
  const period = new FormData(wish).get("period");
  document.getElementById("custom").hidden = period !== "custom";
  const ofStep = document.getElementById("of-step");
  if (ofStep) ofStep.hidden = period !== "step";
}

const open = () => ["hour", "eight", "day"].includes(new FormData(wish).get("period"));
let soon = null;

if (wish) {
  wish.addEventListener("submit", (event) => event.preventDefault());
  wish.addEventListener("change", () => { shownFields(); look(); });
  document.addEventListener("blotter:light", look);
  document.addEventListener("blotter:row", () => {
    clearTimeout(soon);
    if (open()) soon = setTimeout(look, 500);
  });
  listen(query, look);
  setInterval(() => { if (open() && !document.hidden) look(); }, AGAIN_MS);
  shownFields();
  look();
}
