// Where a probe touches: other words are asked for only when chosen, and asked again when they name
// a place where no wire or tape may be.

const FORBIDDEN = /\b(soles?|join(s|ts?)?|paint(s|ed|work)?|tap(es?|ed|ing))\b/i;

function look(group) {
  const other = group.querySelector("input[type=radio]:checked")?.value === "other words";
  const words = group.querySelector(".own-words");
  const again = group.querySelector(".asked-again");
  const field = words.querySelector("input");
  const forbidden = other && FORBIDDEN.test(field.value);
  words.hidden = !other;
  field.required = other;
  again.hidden = !forbidden;
  again.querySelector("input").required = forbidden;
}

for (const group of document.querySelectorAll(".touches")) {
  group.addEventListener("input", (event) => {
    if (event.target.type === "text") group.querySelector(".asked-again input").checked = false;
    look(group);
  });
  look(group);
}
