// Who works, and the light.

const YEAR_S = 31536000;

async function atWork(initials, told) {
  const response = await fetch("/initials", {
    method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ initials }),
  }).catch(() => null);
  const answer = response ? await response.json() : { sentence: "The dashboard does not answer." };
  if (!answer.ok) {
    told.setCustomValidity(answer.sentence);
    told.reportValidity();
    return;
  }
  const name = document.createElement("b");
  name.textContent = answer.initials;
  document.getElementById("initials").replaceChildren(name, " at work");
  document.querySelector("details.who").removeAttribute("open");
}

const field = document.getElementById("new-initials");
field.addEventListener("input", () => field.setCustomValidity(""));
document.querySelector("[data-initials-form]").addEventListener("submit", (event) => {
  event.preventDefault();
  atWork(field.value, field);
});
for (const one of document.querySelectorAll("[data-initials]")) {
  one.addEventListener("click", () => atWork(one.dataset.initials, field));
}

const light = document.getElementById("light");
light.addEventListener("click", () => {
  const dim = document.documentElement.dataset.light !== "dim";
  document.documentElement.dataset.light = dim ? "dim" : "day";
  document.querySelector("meta[name=color-scheme]").content = dim ? "dark" : "light";
  light.setAttribute("aria-pressed", String(dim));
  document.cookie = `blotter_light=${dim ? "dim" : "day"}; path=/; max-age=${YEAR_S}; samesite=strict`;
  document.dispatchEvent(new CustomEvent("blotter:light"));
});
