// What a person does: one POST with an id made here, the revision seen and the age of the gesture.

const AGAIN_MS = 1500; // a second tap within this time is the same tap
const ids = new Map(); // what was asked -> {id, at}
let pressed = null; // the control under the finger, as it stood when it was pressed

function idOf(key) {
  const known = ids.get(key);
  const now = performance.now();
  if (known && (known.keep || now - known.at < AGAIN_MS)) return known.id;
  const id = crypto.randomUUID ? crypto.randomUUID() : `${Date.now()}-${Math.random().toString(16).slice(2, 14)}`;
  ids.set(key, { id, at: now, keep: true });
  return id;
}

export async function ask(what, bornAt) {
  const key = JSON.stringify(what);
  const message = { id: idOf(key), ...what, age_ms: age(bornAt) };
  try {
    const response = await fetch("/ask", {
      method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(message),
    });
    const answer = await response.json();
    // an answer that may not have been given by the station leaves the id in use: asking again counts once
    if (response.status !== 503) {
      if (answer.ok) ids.get(key).keep = false;
      else ids.delete(key);
    }
    return answer;
  } catch {
    return { ok: false, sentence: "The dashboard does not answer. What you entered stays here; ask again later." };
  }
}

function age(bornAt) {
  return Math.min(600000, Math.max(0, Math.round(performance.now() - bornAt)));
}

const banner = document.getElementById("answer");
document.getElementById("answer-read").addEventListener("click", () => { banner.hidden = true; });

function tell(answer, place) {
  const text = place ?? banner.querySelector("p");
  text.textContent = answer.sentence ?? "";
  (place ?? banner).hidden = answer.ok || !answer.sentence;
}

function asStood(control) {
  const what = { do: control.dataset.do, fields: JSON.parse(control.dataset.fields ?? "{}") };
  if (control.dataset.expects !== undefined) what.expects = Number(control.dataset.expects);
  return what;
}

function press(event) {
  const control = event.target.closest?.("button[data-do]");
  if (!control) return;
  if (event.type === "keydown" && event.key !== "Enter" && event.key !== " ") return;
  if (event.repeat) {
    event.preventDefault(); // a key held down is one gesture
    return;
  }
  pressed = { control, what: asStood(control), at: event.timeStamp };
}

document.addEventListener("pointerdown", press, true);
document.addEventListener("keydown", press, true);

document.addEventListener("click", async (event) => {
  const control = event.target.closest("button[data-do]");
  if (control) {
    const mine = pressed?.control === control ? pressed : { what: asStood(control), at: event.timeStamp };
    pressed = null;
    const dialog = control.closest("dialog");
    const answer = await ask(mine.what, mine.at);
    tell(answer, dialog?.querySelector(".form-answer"));
    if (answer.ok) dialog?.close();
    return;
  }
  const opener = event.target.closest("[data-opens]");
  if (opener) open(document.getElementById(opener.dataset.opens), opener);
  event.target.closest("[data-closes]")?.closest("dialog").close();
});

function open(dialog, opener) {
  dialog.dataset.fields = opener.dataset.fields;
  dialog.dataset.expects = opener.dataset.expects ?? "";
  dialog.querySelector(".form-answer").hidden = true;
  for (const slot of dialog.querySelectorAll("[data-slot]")) {
    slot.textContent = opener.dataset[slot.dataset.slot] ?? "";
    slot.hidden = !slot.textContent;
  }
  for (const control of dialog.querySelectorAll("button[data-do]")) {
    control.dataset.fields = opener.dataset.fields;
    control.dataset.expects = opener.dataset.expects;
  }
  const told = dialog.querySelector(".tells");
  if (told) tellBefore(told, opener.dataset.tells);
  dialog.showModal();
}

async function tellBefore(place, address) {
  place.textContent = "";
  const response = await fetch(address).catch(() => null);
  place.textContent = response?.ok ? (await response.json()).sentence : "What was done on it cannot be read now.";
}

function entered(form) {
  const opened = form.closest("dialog")?.dataset;
  const what = { do: form.dataset.do, fields: JSON.parse(opened?.fields ?? "{}") };
  for (const [name, value] of new FormData(form)) what.fields[name] = value;
  if (opened?.expects) what.expects = Number(opened.expects);
  return what;
}

document.addEventListener("submit", async (event) => {
  const form = event.target.closest("form[data-do]");
  if (!form) return;
  event.preventDefault();
  const what = entered(form);
  const answer = await ask(what, event.timeStamp);
  tell(answer, form.querySelector(".form-answer"));
  if (!answer.ok) return; // the form keeps its text
  form.reset();
  form.closest("dialog")?.close();
  form.closest("details")?.removeAttribute("open");
  const then = form.dataset.then?.replace("{bench}", encodeURIComponent(what.fields.bench ?? ""));
  if (then && then !== location.pathname) location.assign(then);
});
